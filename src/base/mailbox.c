#include "base/mailbox.h"

#include <assert.h>
#include <string.h>

/* Set in middle when the writer put it there and the reader has not taken it yet. */
#define MAILBOX_FRESH 4u
#define MAILBOX_INDEX 3u

void
mailbox_init(struct mailbox *m, void *memory, size_t item_size)
{
    assert(memory != NULL && item_size > 0);
    m->item_size = item_size;
    m->buffer = memory;
    m->writers = 0;
    m->readers = 2;
    atomic_init(&m->middle, 1u);
}

void
mailbox_put(struct mailbox *m, const void *item)
{
    memcpy(m->buffer + m->writers * m->item_size, item, m->item_size);
    /* Release: the copy above is seen by whoever takes the index. Acquire: the buffer that comes back
     * is no longer read. */
    unsigned old = atomic_exchange_explicit(&m->middle, m->writers | MAILBOX_FRESH, memory_order_acq_rel);
    m->writers = old & MAILBOX_INDEX;
}

bool
mailbox_take(struct mailbox *m, void *item)
{
    /* Only the reader clears FRESH, so seeing it set once is enough. */
    if (!(atomic_load_explicit(&m->middle, memory_order_relaxed) & MAILBOX_FRESH))
        return false;
    unsigned old = atomic_exchange_explicit(&m->middle, m->readers, memory_order_acq_rel);
    m->readers = old & MAILBOX_INDEX;
    memcpy(item, m->buffer + m->readers * m->item_size, m->item_size);
    return true;
}
