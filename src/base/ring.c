#include "base/ring.h"

#include <assert.h>
#include <string.h>

static unsigned char *
slot(const struct ring *r, uint64_t i)
{
    return r->memory + (size_t) (i % r->cap) * r->item_len;
}

void
ring_init(struct ring *r, void *memory, size_t item_len, size_t cap)
{
    assert(memory != NULL && item_len > 0 && cap > 0);
    r->memory = memory;
    r->item_len = item_len;
    r->cap = cap;
    atomic_init(&r->n_put, 0);
    atomic_init(&r->n_taken, 0);
    atomic_init(&r->n_dropped, 0);
}

bool
ring_put(struct ring *r, const void *item)
{
    uint64_t n_put = atomic_load_explicit(&r->n_put, memory_order_relaxed);
    uint64_t n_taken = atomic_load_explicit(&r->n_taken, memory_order_acquire);

    if (n_put - n_taken >= r->cap) {
        atomic_fetch_add_explicit(&r->n_dropped, 1, memory_order_relaxed);
        return false;
    }
    memcpy(slot(r, n_put), item, r->item_len);
    atomic_store_explicit(&r->n_put, n_put + 1, memory_order_release);
    return true;
}

const void *
ring_peek(const struct ring *r, size_t i)
{
    uint64_t n_taken = atomic_load_explicit(&r->n_taken, memory_order_relaxed);
    uint64_t n_put = atomic_load_explicit(&r->n_put, memory_order_acquire);

    if (i >= n_put - n_taken)
        return NULL;
    return slot(r, n_taken + i);
}

void
ring_release(struct ring *r, size_t n)
{
    uint64_t n_taken = atomic_load_explicit(&r->n_taken, memory_order_relaxed);

    assert(n <= ring_count(r));
    atomic_store_explicit(&r->n_taken, n_taken + n, memory_order_release);
}

bool
ring_take(struct ring *r, void *out)
{
    const void *item = ring_peek(r, 0);

    if (item == NULL)
        return false;
    memcpy(out, item, r->item_len);
    ring_release(r, 1);
    return true;
}

size_t
ring_count(const struct ring *r)
{
    /* n_taken first: it never passes n_put, so the difference can't go below 0 whoever asks. */
    uint64_t n_taken = atomic_load_explicit(&r->n_taken, memory_order_acquire);
    uint64_t n_put = atomic_load_explicit(&r->n_put, memory_order_acquire);
    uint64_t n = n_put - n_taken;

    return n < r->cap ? (size_t) n : r->cap;
}

uint64_t
ring_dropped(const struct ring *r)
{
    return atomic_load_explicit(&r->n_dropped, memory_order_relaxed);
}

bool
ring_is_full(const struct ring *r)
{
    return ring_count(r) == r->cap;
}
