/* repair.h - what can still be read of a damaged store, in a new one that takes its place; the damaged one is put aside as it lies.
 *
 * How: every table is walked by its key, from the front; where a page can't be read, the walk goes on behind it, at the next key
 *      that can be (found by doubling steps, then by halving), so that a bad page costs its own rows. Rows whose runner is gone go
 *      to a runner lost-N of their own; rows of a visit that is gone are counted, and stay in the damaged file.
 *      Needs the first page, where the tables' places are written: without it there is REPAIR_NO_FIRST_PAGE, and a kept copy.
 * Out: per table the rows that were read, and the ranges of keys that could not be.
 * Killed at any moment: the damaged store lies where it lay, or the repaired one does.
 *
 * Errors: enum err, a message.   Threads: one at a time.   Memory: SQLite's own.
 */
#ifndef CARE_REPAIR_H
#define CARE_REPAIR_H

#include "base/message.h"
#include "store/store.h"

enum { REPAIR_MAX_TABLES = 16, REPAIR_MAX_GAPS = 64 };

struct repair_gap {
    int64_t owner;       /* visit or target set whose rows these are; 0: the table's own keys */
    int64_t first, last; /* keys that could not be read; last < first: to the end */
};

struct repair_table {
    const char *name;
    int64_t n_rows;    /* read and taken over */
    int64_t n_orphans; /* read, and left out: what they belong to is gone */
    int n_gaps;        /* more than REPAIR_MAX_GAPS are counted, not kept */
    struct repair_gap gap[REPAIR_MAX_GAPS];
};

struct repair {
    char path[STORE_PATH_MAX], kept[STORE_PATH_MAX]; /* the store; where the damaged one lies now */
    bool is_whole;                                   /* nothing to repair: nothing was changed */
    int n_lost_runners;                              /* rows made for runners whose own are gone */
    int n_forgotten;
    int n_tables;
    struct repair_table table[REPAIR_MAX_TABLES];
};

/* store_path: NULL for the usual place. */
enum err repair_store(struct repair *r, const char *store_path, struct message *why);

#endif
