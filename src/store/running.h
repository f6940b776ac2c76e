/* running.h - which visits are being run at this moment, in this program or another one on the same computer.
 *
 * How: a file beside the store, STORE.running, in which a running visit holds a lock on the byte of its number. The
 *      system lets go of it when the program ends, however it ends: no clock, nothing to clean up. The file stays empty.
 * Errors: none; where no lock can be had (a file system without them) no visit seems to run.
 */
#ifndef STORE_RUNNING_H
#define STORE_RUNNING_H

#include <stdbool.h>
#include <stdint.h>

/* A descriptor to keep while the visit runs; -1: no lock to be had. */
int running_begin(const char *store_path, int64_t visit_id);
void running_end(int fd); /* -1 allowed */

bool running_is(const char *store_path, int64_t visit_id);
/* Any visit of that store. Makes no file. */
bool running_any(const char *store_path);

#endif
