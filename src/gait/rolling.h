/* rolling.h - what only a row of steps can tell: left against right, and how steady the strides are.
 *
 * Symmetry index: SI = (R - L) / (0.5 (R + L)) x 100 % of each side's mean over the last ROLLING_STEPS steps of
 *      that side; positive = right larger (Robinson, Herzog & Nigg 1987, facts H). It is far less repeatable
 *      than its two parts (facts H), so it is given from ROLLING_MIN_STEPS a side on.
 * Variability: coefficient of variation of stride time (touchdown to the same foot's next touchdown) over the
 *      last ROLLING_STRIDES strides, sample standard deviation.
 */
#ifndef GAIT_ROLLING_H
#define GAIT_ROLLING_H

#include "base/stats.h"
#include "gait/step.h"

#define ROLLING_STEPS 15       /* a side: ten seconds, so that a change shows soon. common practice, no source */
#define ROLLING_MIN_STEPS 5    /* common practice, no source */
#define ROLLING_STRIDES 30     /* a spread needs more than a mean (180 s for a true one: facts P) */
#define ROLLING_MIN_STRIDES 10 /* common practice, no source */
#define ROLLING_METRICS 3

struct rolling {
    struct stats side[ROLLING_METRICS][2]; /* [metric][0 left, 1 right] */
    struct stats stride_s;
    double last_step_s; /* of the step before; NAN after a break */
};

/* (right - left) / mean, in percent; NAN when either is NAN or both are 0. */
double rolling_symmetry_pct(double left, double right);

void rolling_init(struct rolling *r);

/* Takes in the step's own values and writes asymmetry and variability into it. */
void rolling_feed(struct rolling *r, struct step *s);

#endif
