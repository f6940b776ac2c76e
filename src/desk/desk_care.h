/* desk_care.h - what the worker does for the store when nothing waits for it: ends a forgetting that a kill cut off and checks the
 * store, once, after the first answer to the panel; keeps a copy after each visit (store/copies.h). A request that comes
 * meanwhile stops it, and it is done later; the copy at the latest when the program ends.
 */
#ifndef DESK_DESK_CARE_H
#define DESK_DESK_CARE_H

#include <stdbool.h>

struct desk_work;
struct store_stop;

struct desk_care {
    bool is_check_due, is_copy_due; /* worker only */
};

bool desk_care_is_due(const struct desk_work *w);
/* Worker, without the guard. What takes long ends when stop says so, and comes due again; at the end, with a stop that has no fn, nothing is checked. */
void desk_care_do(struct desk_work *w, const struct store_stop *stop);

#endif
