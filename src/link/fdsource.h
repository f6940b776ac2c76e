/* fdsource.h - bytes from a pseudo-terminal, a pipe or a plain file, by file descriptor.
 *
 * Memory: none.  Threads: one at a time per descriptor.  Errors: enum err or a number below 0; a sentence in why.
 */
#ifndef LINK_FDSOURCE_H
#define LINK_FDSOURCE_H

#include "base/err.h"
#include "base/message.h"
#include "link/source.h"

/* Opens path; a terminal is set raw. *is_file: a plain file, which ends. On refusal *fd is -1. */
enum err fdsource_open(int *fd, bool *is_file, const char *path, struct message *why);

/* > 0 bytes; 0 none within timeout_ms, or a signal came; SOURCE_ENDED a file's end; SOURCE_GONE the
 * other side of a terminal or pipe closed. */
int fdsource_read(int fd, bool is_file, const char *path, uint8_t *buf, size_t cap, int timeout_ms,
                  struct message *why);

/* Sends what is taken at once; a descriptor that only reads takes it all and drops it. */
enum err fdsource_write(int fd, const char *path, const uint8_t *bytes, size_t len, struct message *why);

#endif
