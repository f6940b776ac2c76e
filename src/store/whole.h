/* whole.h - is the store whole? The quick check, for a moment when nobody waits for its connection: SQLite reads every page and
 * looks at its order, not whether each index agrees with its table; `underfoot keep` does that too, in the copy.
 *
 * Errors: enum err, s->why. ERR_GONE, with nothing in why: it was asked to stop.   Threads: as the store's.
 */
#ifndef STORE_WHOLE_H
#define STORE_WHOLE_H

#include "store/store.h"

/* Asked now and then by what takes its time: true ends it. fn NULL: never. */
struct store_stop {
    bool (*fn)(void *context);
    void *context;
};

enum err whole_quick(struct store *s, const struct store_stop *stop, bool *is_whole);

#endif
