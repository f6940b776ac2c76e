/* store_word.h - the --store option of the commands that read or write the store without a visit. */
#ifndef CLI_STORE_WORD_H
#define CLI_STORE_WORD_H

#include "base/message.h"
#include "base/options.h"
#include "store/store.h"

/* The row: sets *folder. */
struct option_row store_word_row(const char **folder);

/* Opens the store in folder (NULL: the user's) to read; a read-only one is read as it is. Says why when refused. */
enum err store_word_read(struct store *s, const char *folder);

/* The same to write; makes it when it is not there yet. */
enum err store_word_write(struct store *s, const char *folder);

/* A text from the command line into out[cap]; false, with s->why, when it is not to be kept (base/utf8.h). what: "the note". */
bool store_word_text(struct store *s, char *out, size_t cap, const char *text, bool has_lines, const char *what);

/* Takes in what was kept elsewhere while the store at that path (NULL: the usual place) could not be written, and tells of it.
 * One that is not there, or can't be opened, is told of by whoever needs it. */
void store_word_settle(const char *path);

/* The path of the store in folder; "" for NULL: the usual place. */
enum err store_word_path(const char *folder, char path[STORE_PATH_MAX], struct message *why);

/* After a visit: today's kept copy, and what is to be said of it, on stderr. path NULL: the usual place. */
void store_word_keep_copy(const char *path);

/* Closes; what went wrong, if anything, on stderr, also a standard output that takes no more. Returns the exit code. */
int store_word_end(struct store *s, enum err err);

#endif
