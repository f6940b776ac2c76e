#include "coach/baseline.h"

#include <math.h>

static const enum metric KEPT[BASELINE_N_KEPT] = {
    METRIC_CADENCE_SPM, METRIC_CONTACT_MS, METRIC_LANDING_AHEAD_MM, METRIC_STRIKE_INDEX_PCT,
    METRIC_LOAD_RATE_BW_S, METRIC_BELT_SPEED_M_S,
};

static const struct stats *
find(const struct baseline *b, enum metric m)
{
    for (int i = 0; i < BASELINE_N_KEPT; i++)
        if (KEPT[i] == m)
            return &b->kept[i];
    return 0;
}

void
baseline_init(struct baseline *b)
{
    b->n_steps = 0;
    for (int i = 0; i < BASELINE_N_KEPT; i++)
        stats_init(&b->kept[i], STATS_MAX);
}

void
baseline_feed(struct baseline *b, const struct step *s)
{
    b->n_steps++;
    for (int i = 0; i < BASELINE_N_KEPT; i++)
        stats_feed(&b->kept[i], s->value[KEPT[i]]);
}

static bool
is_warm(const struct baseline *b)
{
    return b->n_steps >= BASELINE_MIN_STEPS;
}

/* A metric that only a few steps had says nothing of the runner. */
static const struct stats *
find_warm(const struct baseline *b, enum metric m)
{
    const struct stats *s = find(b, m);
    return s && is_warm(b) && s->n >= BASELINE_MIN_STEPS / 2 ? s : 0;
}

double
baseline_median(const struct baseline *b, enum metric m)
{
    const struct stats *s = find_warm(b, m);
    if (!s)
        return (double) NAN;
    return stats_median(s);
}

/* Robust, as a standard deviation; NAN as the median. */
static double
spread_of(const struct baseline *b, enum metric m)
{
    const struct stats *s = find_warm(b, m);
    if (!s)
        return (double) NAN;
    return stats_robust_sd(s);
}

static int
add(const struct baseline *b, enum target_rule rule, enum metric m, struct target *out)
{
    return target_by_rule(rule, m, baseline_median(b, m), spread_of(b, m), out) ? 1 : 0;
}

static enum metric
metric_of(enum target_rule rule)
{
    switch (rule) {
    case TARGET_RULE_LOAD_RATE_DOWN_20:
        return METRIC_LOAD_RATE_BW_S;
    case TARGET_RULE_LAND_NEARER:
        return METRIC_LANDING_AHEAD_MM;
    case TARGET_RULE_CADENCE_UP_5:
    case TARGET_RULE_CADENCE_UP_7_5:
    case TARGET_RULE_CADENCE_UP_10:
    case TARGET_RULE_NO_MORE:
    case TARGET_RULE_HOLD:
    case TARGET_RULE_BRAKE_LESS:
        break;
    }
    return METRIC_CADENCE_SPM;
}

int
baseline_propose(const struct baseline *b, enum target_rule rule, struct target out[BASELINE_MAX_TARGETS])
{
    int n = 0;
    enum metric leads = metric_of(rule);
    n += add(b, rule, leads, &out[n]);
    if (n == 0 && leads != METRIC_CADENCE_SPM) {
        leads = METRIC_CADENCE_SPM;
        n += add(b, TARGET_RULE_CADENCE_UP_5, leads, &out[n]);
    }
    n += add(b, TARGET_RULE_NO_MORE, METRIC_CONTACT_MS, &out[n]);
    if (leads == METRIC_LANDING_AHEAD_MM)
        return n;
    const int n_landing = add(b, TARGET_RULE_NO_MORE, METRIC_LANDING_AHEAD_MM, &out[n]);
    n += n_landing;
    if (!n_landing)
        n += add(b, TARGET_RULE_HOLD, METRIC_STRIKE_INDEX_PCT, &out[n]);
    return n;
}

/* Value number i of a series, 0 = newest. */
static double
back(const struct stats *s, int i)
{
    return s->value[((s->head - 1 - i) % s->span + s->span) % s->span];
}

static double
mean_back(const struct stats *s, int from, int to)
{
    double sum = 0;
    if (to > s->n)
        to = s->n;
    for (int i = from; i < to; i++)
        sum += back(s, i);
    return to > from ? sum / (to - from) : (double) NAN;
}

