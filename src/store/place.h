/* place.h - whether an open store still is the one that lies at its path: nobody deleted, replaced or moved it, its log, the
 * log's index, or its folder.
 *
 * A commit into a file that no path leads to any more succeeds; a log that was taken away is written on beside a new one
 * that others begin. So whoever writes looks before a commit and after it, and says "saved" only when both agree.
 *
 * How: the store's file by SQLite itself (its VFS compares the open file's inode with the path's); log, index and folder by
 *      stat() of the paths, against what was there when the store was opened. Nothing is opened here (store_open.c says why).
 * Memory: in struct store.   Threads: as the store.   Errors: none; what can't be looked at is gone.
 */
#ifndef STORE_PLACE_H
#define STORE_PLACE_H

#include "store/store.h"

enum place_state {
    PLACE_IS_OWN = 0,
    PLACE_HAS_NO_FOLDER,
    PLACE_HAS_NO_FILE,    /* deleted, or moved */
    PLACE_HAS_OTHER_FILE, /* another one took its place */
    PLACE_HAS_NO_LOG,     /* the log or its index, or they are not those that were opened */
};

/* Remembers what is there: once the store is open, and has been read from. */
void place_learn(struct store *s);

/* Looks again. Not PLACE_IS_OWN: s->why says it. */
enum place_state place_look(struct store *s);

/* True when the tables still are those of this version: another program may have brought them up to date. */
bool place_is_current(struct store *s);

/* True when no transaction is left open and no statement is under way: an idle reader holds up the log for everybody. */
bool place_is_idle(const struct store *s);

#endif
