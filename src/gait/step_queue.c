#include "gait/step_queue.h"

void
step_queue_init(struct step_queue *q)
{
    q->head = q->tail = 0;
    q->n_overflow = 0;
}

void
step_queue_feed(struct step_queue *q, const struct step *s)
{
    if (q->head - q->tail == STEP_QUEUE_CAP) { /* nobody takes: the oldest goes */
        q->tail++;
        q->n_overflow++;
    }
    q->item[q->head++ % STEP_QUEUE_CAP] = *s;
}

bool
step_queue_take(struct step_queue *q, struct step *out)
{
    if (q->tail == q->head)
        return false;
    *out = q->item[q->tail++ % STEP_QUEUE_CAP];
    return true;
}
