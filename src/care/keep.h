/* keep.h - a copy of the store that a person asks for.
 *
 * Errors: enum err, the store's why.   Threads: the store's.
 */
#ifndef CARE_KEEP_H
#define CARE_KEEP_H

#include "store/store.h"

/* A consistent copy of the whole store, mode 0600, while others may write to it (SQLite's online backup). path
 * must not be the store itself; an older file there is replaced once every page of the copy was read again and checked.
 * ERR_FORMAT: the store is damaged, and its copy would be. */
enum err keep_copy(struct store *s, const char *path);

#endif
