#include "sense/interval.h"

#include <math.h>

/* Share of a new interval in the period: follows a change within about 60 frames. */
#define FOLLOW_SHARE (1.0 / 64)

void
interval_init(struct interval *v, double rate_hz)
{
    *v = (struct interval){ .period_us = rate_hz > 0 ? 1e6 / rate_hz : (double) NAN };
}

uint32_t
interval_feed(struct interval *v, int64_t step_us, bool is_complete)
{
    double step = (double) step_us;
    if (isnan(v->period_us) || step_us <= 0)
        return 0;
    if (step <= 1.5 * v->period_us) {
        v->period_us += (step - v->period_us) * FOLLOW_SHARE;
        v->n_alike = 0;
        return 0;
    }
    bool is_alike = v->n_alike > 0 && fabs(step - v->alike_us) < 0.1 * v->alike_us;
    v->n_alike = is_alike ? v->n_alike + 1 : 1;
    v->alike_us = step;
    if (v->n_alike >= INTERVAL_ALIKE) {
        v->period_us = step;
        v->n_alike = 0;
        return 0;
    }
    if (is_complete && step <= 3 * v->period_us)
        return 0;
    double n = floor(step / v->period_us + 0.5) - 1;
    return n < 1 ? 1 : n > (double) UINT32_MAX ? UINT32_MAX : (uint32_t) n;
}
