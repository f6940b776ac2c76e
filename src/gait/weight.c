#include "gait/weight.h"

#include "base/units.h"

#include <math.h>

void
weight_init(struct weight *w, const struct engine_config *c)
{
    *w = (struct weight) { .given_n = c->body_weight_n, .mass_kg = c->body_mass_kg };
}

void
weight_feed(struct weight *w, const struct mass_centre_sum *s)
{
    if (isnan(s->impulse_n_s))
        return;
    if (!w->has_half) {
        w->half = *s;
        w->has_half = true;
        return;
    }
    mass_centre_add(&w->sum, &w->half);
    mass_centre_add(&w->sum, s);
    w->has_half = false;
}

void
weight_drop_half(struct weight *w)
{
    w->has_half = false;
}

void
weight_reset(struct weight *w)
{
    w->has_half = false;
    w->sum = (struct mass_centre_sum) { 0 };
}

double
weight_momentum_n(const struct weight *w)
{
    return mass_centre_weight_n(&w->sum);
}

double
weight_in_use_n(const struct weight *w, enum engine_weight_source *from)
{
    double momentum_n = weight_momentum_n(w);
    *from = ENGINE_WEIGHT_GIVEN;
    if (!isnan(w->given_n))
        return w->given_n;
    *from = ENGINE_WEIGHT_MASS;
    if (!isnan(w->mass_kg) && !w->is_relative)
        return w->mass_kg * UNITS_GRAVITY_M_S2;
    *from = isnan(momentum_n) ? ENGINE_WEIGHT_UNKNOWN : ENGINE_WEIGHT_MOMENTUM;
    return momentum_n;
}
