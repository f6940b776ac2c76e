/* baseline.h - what the runner does before being shown anything: medians and spreads, and targets from them.
 *
 * In:  settled running steps of the silent baseline.   Out: targets by rule, once warm.
 * Warm-up: BASELINE_MIN_STEPS steps; until then no median is given out.
 * Memory: the struct (the newest BASELINE_SPAN steps count), nothing else. Pure.
 */
#ifndef COACH_BASELINE_H
#define COACH_BASELINE_H

#include "base/stats.h"
#include "coach/target.h"
#include "gait/step.h"

#define BASELINE_MIN_STEPS 24
#define BASELINE_MAX_TARGETS 4
#define BASELINE_N_KEPT 5

struct baseline {
    int n_steps;
    struct stats kept[BASELINE_N_KEPT]; /* in the order of baseline_metric() */
};

void baseline_init(struct baseline *b);

/* One settled running step. */
void baseline_feed(struct baseline *b, const struct step *s);

bool baseline_is_warm(const struct baseline *b);

/* Median and spread (robust, as a standard deviation) of a metric; NAN until warm, or when not kept. */
double baseline_median(const struct baseline *b, enum metric m);
double baseline_spread(const struct baseline *b, enum metric m);

/* Targets by rule, in the order of the bars: cadence by cadence_rule (the one change), contact no more,
 * then landing ahead no more or, where the sensor can't tell it, the strike index held. Returns how many,
 * 0 until warm. */
int baseline_propose(const struct baseline *b, enum target_rule cadence_rule,
                     struct target out[BASELINE_MAX_TARGETS]);

#endif
