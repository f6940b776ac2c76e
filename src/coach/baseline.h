/* baseline.h - what the runner does before being shown anything: medians and spreads, and targets from them.
 *
 * In:  settled running steps of the silent baseline.   Out: targets by rule, once warm.
 * Warm-up: BASELINE_MIN_STEPS steps; until then no median is given out.
 *
 * Steady: a baseline of a visit is accepted when, over its last BASELINE_LOOK_S (of a short one: its last half),
 *      case 1   there are at least 2/3 of the steps that its cadence makes in that time   not walking or off
 *      case 2   stride time (two steps) varies by at most BASELINE_MAX_CV_PCT             coefficient of variation
 *      case 3   cadence of the second half is within BASELINE_MAX_DRIFT_PCT of the first  not settling still
 *      case 4   contact time likewise, within BASELINE_MAX_CONTACT_DRIFT_PCT
 *      case 5   belt speed, where it is known, within BASELINE_MAX_SPEED_DRIFT_PCT        cadence moves with it
 * The limits are common practice, no source: stride time of a practised runner on a belt varies by 1-2 %.
 *
 * Memory: the struct (the newest BASELINE_SPAN steps count), nothing else. Pure.
 */
#ifndef COACH_BASELINE_H
#define COACH_BASELINE_H

#include "base/stats.h"
#include "coach/target.h"
#include "gait/step.h"

#define BASELINE_MIN_STEPS 24
#define BASELINE_MAX_TARGETS 4
#define BASELINE_N_KEPT 6
#define BASELINE_LOOK_S 60.0
#define BASELINE_MAX_CV_PCT 4.0
#define BASELINE_MAX_DRIFT_PCT 2.0
#define BASELINE_MAX_CONTACT_DRIFT_PCT 4.0
#define BASELINE_MAX_SPEED_DRIFT_PCT 1.5

struct baseline {
    int n_steps;
    struct stats kept[BASELINE_N_KEPT]; /* in the order of baseline_metric() */
};

/* The last look: NAN where there were too few steps. */
struct baseline_look {
    int n_steps;
    double covered_s; /* of running, by the steps' own times */
    double cv_pct, drift_pct, contact_drift_pct, speed_drift_pct;
    bool is_steady;
};

void baseline_init(struct baseline *b);

/* One settled running step. */
void baseline_feed(struct baseline *b, const struct step *s);

/* Median of a metric; NAN until warm, or when not kept. */
double baseline_median(const struct baseline *b, enum metric m);

/* How steady the last look_s were, of elapsed_s on the clock (a short baseline is not held to more). */
void baseline_look(const struct baseline *b, double look_s, double elapsed_s, struct baseline_look *out);

/* What is not steady, and by how much; MESSAGE_NONE when it is. */
void baseline_look_tell(const struct baseline_look *look, struct message *out);

/* Targets by rule, in the order of the bars: what the rule is of (the one change) leads; then contact no more,
 * landing ahead no more or, where the sensor can't tell it, the strike index held. A rule that has no answer
 * here (no landing ahead, no loading rate from this sensor) gives way to cadence +5 %. Returns how many, 0
 * until warm. */
int baseline_propose(const struct baseline *b, enum target_rule rule,
                     struct target out[BASELINE_MAX_TARGETS]);

#endif
