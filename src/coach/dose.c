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
    d->n_fore_steps += s->zone == STEP_ZONE_FORE;
    const double step_s = s->value[METRIC_STEP_TIME_S];
    if (step_s > 0 && step_s < LONGEST_STEP_S) /* false for NAN */
        d->minutes += step_s / 60;
}

/* Growth since `last` in per cent; NAN when last has none. */
static double
growth_pct(double now, double last)
{
    return last > 0 ? 100 * (now / last - 1) : (double) NAN;
}

bool
dose_note(const struct dose *now, const struct dose *last, char out[DOSE_TEXT_MAX])
{
    const double minutes_pct = growth_pct(now->minutes, last->minutes);
    const double steps_pct = growth_pct(now->n_steps, last->n_steps);
    const int n_more_fore = now->n_fore_steps - last->n_fore_steps;
    /* From none at all it grew without bound. */
    const double fore_pct = last->n_fore_steps > 0 ? growth_pct(now->n_fore_steps, last->n_fore_steps) : 1e9;
    out[0] = '\0';
    if (last->n_steps == 0)
        return false;
    if (n_more_fore >= DOSE_FORE_MIN_STEPS && fore_pct > DOSE_GROWTH_PCT)
        snprintf(out, DOSE_TEXT_MAX,
                 "Forefoot-first steps grew from %d to %d: calf and Achilles tendon carry more. Give them time.",
                 last->n_fore_steps, now->n_fore_steps);
    else if (minutes_pct > DOSE_GROWTH_PCT || steps_pct > DOSE_GROWTH_PCT)
        snprintf(out, DOSE_TEXT_MAX,
                 "The dose grew fast: %.0f min after %.0f, %d steps after %d. Over 30 %% in two weeks went with more "
                 "injuries (Nielsen et al. 2014).",
                 now->minutes, last->minutes, now->n_steps, last->n_steps);
    return out[0] != '\0';
}
