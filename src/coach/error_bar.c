#include "coach/error_bar.h"

#include <math.h>

#define SHARE_95 1.96 /* of a normal spread */

/* Standard deviations: of a run's mean, of a step about it, of one runner's runs about the runner's own mean. 0: unknown. */
static const struct spread {
    double run, step, own;
} SPREAD[METRIC_COUNT] = {
    [METRIC_BRAKING_IMPULSE_BW_S] = { 0.00155, 0.00148, 0.00086 },
    [METRIC_PEAK_BRAKING_BW] = { 0.0323, 0.0176, 0.025 },
    [METRIC_BRAKING_END_PCT] = { 1.27, 1.54, 0 },
};

double
error_bar_mean(enum metric m, int n)
{
    const struct spread *s = &SPREAD[m];
    if (!(s->run > 0) || n < 1)
        return (double) NAN;
    return SHARE_95 * sqrt(s->run * s->run + s->step * s->step / n);
}

double
error_bar_change(enum metric m, int n_before, int n_after)
{
    const struct spread *s = &SPREAD[m];
    if (!(s->own > 0) || n_before < 1 || n_after < 1)
        return (double) NAN;
    return SHARE_95 * sqrt(2 * s->own * s->own + s->step * s->step * (1.0 / n_before + 1.0 / n_after));
}
