/* forget_copies.h - a runner is taken out of the kept copies: each that has them is written anew without them.
 *
 * Errors: enum err, the store's why.   Threads: the store's.
 */
#ifndef CARE_FORGET_COPIES_H
#define CARE_FORGET_COPIES_H

#include "store/copies.h"

/* Whom to take out: by identifier; where a copy has none yet, or another one (its code was changed in between: identity.h), by
 * number and moment of creation. */
struct copies_whom {
    char uuid[IDENTITY_MAX];
    int64_t id, created_utc_ms; /* 0: not known */
};
struct copies_told {
    int n_rewritten, n_removed; /* removed: damaged ones, which nothing can be taken out of; half made ones go uncounted */
};
/* Rewrites each that has the runner: erased, vacuumed, verified, renamed. visit is called with each visit of theirs there. */
enum err forget_copies(struct store *s, const struct copies_whom *whom, void (*visit)(void *context, int64_t id, int64_t started_utc_ms),
                       void *context, struct copies_told *told);

#endif
