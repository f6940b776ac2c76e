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

bool
dose_note(const struct dose *now, const struct dose *last, char out[DOSE_TEXT_MAX])
{
    const double minutes_pct = growth_pct(now->minutes, last->minutes);
    const double steps_pct = growth_pct(now->n_steps, last->n_steps);
    const int n_more_fore = now->n_fore_most - last->n_fore_most;
    /* From none at all it grew without bound. */
    const double fore_pct = last->n_fore_most > 0 ? growth_pct(now->n_fore_most, last->n_fore_most) : 1e9;
    char now_text[DOSE_COUNT_MAX], last_text[DOSE_COUNT_MAX];
    out[0] = '\0';
    if (last->n_steps == 0)
        return false;
    if (n_more_fore >= DOSE_FORE_MIN_STEPS && fore_pct > DOSE_GROWTH_PCT) {
        dose_fore_text(last, last_text);
        dose_fore_text(now, now_text);
        snprintf(out, DOSE_TEXT_MAX,
                 "Mid- and forefoot steps grew from %s to %s: calf and Achilles tendon carry more. Give them time.", last_text,
                 now_text);
    } else if (minutes_pct > DOSE_GROWTH_PCT || steps_pct > DOSE_GROWTH_PCT)
        snprintf(out, DOSE_TEXT_MAX,
                 "The dose grew fast: %.0f min after %.0f, %d steps after %d. Over 30 %% in two weeks went with more "
                 "injuries (Nielsen et al. 2014).",
                 now->minutes, last->minutes, now->n_steps, last->n_steps);
    return out[0] != '\0';
}
