#include "coach/baseline.h"

#include <math.h>

static const enum metric KEPT[BASELINE_N_KEPT] = {
    METRIC_CADENCE_SPM, METRIC_CONTACT_MS, METRIC_LANDING_AHEAD_MM, METRIC_STRIKE_INDEX_PCT,
    METRIC_LOAD_RATE_BW_S,
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

bool
baseline_is_warm(const struct baseline *b)
{
    return b->n_steps >= BASELINE_MIN_STEPS;
}

/* A metric that only a few steps had says nothing of the runner. */
static const struct stats *
find_warm(const struct baseline *b, enum metric m)
{
    const struct stats *s = find(b, m);
    return s && baseline_is_warm(b) && s->n >= BASELINE_MIN_STEPS / 2 ? s : 0;
}

double
baseline_median(const struct baseline *b, enum metric m)
{
    const struct stats *s = find_warm(b, m);
    if (!s)
        return (double) NAN;
    return stats_median(s);
}

double
baseline_spread(const struct baseline *b, enum metric m)
{
    const struct stats *s = find_warm(b, m);
    if (!s)
        return (double) NAN;
    return stats_robust_sd(s);
}

static int
add(const struct baseline *b, enum target_rule rule, enum metric m, struct target *out)
{
    return target_by_rule(rule, m, baseline_median(b, m), baseline_spread(b, m), out) ? 1 : 0;
}

int
baseline_propose(const struct baseline *b, enum target_rule cadence_rule,
                 struct target out[BASELINE_MAX_TARGETS])
{
    int n = 0;
    n += add(b, cadence_rule, METRIC_CADENCE_SPM, &out[n]);
    n += add(b, TARGET_RULE_NO_MORE, METRIC_CONTACT_MS, &out[n]);
    const int n_landing = add(b, TARGET_RULE_NO_MORE, METRIC_LANDING_AHEAD_MM, &out[n]);
    n += n_landing;
    if (!n_landing)
        n += add(b, TARGET_RULE_HOLD, METRIC_STRIKE_INDEX_PCT, &out[n]);
    return n;
}
