/* rolling.h - the median of the last 8 values of a metric, over both feet and of each foot.
 *
 * In:  values step by step; NAN is skipped.   Out: medians; NAN until warm.
 * Warm-up: ROLLING_MIN_STEPS values of that foot. Until then NAN, and the screen says "counting".
 * Memory: the struct, nothing else. Pure.
 */
#ifndef COACH_ROLLING_H
#define COACH_ROLLING_H

#include "gait/step.h"

#define ROLLING_SPAN 8
#define ROLLING_MIN_STEPS 4

struct rolling_series {
    int n, head;
    double value[ROLLING_SPAN];
};

struct rolling {
    struct rolling_series both, left, right;
};

void rolling_reset(struct rolling *r);

/* One value of a step; the foot may be unknown (then it counts for both alone). */
void rolling_feed(struct rolling *r, enum step_foot foot, double value);

/* A value whose foot became known only later: counts for the foot alone. */
void rolling_feed_foot(struct rolling *r, enum step_foot foot, double value);

/* Median, NAN below ROLLING_MIN_STEPS values. */
double rolling_median(const struct rolling_series *s);

#endif
