/* remeasure.h - the steps of a visit as they were measured then, against the same recording measured now.
 *
 * In:  two lists of step records, each in the order of touchdown.   Out: how many are the same, and what differs.
 * How: steps are matched by their touchdowns, not by their numbers, so that one that is lost or new does not make all that
 *      follow differ: two are one and the same when at most REMEASURE_MATCH_US lie between.
 *
 *      case 1   matched, all alike        the same: every field and every figure, bit for bit as the store keeps it (its
 *                                         number aside: that says only how many came before)
 *      case 2   matched, some differ      counted for each figure; a value on one side only is lost, or new
 *      case 3   then only                 a lost step: all its values are lost
 *      case 4   now only                  a new step: all its values are new
 *
 * Pure: no store.   Memory: the struct, nothing else.   Errors: none.
 */
#ifndef REPORT_REMEASURE_H
#define REPORT_REMEASURE_H

#include "coach/coached_step.h"
#include "store/store.h"

#include <stdio.h>

/* Touchdowns of one foot and the other lie over 200 ms apart, even at 280 steps a minute (60 / 280 s): half of that. */
#define REMEASURE_MATCH_US 100000

/* What a step record has besides METRIC_LIST. */
enum remeasure_field {
    REMEASURE_TOUCHDOWN_MS = METRIC_COUNT,
    REMEASURE_TOE_OFF_MS,
    REMEASURE_COP_FWD_MM,
    REMEASURE_COP_RIGHT_MM,
    REMEASURE_BODY_WEIGHT_N,
    REMEASURE_SIDE, /* these have no difference that could be told as a number */
    REMEASURE_GAIT,
    REMEASURE_STRIKE_ZONE,
    REMEASURE_FLAGS,
    REMEASURE_STANDING, /* measured or estimated, of any figure; or only live */
    REMEASURE_N_FIELDS
};

struct remeasure_figure {
    int n_differing;       /* of matched steps with a value then and now */
    int n_lost, n_new;     /* values that were there then only, or now only */
    double largest, mean;  /* now minus then, of those that differ: the largest one by size, with its sign; NAN: none */
};

struct remeasure {
    int n_steps; /* all that there are then or now */
    int n_same;
    int n_lost, n_new; /* whole steps */
    struct remeasure_figure figure[REMEASURE_N_FIELDS]; /* by enum metric, then enum remeasure_field */
};

struct remeasure_steps {
    const struct coached_step *step;
    size_t n;
};

void remeasure_compare(struct remeasure_steps then, struct remeasure_steps now, struct remeasure *out);

/* Adds b's counts to a: of several visits. */
void remeasure_add(struct remeasure *a, const struct remeasure *b);

/* What the runner was shown is not measured again: steps of now get block and feedback of the same step then; a new one the
 * block whose time it falls into, and the feedback of the last step before it in that block (none: not shown). */
void remeasure_carry_over(struct remeasure_steps then, const struct store_block *block, int n_blocks, struct coached_step *now,
                          size_t n_now);

/* A line for each figure that differs, under a head; nothing when none does. */
void remeasure_print(FILE *f, const struct remeasure *r);

#endif
