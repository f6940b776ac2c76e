/* course_braking.c - what went with less braking for this runner: quicker steps, nearer landing, both, or neither that is sure. */
#include "base/str.h"
#include "coach/error_bar.h"
#include "report/course.h"
#include "report/number.h"

#include <math.h>
#include <stdio.h>

/* A change since the first baseline, with half of its 95 % interval: the runner's own wandering, and what the figure may be off. */
struct moved {
    double by, half; /* NAN: not known */
};

static struct moved
moved(const struct course *c, const struct course_visit *v, enum metric m)
{
    const struct course_change *k = &v->held_from_first[m];
    struct moved d = { k->is_other_speed ? (double) NAN : k->by, c->mdc[m] };
    const double bar = error_bar_change(m, v->held[m].n, COURSE_BASELINE_STEPS);
    if (!isnan(bar))
        d.half = sqrt(d.half * d.half + bar * bar);
    return d;
}

static void
say(char out[COURSE_BRAKING_MAX], const char *what, const struct moved *d, int digits, const char *unit)
{
    char text[96], by[NUMBER_MAX], half[NUMBER_MAX];
    if (isnan(d->by))
        return;
    const bool has_half = !isnan(d->half);
    snprintf(text, sizeof text, "%s%s %s%s%s%s %s", out[0] ? ", " : "", what, d->by > 0 ? "+" : "", number_fixed(by, d->by, digits),
             has_half ? " \xc2\xb1 " : "", has_half ? number_fixed(half, d->half, digits) : "", unit);
    str_append(out, COURSE_BRAKING_MAX, text);
}

const char *
course_braking_text(const struct course *c, char out[COURSE_BRAKING_MAX])
{
    const struct course_visit *v = &c->visit[c->n_visits - 1];
    const struct moved brakes = moved(c, v, METRIC_BRAKING_IMPULSE_BW_S), steps = moved(c, v, METRIC_CADENCE_SPM),
                       lands = moved(c, v, METRIC_LANDING_AHEAD_MM);
    out[0] = '\0';
    if (isnan(brakes.by))
        return out;
    say(out, "Since the first baseline: braking", &brakes, 4, "BW s");
    say(out, "cadence", &steps, 1, "steps/min");
    say(out, "landing ahead", &lands, 0, "mm");
    const bool is_quicker = steps.by > steps.half, is_nearer = lands.by < -lands.half; /* false where not known */
    if (isnan(brakes.half))
        str_append(out, COURSE_BRAKING_MAX, ". How far it wanders by itself is not known yet: two silent blocks of two minutes tell.");
    else if (!(brakes.by < -brakes.half))
        str_append(out, COURSE_BRAKING_MAX, ". That is no less braking for sure.");
    else if (!is_quicker && !is_nearer)
        str_append(out, COURSE_BRAKING_MAX, ". Less braking; neither quicker steps nor nearer landing is sure to have gone with it.");
    else {
        str_append(out, COURSE_BRAKING_MAX, ". Less braking went with ");
        str_append(out, COURSE_BRAKING_MAX, is_quicker ? "quicker steps" : "nearer landing");
        str_append(out, COURSE_BRAKING_MAX, is_quicker && is_nearer ? " and nearer landing." : ".");
    }
    return out;
}
