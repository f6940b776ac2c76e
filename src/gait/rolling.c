#include "gait/rolling.h"

#include <math.h>
#include <string.h>

static const enum metric SOURCE[ROLLING_METRICS] = { METRIC_STEP_TIME_S, METRIC_CONTACT_MS, METRIC_LOAD_RATE_BW_S };
static const enum metric RESULT[ROLLING_METRICS] = { METRIC_ASYM_STEP_TIME_PCT, METRIC_ASYM_CONTACT_PCT,
                                                     METRIC_ASYM_LOAD_RATE_PCT };

double
rolling_symmetry_pct(double left, double right)
{
    double mean = 0.5 * (left + right);
    return mean != 0 ? 100 * (right - left) / mean : (double) NAN;
}

void
rolling_init(struct rolling *r)
{
    memset(r, 0, sizeof *r);
    for (int m = 0; m < ROLLING_METRICS; m++)
        for (int side = 0; side < 2; side++)
            stats_init(&r->side[m][side], ROLLING_STEPS);
    stats_init(&r->stride_s, ROLLING_STRIDES);
    r->last_step_s = NAN;
}

static void
put(struct step *s, enum metric m, double v)
{
    s->value[m] = v;
    s->standing[m] = (uint8_t) (isnan(v) ? METRIC_MISSING : METRIC_MEASURED);
}

void
rolling_feed(struct rolling *r, struct step *s)
{
    for (int m = 0; m < ROLLING_METRICS; m++) {
        struct stats *left = &r->side[m][0], *right = &r->side[m][1];
        double v = s->value[SOURCE[m]];
        if (!isnan(v) && s->foot != STEP_FOOT_UNKNOWN)
            stats_feed(s->foot == STEP_FOOT_LEFT ? left : right, v);
        bool is_ready = left->n >= ROLLING_MIN_STEPS && right->n >= ROLLING_MIN_STEPS;
        put(s, RESULT[m], is_ready ? rolling_symmetry_pct(stats_mean(left), stats_mean(right)) : (double) NAN);
    }
    double step_s = s->value[METRIC_STEP_TIME_S];
    if (!isnan(step_s) && !isnan(r->last_step_s))
        stats_feed(&r->stride_s, step_s + r->last_step_s);
    r->last_step_s = step_s;
    bool is_ready = r->stride_s.n >= ROLLING_MIN_STRIDES;
    put(s, METRIC_STEP_VAR_PCT, is_ready ? 100 * stats_sd(&r->stride_s) / stats_mean(&r->stride_s) : (double) NAN);
}
