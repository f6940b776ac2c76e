/* ring.h - one writer, one reader, every item kept in order; what does not fit is counted.
 *
 * In:  items of one fixed size from one thread.   Out: the same items, in order, to one other thread.
 * How: two counters that only grow; neither side ever waits for the other.
 *
 *      invariants, at every moment and for both threads:
 *          0 <= n_put - n_taken <= cap
 *          item i lies in slot i mod cap, and is valid for n_taken <= i < n_put
 *          n_offered = n_put + n_dropped
 *      only the writer stores n_put and n_dropped; only the reader stores n_taken.
 *      n_put is stored (release) after the item's bytes: who sees n_put > i sees item i whole.
 *      n_taken is stored (release) after the reader is done with the slot: a writer that sees
 *      n_taken > i - cap may overwrite slot i mod cap.
 *
 * Threads: writer and reader as said at each function.   Memory: the caller's.   Errors: none.
 */
#ifndef BASE_RING_H
#define BASE_RING_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct ring {
    unsigned char *memory; /* cap * item_len bytes; must outlive the ring */
    size_t item_len, cap;
    _Atomic uint64_t n_put, n_taken, n_dropped;
};

/* memory: cap * item_len bytes of the caller's; cap >= 1. Before either thread uses it. */
void ring_init(struct ring *r, void *memory, size_t item_len, size_t cap);

/* Copies the item in. False, and counted as dropped, when full. Writer only. */
bool ring_put(struct ring *r, const void *item);

/* Copies the oldest item out. False when empty. Reader only. */
bool ring_take(struct ring *r, void *out);

/* The i-th oldest item, in place, until it is released; NULL when there are not so many. Reader only. */
const void *ring_peek(const struct ring *r, size_t i);

/* Gives the n oldest items' slots back. Precondition: n <= ring_count(r). Reader only. */
void ring_release(struct ring *r, size_t n);

/* Items inside. Any thread; exact only for writer and reader themselves at rest. */
size_t ring_count(const struct ring *r);

/* The next item would be refused now. Writer only: it can but become false by itself. */
bool ring_is_full(const struct ring *r);

/* Items refused since init. Any thread. */
uint64_t ring_dropped(const struct ring *r);

#endif
