/* record_place.h - where the recordings of stored visits lie: in the folder `recordings` beside the store.
 *
 *      recordings/visit-12-1764250000123.rec    of the visit of that number, begun at that time (UTC, ms)
 *      recordings/opened-PID-N.rec              of a run whose visit has not begun yet; those of programs that are
 *                                               no more are taken away when the next one is opened
 *
 * Nothing else in that folder is touched.   Errors: enum err, a sentence in why.   Threads: any, one at a time a path.
 */
#ifndef VISIT_RECORD_PLACE_H
#define VISIT_RECORD_PLACE_H

#include "base/err.h"
#include "base/fileio.h"
#include "base/message.h"

#include <stdbool.h>
#include <stdint.h>

/* A name that nobody has yet, for a run that opens; makes the folder. store_path NULL: the usual place.
 * *is_place_new: the store's own folder was made, too. */
enum err record_place_open(const char *store_path, char out[FILEIO_PATH_MAX], bool *is_place_new, struct message *why);

/* Gives the recording the name of its visit; out is where it lies now, also after a refusal, and may be path. */
enum err record_place_name(const char *path, int64_t visit_id, int64_t started_utc_ms, char out[FILEIO_PATH_MAX],
                           struct message *why);

/* Applies the keep rule (care/recordings.h) once a visit has ended; says: what went, or why the rule can't be
 * applied, in a sentence; "" when there is nothing to tell. */
void record_place_tidy(const char *store_path, struct message *says);

/* Takes it away, and the folders that were made for it when they are empty. */
void record_place_drop(const char *path, bool is_place_new);

#endif
