/* spill.h - a fresh place for a visit whose own store can't be written, or is no longer at its path: a small store of the
 * same tables in another folder, taken into its own store as soon as that works, at the latest when a program starts.
 *
 * Where: the first of these that takes it, in a folder of its own (0700, files 0600):
 *
 *      1   $XDG_STATE_HOME/underfoot, else $HOME/.local/state/underfoot
 *      2   $XDG_RUNTIME_DIR/underfoot          memory: gone when the person logs out
 *      3   $TMPDIR/underfoot-UID, /tmp/underfoot-UID
 *      4   /dev/shm/underfoot-UID              memory: gone when the computer is switched off
 *
 * What: spill-XXXXXX/underfoot.sqlite, and beside it `home`: whose it is. It is a data folder like any other.
 *
 *      of a visit    the rows of that visit and its runner, from the store where it can still be read
 *      whole         all of a store that no path leads to any more, by SQLite's backup from the connection that still has it
 *                    open, where there is room for it; else as above
 *
 * Taking in: by the runner's and the visit's identifiers (identity.h), in one transaction; what is there already is not doubled;
 *      read again after the commit; then the folder goes. A whole one stays until somebody removes it: only the visits run in it
 *      are taken in, since what else is in it may have been deleted on purpose. For the same reason a runner who is not in the
 *      store is not brought back, unless they were first entered in the spill; where somebody entered the same code in the
 *      store since the spill was made, it is theirs.
 *
 * Errors: enum err, sp->why or the store's.   Threads: one at a time per object; two programs don't take in the same one.
 */
#ifndef STORE_SPILL_H
#define STORE_SPILL_H

#include "base/message.h"
#include "store/store.h"

struct spill {
    struct store store; /* valid when is_open */
    bool is_open, is_whole;
    int running_fd;
    char folder[STORE_PATH_MAX]; /* "": none */
    struct message why;
};

struct spill_ask {
    int64_t visit_id;              /* that runs; 0: none, only with is_orphan */
    const struct store_visit *row; /* of it, where the store can no longer be read; borrowed for the call; NULL: none */
    bool is_orphan;                /* no path leads to the store any more */
};

/* Makes one and fills it. home is only read. After a refusal there is none. */
enum err spill_open(struct spill *sp, struct store *home, const struct spill_ask *ask);

/* Leaves it to the next start. Accepts one that is not open, when zeroed. */
void spill_close(struct spill *sp);

/* What became of one. */
struct spill_taken {
    int64_t visit_id;  /* of the newest visit taken in, as the store counts it; 0: none */
    int n_visits;      /* taken in */
    int n_without_runner; /* not taken in: there is no such runner in the store */
    char code[STORE_CODE_MAX]; /* of the last runner, taken in or not */
};

/* Takes the visits of an open one into home. When ERR_OK, and nothing was left out, it is closed, and gone unless whole. */
enum err spill_take(struct spill *sp, struct store *home, struct spill_taken *out);

/* What a spill means beyond its rows is care's to know (care/homecoming.h). */
struct spill_guest {
    enum err (*look)(void *context, struct store *home, struct store *spill); /* before it is taken: may change it, or refuse (why in it) */
    void (*leave)(void *context, struct store *home, const char *folder);     /* once its rows are taken: of a folder in it */
    void (*tell)(void *context, const struct message *m);
    void *context;
};

/* Takes in every one of that store which no program uses, and tells of each. */
void spill_take_all(struct store *home, const struct spill_guest *guest);

/* Takes a runner out of every one of that store, by their identifier: their code may be another one by now. */
enum err spill_forget(struct store *home, const char *uuid);

/* The store in a spill's folder. */
void spill_store_path(const char *folder, char out[STORE_PATH_MAX]);

#endif
