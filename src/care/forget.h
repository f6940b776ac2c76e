/* forget.h - all that a runner has is taken out of store, folder and copies, for good.
 *
 * In:  the open store.   Out: what there was.
 * Errors: enum err, the store's why.   Threads: the store's.
 */
#ifndef CARE_FORGET_H
#define CARE_FORGET_H

#include "store/store.h"

/* What a runner has in the data folder. */
struct store_belongings {
    int n_visits;
    int n_pages; /* that the program printed: pages.h */
    int n_recordings; /* recordings.h */
    int64_t n_recording_bytes;
    int n_copies;         /* copies.h: those that were written anew without the runner; told by forgetting only */
    int n_damaged_copies; /* likewise: removed, since nothing can be taken out of them */
};
/* ERR_GONE when there is no such runner. */
enum err forget_belongings(struct store *s, int64_t runner_id, struct store_belongings *out);
/* Removes the runner with all rows, overwritten on disc (secure_delete, the whole file written anew by VACUUM,
 * and the write-ahead log emptied), the pages that the program printed of them (pages.h), and the recordings of their
 * visits (recordings.h: unlinked), and writes the copies beside the store anew without them (copies.h). What stays is an
 * identifier that says nothing, in a list outside the store (forgotten.h). Says what went.
 * A page or recording that can't be removed: ERR_OS, and all rows stay. ERR_GONE when there is no such runner. */
enum err forget_runner(struct store *s, int64_t runner_id, struct store_belongings *out);
/* Ends what a kill cut off: *n runners, whose forgetting was begun, are forgotten. */
enum err forget_settle(struct store *s, int *n);

#endif
