/* inifile.h - an INI file line by line for inih, with refusals that name file, line and reason.
 *
 * In:  a path.   Out: lines, by inifile_line(), for the ini_parse_stream() that the reader of the keys calls.
 * How: counts the lines, since inih tells no handler where it stands, and refuses a line that inih would cut in
 *      two, that is not UTF-8, or that has a control sign in it (base/utf8.h). The first refusal is the one that is
 *      told. Nothing here calls inih, so base links without it.
 *
 * Delay: none.  Memory: the struct and one open file.  Threads: one at a time per file.
 * Errors: enum err, and a message in why.
 */
#ifndef BASE_INIFILE_H
#define BASE_INIFILE_H

#include "base/err.h"
#include "base/message.h"

#include <stdbool.h>
#include <stdio.h>

struct inifile {
    const char *path; /* borrowed until inifile_close(), as why is */
    const char *what; /* N_("the plan"): what the file is, for the sentences */
    struct message *why;
    FILE *f;
    int line;     /* the newest read; 0: none yet */
    int bad_line; /* the first refused; 0: none */
};

/* ERR_GONE when there is no such file, ERR_OS when it can't be opened. */
enum err inifile_open(struct inifile *i, const char *path, const char *what, struct message *why);

/* inih's reader of lines: as fgets, of a struct inifile. */
char *inifile_line(char *out, int cap, void *inifile);

/* Refuses the newest line by a code of signature "ft", or of "f" when value is NULL. Always returns 0, inih's word for a
 * bad line, so that a handler can return it. */
int inifile_refuse(struct inifile *i, enum message_code code, const char *value);

/* The same for a code with other parameters, whose first is *place: the caller tells it in i->why. False when a line was
 * refused before: that one is told. */
bool inifile_refuses(struct inifile *i, struct message_arg *place);

/* Closes the file; parsed is what ini_parse_stream() returned. ERR_FORMAT when a line was refused, ERR_OS when
 * the file could not be read to its end. What the file lacks as a whole may still be refused afterwards. */
enum err inifile_close(struct inifile *i, int parsed);

#endif
