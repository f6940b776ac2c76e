#include "coach/dose.h"

#include <math.h>
#include <stdio.h>

#define LONGEST_STEP_S 1.5 /* longer is a pause between two runs, not a step */

void
dose_feed(struct dose *d, const struct step *s)
{
    if (s->gait != STEP_GAIT_RUNNING)
        return;
    d->n_steps++;
    const bool is_fore = s->zone == STEP_ZONE_MID || s->zone == STEP_ZONE_FORE;
    d->n_fore_least += is_fore;
    d->n_fore_most += is_fore || s->zone == STEP_ZONE_BORDER;
    const double step_s = s->value[METRIC_STEP_TIME_S];
    if (step_s > 0 && step_s < LONGEST_STEP_S) /* false for NAN */
        d->minutes += step_s / 60;
}

void
dose_fore_text(const struct dose *d, char out[DOSE_COUNT_MAX])
{
    if (d->n_fore_least == d->n_fore_most)
        snprintf(out, DOSE_COUNT_MAX, "%d", d->n_fore_least);
    else
        snprintf(out, DOSE_COUNT_MAX, "%d-%d", d->n_fore_least, d->n_fore_most);
}

/* Growth since `last` in per cent; NAN when last has none. */
static double
growth_pct(double now, double last)
{
    return last > 0 ? 100 * (now / last - 1) : (double) NAN;
}

enum dose_growth
dose_grew(const struct dose *now, const struct dose *last)
{
    const int n_more_fore = now->n_fore_most - last->n_fore_most;
    /* From none at all it grew without bound. */
    const double fore_pct = last->n_fore_most > 0 ? growth_pct(now->n_fore_most, last->n_fore_most) : 1e9;
    if (last->n_steps == 0)
        return DOSE_IS_STEADY;
    if (n_more_fore >= DOSE_FORE_MIN_STEPS && fore_pct > DOSE_GROWTH_PCT)
        return DOSE_FORE_GREW;
    return growth_pct(now->minutes, last->minutes) > DOSE_GROWTH_PCT || growth_pct(now->n_steps, last->n_steps) > DOSE_GROWTH_PCT
               ? DOSE_GREW
               : DOSE_IS_STEADY;
}
