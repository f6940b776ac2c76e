/* run_median.h - the median of the last 8 values of a metric, over both feet and of each foot.
 *
 * In:  values step by step; NAN is skipped.   Out: medians; NAN until warm.
 * Warm-up: RUN_MEDIAN_MIN_STEPS values of that foot. Until then NAN, and the screen says "counting".
 * Memory: the struct, nothing else. Pure.
 */
#ifndef COACH_RUN_MEDIAN_H
#define COACH_RUN_MEDIAN_H

#include "gait/step.h"

#define RUN_MEDIAN_SPAN 8
#define RUN_MEDIAN_MIN_STEPS 4

struct run_median_series {
    int n, head;
    double value[RUN_MEDIAN_SPAN];
};

struct run_median {
    struct run_median_series both, left, right;
};

void run_median_reset(struct run_median *r);

/* One value of a step; the foot may be unknown (then it counts for both alone). */
void run_median_feed(struct run_median *r, enum step_foot foot, double value);

/* A value whose foot became known only later: counts for the foot alone. */
void run_median_feed_foot(struct run_median *r, enum step_foot foot, double value);

/* Median, NAN below RUN_MEDIAN_MIN_STEPS values. */
double run_median_of(const struct run_median_series *s);

#endif
