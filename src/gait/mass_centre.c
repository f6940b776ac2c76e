#include "gait/mass_centre.h"

#include "base/units.h"

#include <math.h>

/* Below this the centre of pressure is noise; what is left out is a small share of the impulse. */
#define COP_MIN_N 20.0
/* A COP known for less of the impulse than this tells no place. common practice, no source */
#define COP_KNOWN_SHARE 0.95

struct mass_centre_sum
mass_centre_sum(const struct trace *t, const struct trace_zero *z, double from_us, double to_us)
{
    struct mass_centre_sum s = { 0 };
    s.duration_s = (to_us - from_us) * 1e-6;
    s.impulse_n_s = trace_impulse_n_s(t, z, from_us, to_us);
    for (uint64_t i = trace_find(t, from_us); i < t->n_fed; i++) {
        const struct trace_sample *b = trace_at(t, i);
        if (b->time_us >= to_us)
            break;
        if (i == 0 || !trace_has(t, i - 1) || isnan(b->cop_fwd_mm))
            continue;
        double force_n = b->force_n - trace_zero_at(z, b->time_us);
        if (force_n < COP_MIN_N)
            continue;
        double dt_s = (b->time_us - trace_at(t, i - 1)->time_us) * 1e-6;
        s.moment_fwd_n_s_mm += force_n * b->cop_fwd_mm * dt_s;
        s.cop_impulse_n_s += force_n * dt_s;
    }
    return s;
}

void
mass_centre_add_share(struct mass_centre_sum *into, const struct mass_centre_sum *s, double share)
{
    into->duration_s += share * s->duration_s;
    into->impulse_n_s += share * s->impulse_n_s;
    into->moment_fwd_n_s_mm += share * s->moment_fwd_n_s_mm;
    into->cop_impulse_n_s += share * s->cop_impulse_n_s;
}

void
mass_centre_add(struct mass_centre_sum *into, const struct mass_centre_sum *s)
{
    mass_centre_add_share(into, s, 1);
}

double
mass_centre_weight_n(const struct mass_centre_sum *s)
{
    return s->duration_s > 0 ? s->impulse_n_s / s->duration_s : (double) NAN;
}

double
mass_centre_fwd_mm(const struct mass_centre_sum *s)
{
    if (!(s->impulse_n_s > 0) || s->cop_impulse_n_s < COP_KNOWN_SHARE * s->impulse_n_s)
        return NAN;
    return s->moment_fwd_n_s_mm / s->cop_impulse_n_s;
}

/* Walks the stride's samples, its interpolated ends included. */
struct walker {
    const struct trace *t;
    const struct trace_zero *z;
    double to_us;
    uint64_t i;
    double time_us, force_n;
    bool is_done;
};

static struct walker
walk_from(const struct trace *t, const struct trace_zero *z, double from_us, double to_us)
{
    struct walker w = { .t = t, .z = z, .to_us = to_us, .time_us = from_us };
    w.i = trace_find(t, from_us);
    w.force_n = trace_force_at(t, z, from_us);
    while (w.i < t->n_fed && trace_at(t, w.i)->time_us <= from_us)
        w.i++;
    return w;
}

/* Next point; false at the end. */
static bool
walk_next(struct walker *w)
{
    if (w->is_done)
        return false;
    if (w->i < w->t->n_fed && trace_at(w->t, w->i)->time_us < w->to_us) {
        const struct trace_sample *s = trace_at(w->t, w->i++);
        w->time_us = s->time_us;
        w->force_n = s->force_n - trace_zero_at(w->z, s->time_us);
        return true;
    }
    w->time_us = w->to_us;
    w->force_n = trace_force_at(w->t, w->z, w->to_us);
    w->is_done = true;
    return true;
}

struct mass_centre_vertical
mass_centre_vertical(const struct trace *t, const struct trace_zero *z, double from_us, double to_us,
                     double touchdown_us, double toe_off_us)
{
    struct mass_centre_vertical r = { NAN, NAN };
    double impulse_n_s = trace_impulse_n_s(t, z, from_us, to_us);
    double duration_s = (to_us - from_us) * 1e-6;
    if (!(impulse_n_s > 0) || !(duration_s > 0))
        return r;
    double weight_n = impulse_n_s / duration_s;
    double mean_speed_m_s = 0;
    for (int pass = 0; pass < 2; pass++) {
        struct walker w = walk_from(t, z, from_us, to_us);
        double time_us = w.time_us, accel = (w.force_n / weight_n - 1) * UNITS_GRAVITY_M_S2;
        double speed = -mean_speed_m_s, height = 0, touchdown_m = NAN, low_m = INFINITY;
        while (walk_next(&w)) {
            double dt_s = (w.time_us - time_us) * 1e-6;
            double accel1 = (w.force_n / weight_n - 1) * UNITS_GRAVITY_M_S2;
            double speed1 = speed + 0.5 * (accel + accel1) * dt_s;
            double height1 = height + 0.5 * (speed + speed1) * dt_s;
            if (time_us <= touchdown_us && w.time_us >= touchdown_us)
                touchdown_m = height + (height1 - height) * (dt_s > 0 ? (touchdown_us - time_us) * 1e-6 / dt_s : 0);
            if (w.time_us >= touchdown_us && w.time_us <= toe_off_us && height1 < low_m) {
                low_m = height1;
                r.low_us = w.time_us - touchdown_us;
                if (speed < 0 && speed1 > 0) /* the turn lies just before this point */
                    r.low_us -= dt_s * 1e6 * speed1 / (speed1 - speed);
            }
            time_us = w.time_us;
            accel = accel1;
            speed = speed1;
            height = height1;
        }
        if (pass == 0)
            mean_speed_m_s = height / duration_s;
        r.drop_mm = (touchdown_m - low_m) * 1e3;
    }
    if (!isfinite(r.drop_mm))
        r.drop_mm = r.low_us = NAN;
    return r;
}
