#include "gait/parting.h"

#include <math.h>

/* The feet's own lines are read where surely one foot alone is down, and carry on into the time of both. */
#define OLD_FROM_US (-110000.0)
#define OLD_TO_US (-50000.0)
#define NEW_FROM_US 50000.0
#define MIN_SAMPLES 4

struct line {
    double at_low, slope; /* value at low_us; per us */
    int n;
};

static double
load_at(const struct trace *t, const struct trace_zero *z, uint64_t i)
{
    const struct trace_sample *s = trace_at(t, i);
    return s->force_n - trace_zero_at(z, s->time_us);
}

/* Least squares of the COP over [from, to] after low_us. */
static struct line
fit_cop(const struct trace *t, double low_us, double from_us, double to_us)
{
    double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
    struct line l = { NAN, NAN, 0 };
    for (uint64_t i = trace_find(t, low_us + from_us); i < t->n_fed; i++) {
        const struct trace_sample *s = trace_at(t, i);
        double x = s->time_us - low_us;
        if (x > to_us)
            break;
        if (isnan(s->cop_fwd_mm))
            continue;
        n++;
        sx += x;
        sy += s->cop_fwd_mm;
        sxx += x * x;
        sxy += x * s->cop_fwd_mm;
    }
    double spread = n * sxx - sx * sx;
    if (n < MIN_SAMPLES || !(spread > 0))
        return l;
    l.n = (int) n;
    l.slope = (n * sxy - sx * sy) / spread;
    l.at_low = (sy - l.slope * sx) / n;
    return l;
}

/* The two feet's own ways of the load, between which the load of both is shared as on a lever. */
struct lever {
    const struct trace *t;
    const struct trace_zero *z;
    double low_us;
    struct line one, other;
};

/* Load of the one foot at sample i by the lever. */
static double
share_n(const struct lever *l, uint64_t i)
{
    const struct trace_sample *s = trace_at(l->t, i);
    double x = s->time_us - l->low_us;
    double one_mm = l->one.at_low + l->one.slope * x, other_mm = l->other.at_low + l->other.slope * x;
    double share = isnan(s->cop_fwd_mm) ? 0 : (s->cop_fwd_mm - other_mm) / (one_mm - other_mm);
    return fmax(0, fmin(1, share)) * load_at(l->t, l->z, i);
}

/* Walks from sample i in direction step until the foot's own load is under on_n; NAN when it never is. */
static double
edge_us(const struct lever *l, uint64_t i, int step, double on_n)
{
    const struct trace *t = l->t;
    double last_n = share_n(l, i), last_us = trace_at(t, i)->time_us;
    while (last_n >= on_n) {
        if ((step < 0 && i == 0) || !trace_has(t, step < 0 ? i - 1 : i + 1))
            return NAN;
        i = step < 0 ? i - 1 : i + 1;
        double here_n = share_n(l, i), here_us = trace_at(t, i)->time_us;
        if (here_n < on_n)
            return last_us + (on_n - last_n) / (here_n - last_n) * (here_us - last_us);
        last_n = here_n;
        last_us = here_us;
    }
    return NAN;
}

/* Where the load, walked from low_us in direction step, first reaches level_n. */
static double
reach_us(const struct trace *t, const struct trace_zero *z, double low_us, int step, double level_n)
{
    uint64_t i = trace_find(t, low_us);
    while (trace_has(t, i)) {
        if (load_at(t, z, i) >= level_n)
            return trace_at(t, i)->time_us;
        if (step < 0 && i == 0)
            break;
        i = step < 0 ? i - 1 : i + 1;
    }
    return NAN;
}

/* Case 3: each flank's line through half and three quarters of the peak, down to on_n. */
static struct parting
part_by_dip(const struct trace *t, const struct trace_zero *z, double low_us, double peak_n, double on_n)
{
    struct parting p = { false, NAN, NAN };
    if (trace_force_at(t, z, low_us) > PARTING_DEEP_SHARE * peak_n)
        return p;
    double edge[2];
    for (int k = 0; k < 2; k++) {
        double half_us = reach_us(t, z, low_us, k == 0 ? -1 : 1, 0.5 * peak_n);
        double more_us = reach_us(t, z, low_us, k == 0 ? -1 : 1, 0.75 * peak_n);
        edge[k] = half_us - (more_us - half_us) * (0.5 * peak_n - on_n) / (0.25 * peak_n);
    }
    p = (struct parting) { !isnan(edge[0]) && !isnan(edge[1]), edge[0], edge[1] };
    return p;
}

struct parting
parting_find(const struct trace *t, const struct trace_zero *z, double low_us, double peak_n, double on_n)
{
    struct parting p = { false, NAN, NAN };
    struct line old = fit_cop(t, low_us, OLD_FROM_US, OLD_TO_US);
    struct line new = fit_cop(t, low_us, NEW_FROM_US, PARTING_AFTER_US);
    if (old.n == 0 || new.n == 0)
        return part_by_dip(t, z, low_us, peak_n, on_n);
    if (new.at_low - old.at_low < PARTING_JUMP_MM)
        return p;
    uint64_t before = trace_find(t, low_us + OLD_TO_US), after = trace_find(t, low_us + NEW_FROM_US);
    if (!trace_has(t, before) || !trace_has(t, after))
        return p;
    p.toe_off_us = edge_us(&(struct lever){ t, z, low_us, old, new }, before, +1, on_n);
    p.touchdown_us = edge_us(&(struct lever){ t, z, low_us, new, old }, after, -1, on_n);
    p.is_found = !isnan(p.toe_off_us) && !isnan(p.touchdown_us);
    return p;
}
