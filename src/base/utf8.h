/* utf8.h - text that comes from outside: may it be kept, and how is it shown.
 *
 * In:  text that a person, a file or a board gave.
 * Out: a word of what is wrong with it, where it is entered; the same text, fit to be seen, where it is shown.
 *
 *      entered   it is whole UTF-8 (Unicode 15, table 3-7), has no control signs and fits, or it is refused
 *      shown     each byte that is no UTF-8, each control sign and each sign that turns the direction of writing becomes
 *                U+FFFD; what does not fit ends with "…" at a whole letter
 *
 * Control signs are U+0000-001F, U+007F and U+0080-009F: a terminal obeys them. Newline and tab may stand in a text of
 * several lines, and are shown as they are.
 *
 * Memory: the caller's.   Threads: any.   Errors: a word, and a message of it.
 */
#ifndef BASE_UTF8_H
#define BASE_UTF8_H

#include "base/err.h"
#include "base/message.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Bytes of the letter that begins at p, which is ended by a zero; 0: no UTF-8. */
int utf8_len(const char *p);

enum utf8_fault {
    UTF8_IS_FINE,
    UTF8_IS_TOO_LONG,    /* its bytes and the end do not fit into cap */
    UTF8_IS_BROKEN,      /* such as Latin-1 */
    UTF8_HAS_CONTROL,
};

/* Judges a text before it is kept. has_lines: newline and tab may stand in it. */
enum utf8_fault utf8_judge(const char *text, size_t cap, bool has_lines);

/* The same with its message: ERR_OK, or ERR_USAGE and what says so; what: what the text is, as "the note". */
enum err utf8_enter(const char *text, size_t cap, bool has_lines, const char *what, struct message *m);

/* Fits text to be seen into out[cap], cap >= 4; false when it had to be cut. */
bool utf8_show(char *out, size_t cap, const char *text);

/* Prints as fprintf, and shows what came of it: whatever the parts held, a terminal obeys none of it. Returns false
 * where the stream refused. One call to the stream, so that a line stays whole. */
bool utf8_print(FILE *f, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
