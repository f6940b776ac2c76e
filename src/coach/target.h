/* target.h - the band that a metric should stay in: made by rule from a baseline, or by hand.
 *
 * Rules (b = baseline median, s = the runner's own step-to-step spread in the baseline):
 *
 *      cadence +5, +7.5, +10 %   middle b * 1.05, 1.075, 1.10; half-width the larger of 2.5 % of b and s
 *      loading rate -20 %        0.4 b .. 0.8 b (only the upper edge asks for a change)
 *      land nearer               middle 0.90 b; half-width the larger of 5 % of b and s; only for b > 0
 *      brake less                0.80 b .. 0.95 b (braking impulse)
 *      no more                   0.75 b - s .. b + s: stay as you are, or less (contact, landing ahead)
 *      hold                      b +- the larger of 10 points and 2 s, cut to 0..100 (strike index)
 *
 * Sources: cadence +5 and +10 %: Heiderscheit et al. 2011, Med Sci Sports Exerc 43:296-302; +7.5 %: Willy
 * et al. 2016, Scand J Med Sci Sports 26:197-205; loading rate: retraining trials found -18 to -34 %
 * (Crowell & Davis 2011, Clin Biomech 26:78-83; Bowser et al. 2018, Med Sci Sports Exerc 50:2500-2506);
 * landing distance -5.9 % for +5 strides/min: Lieberman et al. 2015, J Exp Biol 218:3406-3414; braking: live feedback on it took 15 % off its peak
 * (Napier 2018, facts R). The widths
 * are ours: a band narrower than the runner's own spread can't be kept.
 *
 * Pure. Errors: none but answers; impossible input gives false.
 */
#ifndef COACH_TARGET_H
#define COACH_TARGET_H

#include "base/message.h"
#include "base/metric.h"

#include <stdbool.h>
#include <stddef.h>

enum target_rule {
    TARGET_RULE_CADENCE_UP_5 = 0,
    TARGET_RULE_CADENCE_UP_7_5,
    TARGET_RULE_CADENCE_UP_10,
    TARGET_RULE_LOAD_RATE_DOWN_20,
    TARGET_RULE_LAND_NEARER,
    TARGET_RULE_NO_MORE,
    TARGET_RULE_HOLD,
    TARGET_RULE_BRAKE_LESS, /* of the panel alone: by hand, no plan asks for it */
};

struct target {
    enum metric metric;
    double low, high; /* in the metric's unit; low < high */
    double baseline;  /* NAN when none was measured */
    bool is_change;   /* asks the runner for something else than the baseline */
};

/* What speaks against a target; one bit each. They warn, they forbid nothing. */
enum target_warning {
    TARGET_WARN_CADENCE_FAR = 1 << 0, /* the middle is more than 10 % above the baseline */
    TARGET_WARN_NARROW = 1 << 1,      /* narrower than the runner's own step-to-step spread */
    TARGET_WARN_MANY = 1 << 2,        /* more than one changed target in a visit */
};

/* Fills out from a baseline. spread >= 0, or NAN when not known (then 0). Returns false, out untouched,
 * when the rule has no answer: baseline NAN, or not above 0 where the rule is a share of it. */
bool target_by_rule(enum target_rule rule, enum metric metric, double baseline, double spread,
                    struct target *out);

/* Reads "cadence_spm=170:180". Returns false with a message in why when it is wrong, or when an edge is far
 * from what the metric can be. */
bool target_parse(const char *text, struct target *out, struct message *why);

/* The metric as one says it in a sentence, "contact time": English, looked up where it is shown. */
const char *target_metric_words(enum metric m);

/* Warnings (enum target_warning bits) for one target of a set; spread NAN when not known. */
unsigned target_warnings(const struct target *set, int n_targets, int which, double spread);

/* The message for one warning bit of one target, with its figures and why it is a warning. */
void target_warning_tell(const struct target *set, int which, double spread, enum target_warning warning, struct message *out);

#endif
