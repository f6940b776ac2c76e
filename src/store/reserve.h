/* reserve.h - room kept beside a store, STORE.reserve, that is given up first when its disc is full: then even deleting a row
 * and emptying the log need room.
 *
 * Memory: none.   Threads: any.   Errors: none; where no room can be set aside there is none to give up.
 */
#ifndef STORE_RESERVE_H
#define STORE_RESERVE_H

#include <stdbool.h>
#include <stdint.h>

/* The log grows to 4 MiB before it is written back, and as much again goes into the store then. */
#define RESERVE_BYTES (INT64_C(8) << 20)
/* A disc with less room than this gets none: it is full as good as already. */
#define RESERVE_MIN_FREE_BYTES (INT64_C(64) << 20)

/* Sets it aside, if it is not there yet. */
void reserve_make(const char *store_path);

/* True when there was one: its room is free now. */
bool reserve_give_up(const char *store_path);

#endif
