/* desk_store.h - the worker's own connection to the store: opened once, kept, and looked after while nothing is done with it.
 *
 *      at its place     jobs are done in it
 *      gone meanwhile   (deleted, replaced, moved: store/place.h) all of it is saved into a fresh place (store/spill.h) through
 *                       this connection, which still reads it; jobs are done there until the program ends
 *      newer            brought up to date by a newer program: opened anew, which says so
 *
 * Memory: the struct.   Threads: the worker's.   Errors: enum err, why in the store that comes back.
 */
#ifndef DESK_DESK_STORE_H
#define DESK_DESK_STORE_H

#include "store/spill.h"
#include "store/store.h"

struct desk_store {
    const char *path; /* NULL: the usual place; must outlive */
    struct store store;
    bool is_open;
    bool is_gone_told; /* that it is gone, and that no place for it was found */
    struct spill spill; /* is_open: what jobs are done in */
    char aside[STORE_PATH_MAX]; /* a store that a visit was kept in when its own was gone; "": none */
};

/* The store to work in: *out is valid also after a refusal, for its why. is_new: it was opened just now, at its place. */
enum err desk_store_get(struct desk_store *d, struct store **out, bool *is_new);

/* Whether it is open, and no longer at its place. */
bool desk_store_is_gone(struct desk_store *d);

/* Goes on in a fresh place: in that folder, where a visit is kept already, or with aside NULL in a new one. True: it does. */
bool desk_store_go_aside(struct desk_store *d, const char *aside);

/* The path of the fresh place that jobs are done in; NULL: the store is at its own. */
const char *desk_store_aside(const struct desk_store *d);

/* Accepts one that is not open. */
void desk_store_close(struct desk_store *d);

#endif
