/* course_braking.c - what went with less braking for this runner: quicker steps, nearer landing, both, or neither that is sure. */
#include "coach/error_bar.h"
#include "report/course.h"
#include "paper/phrase.h"

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

/* "+8.0 ± 2.0", in its sentence, into the list. */
static void
say(const struct catalogue *w, char list[COURSE_BRAKING_MAX], const char *sentence, const struct moved *d, int digits)
{
    char text[160], both[2 * NUMBER_MAX], by[NUMBER_MAX], half[NUMBER_MAX];
    if (isnan(d->by))
        return;
    const bool has_half = !isnan(d->half);
    snprintf(both, sizeof both, "%s%s%s", phrase_signed(w, by, d->by, digits), has_half ? " \xc2\xb1 " : "",
             has_half ? phrase_number(w, half, d->half, digits) : "");
    phrase_list(w, list, COURSE_BRAKING_MAX, phrase_fill(text, sizeof text, phrase(w, sentence), both, (char *) NULL));
}

/* What may be said of it. */
static const char *
judge(const struct moved *brakes, bool is_quicker, bool is_nearer)
{
    if (isnan(brakes->half))
        return N_("How far it wanders by itself is not known yet: two silent blocks of two minutes tell.");
    if (!(brakes->by < -brakes->half))
        return N_("That is no less braking for sure.");
    if (!is_quicker && !is_nearer)
        return N_("Less braking; neither quicker steps nor nearer landing is sure to have gone with it.");
    if (is_quicker && is_nearer)
        return N_("Less braking went with quicker steps and nearer landing.");
    return is_quicker ? N_("Less braking went with quicker steps.") : N_("Less braking went with nearer landing.");
}

const char *
course_braking_text(const struct catalogue *w, const struct course *c, char out[COURSE_BRAKING_MAX])
{
    const struct course_visit *v = &c->visit[c->n_visits - 1];
    const struct moved brakes = moved(c, v, METRIC_BRAKING_IMPULSE_BW_S), steps = moved(c, v, METRIC_CADENCE_SPM),
                       lands = moved(c, v, METRIC_LANDING_AHEAD_MM);
    char list[COURSE_BRAKING_MAX] = "";
    out[0] = '\0';
    if (isnan(brakes.by))
        return out;
    say(w, list, N_("braking {1} BW s"), &brakes, 4);
    say(w, list, N_("cadence {1} steps/min"), &steps, 1);
    say(w, list, N_("landing ahead {1} mm"), &lands, 0);
    phrase_fill(out, COURSE_BRAKING_MAX, phrase(w, N_("Since the first baseline: {1}.")), list, (char *) NULL);
    const bool is_quicker = steps.by > steps.half, is_nearer = lands.by < -lands.half; /* false where not known */
    phrase_sentence(out, COURSE_BRAKING_MAX, phrase(w, judge(&brakes, is_quicker, is_nearer)));
    return out;
}
