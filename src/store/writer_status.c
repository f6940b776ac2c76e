/* writer_status.c - what the writer tells of itself, under its guard. */
#include "store/writer_parts.h"

#include "base/str.h"

#include <pthread.h>

void
writer_set_status(struct writer *w, uint64_t n_new, enum err err, const struct message *why)
{
    pthread_mutex_lock(&w->guard);
    w->status.n_written += n_new;
    w->status.n_dropped = w->n_refused; /* the rings' own are added when asked for */
    w->status.err = err;
    if (err == ERR_OK || err == ERR_USAGE || w->spill.is_open) { /* what went into an orphan is not kept before the spill has it */
        w->status.n_said = w->n_said;
        w->status.n_said_refused = w->n_said_refused;
    }
    if (err == ERR_OK)
        message_init(&w->status.why, MESSAGE_NONE);
    else
        w->status.why = *why;
    str_copy(w->status.aside, sizeof w->status.aside, w->spill.is_open ? w->spill.folder : "");
    pthread_mutex_unlock(&w->guard);
}
