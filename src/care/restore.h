/* restore.h - a kept copy in the place of the store, with the store of today kept beside it first.
 *
 *      prepare   the copy is read into a file beside the store (never written to itself), checked page by page, brought up to date,
 *                and those who were forgotten here are taken out; what would be won and lost is counted
 *      commit    the store of today goes into a verified copy (copies.h: before-DAY); then the other one is written into it by
 *                SQLite's backup, in one transaction, once no other program has it open: SQLite itself takes log and index away
 *                then. Killed in between, the store is as it was, or is the other one: never half.
 *
 * A store that is too damaged to be opened is put aside as it lies (damaged-DAY), with its log, and the other one takes its name in
 * one step.
 *
 * Errors: enum err, a message.   Threads: one at a time.   Memory: SQLite's own.
 */
#ifndef CARE_RESTORE_H
#define CARE_RESTORE_H

#include "base/message.h"
#include "store/store.h"

struct restore_counts {
    int n_runners, n_visits;
};

struct restore {
    char path[STORE_PATH_MAX];       /* of the store */
    char aside[STORE_PATH_MAX + 16]; /* the one that is to take its place */
    bool has_store, is_damaged;      /* the store of today: there at all; not to be read (then won, lost, same are not known) */
    struct restore_counts won, lost, same; /* in the copy alone; in the store of today alone; in both */
    int n_forgotten;                 /* runners of the copy who were forgotten here, and are left out */
    char kept[STORE_PATH_MAX];       /* after commit: where the store of today lies; "": there was none */
};

/* store_path: NULL for the usual place. After a refusal there is nothing to drop. */
enum err restore_prepare(struct restore *r, const char *store_path, const char *file, struct message *why);

/* Each visit that is won (is_lost false) or lost, by runner and begin. Not of a damaged store. */
enum err restore_visits(struct restore *r, bool is_lost,
                        void (*fn)(void *context, const char *code, int64_t visit_id, int64_t started_utc_ms, int zone_offset_min),
                        void *context, struct message *why);

enum err restore_commit(struct restore *r, struct message *why);
/* Instead of commit. */
void restore_drop(struct restore *r);

/* Takes those out of s, a copy or a spill, who were forgotten in the store at that path; n: how many. Why in s, too. */
enum err restore_leave_out_forgotten(struct store *s, const char *store_path, int *n, struct message *why);

#endif
