/* coach_bars.c - the verdict's bars: which there are, their bands, values, sides, and the cue. */
#include "coach/coach_parts.h"

#include <math.h>

static const double UNKNOWN = (double) NAN;

static void
set_bar(struct coach *c, int i, enum metric m, double low, double high, double baseline)
{
    c->verdict.bar[i] = (struct verdict_bar){ .metric = m,
                                              .value = UNKNOWN,
                                              .value_left = UNKNOWN,
                                              .value_right = UNKNOWN,
                                              .low = low,
                                              .high = high,
                                              .baseline = baseline };
    band_init(&c->band[i], low, high);
}

/* The bars of a run without targets yet: what every sensor tells, and landing ahead until we know better. */
void
coach_set_plain_bars(struct coach *c)
{
    set_bar(c, 0, METRIC_CADENCE_SPM, UNKNOWN, UNKNOWN, UNKNOWN);
    set_bar(c, 1, METRIC_CONTACT_MS, UNKNOWN, UNKNOWN, UNKNOWN);
    set_bar(c, 2, METRIC_LANDING_AHEAD_MM, UNKNOWN, UNKNOWN, UNKNOWN);
    c->verdict.n_bars = 3;
    c->verdict.focus = c->config.focus == METRIC_COUNT ? METRIC_CADENCE_SPM : c->config.focus;
}

void
coach_clear_trend(struct coach *c)
{
    c->trend_slot = -1;
    for (int i = 0; i < VERDICT_TREND_SLOTS; i++) {
        c->verdict.trend[i] = (float) NAN;
        c->verdict.trend_is_silent[i] = false;
    }
}

/* Bars, bands and focus from the targets in the configuration. */
void
coach_use_targets(struct coach *c)
{
    struct verdict *v = &c->verdict;
    const enum metric focus_before = v->focus;
    v->n_bars = c->config.n_targets;
    v->focus = c->config.focus;
    v->landing_low_mm = v->landing_high_mm = UNKNOWN;
    for (int i = 0; i < c->config.n_targets; i++) {
        const struct target *t = &c->config.target[i];
        set_bar(c, i, t->metric, t->low, t->high, t->baseline);
        if (v->focus == METRIC_COUNT && t->is_change)
            v->focus = t->metric;
        if (t->metric == METRIC_LANDING_AHEAD_MM) {
            v->landing_low_mm = t->low;
            v->landing_high_mm = t->high;
        }
    }
    for (int foot = 0; foot < 2; foot++)
        band_init(&c->landing_band[foot], v->landing_low_mm, v->landing_high_mm);
    if (v->focus == METRIC_COUNT)
        v->focus = c->config.target[0].metric;
    if (v->focus != focus_before)
        coach_clear_trend(c); /* a line of another metric says nothing */
    c->is_third_bar_settled = true;
    v->target_version++;
}

/* Each foot's own landing. */
static void
judge_landings(struct coach *c)
{
    const struct run_median *ahead = &c->rolling[METRIC_LANDING_AHEAD_MM], *first = &c->rolling[METRIC_LANDING_FIRST_MM];
    for (int foot = 0; foot < 2; foot++) {
        struct verdict_landing *l = &c->verdict.landing[foot];
        l->middle_mm = run_median_of(foot == 0 ? &ahead->left : &ahead->right);
        l->first_mm = run_median_of(foot == 0 ? &first->left : &first->right);
        l->side = band_feed(&c->landing_band[foot], l->middle_mm);
    }
}

/* Bars: values from the rolling medians, sides by the bands, then the cue. */
void
coach_judge(struct coach *c, const struct step *s)
{
    struct verdict *v = &c->verdict;
    for (int i = 0; i < v->n_bars; i++) {
        struct verdict_bar *bar = &v->bar[i];
        const struct run_median *r = &c->rolling[bar->metric];
        bar->value = run_median_of(&r->both);
        bar->value_left = run_median_of(&r->left);
        bar->value_right = run_median_of(&r->right);
        if (s && s->standing[bar->metric] != METRIC_MISSING)
            bar->standing = (enum metric_standing) s->standing[bar->metric];
        bar->side = band_feed(&c->band[i], bar->value);
    }
    judge_landings(c);
    if (v->is_feedback_shown)
        v->cue = cue_feed(&c->cue, v->time, v->bar, c->band, v->n_bars);
}

/* Once warm, the third plain bar becomes what this sensor can tell: landing ahead, the strike index, or
 * nothing. */
void
coach_settle_third_bar(struct coach *c)
{
    if (c->is_third_bar_settled || c->verdict.n_steps < 2 * RUN_MEDIAN_SPAN)
        return;
    c->is_third_bar_settled = true;
    if (c->rolling[METRIC_LANDING_AHEAD_MM].both.n > 0)
        return;
    if (c->rolling[METRIC_STRIKE_INDEX_PCT].both.n > 0)
        set_bar(c, 2, METRIC_STRIKE_INDEX_PCT, UNKNOWN, UNKNOWN, UNKNOWN);
    else
        c->verdict.n_bars = 2;
}