/* Spread of stride times among the newest n steps, of their mean. Strides, not steps: left and right differ. */
static double
stride_cv_pct(const struct stats *cadence, int n)
{
    double stride_s[STATS_MAX / 2];
    int k = 0;
    for (int i = 0; i + 1 < n; i += 2)
        stride_s[k++] = 60 / back(cadence, i) + 60 / back(cadence, i + 1);
    return 100 * stats_sd_of(stride_s, k) / stats_mean_of(stride_s, k);
}

static double
drift_pct(const struct stats *s, int n)
{
    if (s->n < n)
        n = s->n;
    if (n < BASELINE_MIN_STEPS / 2)
        return (double) NAN;
    const double late = mean_back(s, 0, n / 2), early = mean_back(s, n / 2, n);
    return 100 * (late - early) / early;
}

void
baseline_look(const struct baseline *b, double look_s, double elapsed_s, struct baseline_look *out)
{
    const struct stats *cadence = find(b, METRIC_CADENCE_SPM);
    const double NONE = (double) NAN;
    *out = (struct baseline_look){ .cv_pct = NONE, .drift_pct = NONE, .contact_drift_pct = NONE, .speed_drift_pct = NONE };
    while (out->n_steps < cadence->n && out->covered_s < look_s) {
        out->covered_s += 60 / back(cadence, out->n_steps);
        out->n_steps++;
    }
    if (!is_warm(b) || out->n_steps < BASELINE_MIN_STEPS / 2)
        return;
    out->cv_pct = stride_cv_pct(cadence, out->n_steps);
    out->drift_pct = drift_pct(cadence, out->n_steps);
    out->contact_drift_pct = drift_pct(find(b, METRIC_CONTACT_MS), out->n_steps);
    out->speed_drift_pct = drift_pct(find(b, METRIC_BELT_SPEED_M_S), out->n_steps);
    const double wanted_s = look_s < elapsed_s ? look_s : elapsed_s;
    out->is_steady = out->covered_s >= wanted_s * 2 / 3 && out->cv_pct <= BASELINE_MAX_CV_PCT &&
                     fabs(out->drift_pct) <= BASELINE_MAX_DRIFT_PCT &&
                     !(fabs(out->contact_drift_pct) > BASELINE_MAX_CONTACT_DRIFT_PCT) &&
                     !(fabs(out->speed_drift_pct) > BASELINE_MAX_SPEED_DRIFT_PCT);
}

static void
tell_share(struct message *out, enum message_code code, struct message_arg moved, double most_pct, int digits)
{
    message_tell(out, code, moved, message_real(most_pct, digits, MESSAGE_UNIT_PCT));
}

void
baseline_look_tell(const struct baseline_look *look, struct message *out)
{
    message_init(out, MESSAGE_NONE);
    if (look->is_steady)
        return;
    if (isnan(look->cv_pct))
        message_tell(out, MESSAGE_BASELINE_FEW_STEPS, look->n_steps);
    else if (fabs(look->speed_drift_pct) > BASELINE_MAX_SPEED_DRIFT_PCT)
        tell_share(out, MESSAGE_BASELINE_SPEED_MOVED, message_signed(look->speed_drift_pct, 1, MESSAGE_UNIT_PCT),
                   BASELINE_MAX_SPEED_DRIFT_PCT, 1);
    else if (look->cv_pct > BASELINE_MAX_CV_PCT)
        tell_share(out, MESSAGE_BASELINE_STRIDES_VARY, message_real(look->cv_pct, 1, MESSAGE_UNIT_PCT), BASELINE_MAX_CV_PCT, 0);
    else if (fabs(look->drift_pct) > BASELINE_MAX_DRIFT_PCT)
        tell_share(out, MESSAGE_BASELINE_CADENCE_MOVED, message_signed(look->drift_pct, 1, MESSAGE_UNIT_PCT),
                   BASELINE_MAX_DRIFT_PCT, 0);
    else if (fabs(look->contact_drift_pct) > BASELINE_MAX_CONTACT_DRIFT_PCT)
        tell_share(out, MESSAGE_BASELINE_CONTACT_MOVED, message_signed(look->contact_drift_pct, 1, MESSAGE_UNIT_PCT),
                   BASELINE_MAX_CONTACT_DRIFT_PCT, 0);
    else
        message_tell(out, MESSAGE_BASELINE_LITTLE_RUNNING, message_real(look->covered_s, 0, MESSAGE_UNIT_S));
}
