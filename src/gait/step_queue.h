/* step_queue.h - finished records between the engine and whoever takes them.
 *
 * Holds STEP_QUEUE_CAP records: a settled row of a whole run's end and what comes live beside it, several times over.
 * When nobody takes, the oldest goes and is counted.
 * Memory: the struct.  Threads: one at a time.
 */
#ifndef GAIT_STEP_QUEUE_H
#define GAIT_STEP_QUEUE_H

#include "gait/step.h"

#define STEP_QUEUE_CAP 64 /* a power of two: head and tail wrap */

struct step_queue {
    struct step item[STEP_QUEUE_CAP];
    uint32_t head, tail;
    uint64_t n_overflow; /* records nobody took in time */
};

void step_queue_init(struct step_queue *q);

void step_queue_feed(struct step_queue *q, const struct step *s);

/* The oldest record; false when there is none. */
bool step_queue_take(struct step_queue *q, struct step *out);

#endif
