#include "gait/loading.h"

#include <math.h>

/* The filtered curve starts to rise a little before the raw force crosses the threshold: one period of the 50 Hz. */
#define RISE_BEFORE_US 20000.0
/* The window of the rate, as shares of the force at the point of interest (facts B; loading.h). */
#define RATE_FROM 0.2
#define RATE_TO 0.8

struct curve {
    const double *force_n;
    int n;
    double start_us, period_us;
};

static double
index_of(const struct curve *c, double time_us)
{
    return (time_us - c->start_us) / c->period_us;
}

/* A sample's index, whole; what lies before the curve, after it or nowhere (NAN) is its edge: -1 or n. */
static int
whole(const struct curve *c, double at)
{
    return !(at > -1) ? -1 : at < c->n ? (int) at : c->n;
}

static int
index_before(const struct curve *c, double time_us)
{
    return whole(c, floor(index_of(c, time_us)));
}

static int
index_after(const struct curve *c, double time_us)
{
    return whole(c, ceil(index_of(c, time_us)));
}

static double
force_at(const struct curve *c, double time_us)
{
    double at = index_of(c, time_us);
    int i = index_before(c, time_us);
    if (i < 0 || i + 1 >= c->n)
        return NAN;
    return c->force_n[i] + (at - i) * (c->force_n[i + 1] - c->force_n[i]);
}

/* First upward passage of level_n after from_us, interpolated; NAN when none before to_us. */
static double
passage_us(const struct curve *c, double level_n, double from_us, double to_us)
{
    int first = index_before(c, from_us);
    for (int i = first < 0 ? 0 : first; i + 1 < c->n; i++) {
        double at_us = c->start_us + i * c->period_us;
        if (at_us > to_us)
            break;
        double a = c->force_n[i], b = c->force_n[i + 1];
        if (a < level_n && b >= level_n)
            return at_us + (level_n - a) / (b - a) * c->period_us;
    }
    return NAN;
}

/* Vertex of the parabola through three values around index i: offset in samples, and height. */
static void
vertex(const double *f, int i, double *offset, double *height)
{
    double a = f[i - 1], b = f[i], d = f[i + 1];
    double bend = a - 2 * b + d;
    *offset = bend < 0 ? 0.5 * (a - d) / bend : 0;
    *height = b - 0.25 * (a - d) * *offset;
}

static void
find_peak(const struct curve *c, struct loading *l, double touchdown_us, double toe_off_us)
{
    double contact_us = toe_off_us - touchdown_us;
    int first = index_after(c, touchdown_us + LOADING_ACTIVE_AFTER * contact_us);
    int last = index_before(c, toe_off_us);
    int top = -1;
    for (int i = first < 1 ? 1 : first; i <= last && i + 1 < c->n; i++)
        if (top < 0 || c->force_n[i] > c->force_n[top])
            top = i;
    if (top < 0)
        return;
    double offset, height;
    vertex(c->force_n, top, &offset, &height);
    l->peak_n = height;
    l->peak_us = c->start_us + (top + offset) * c->period_us - touchdown_us;
}

/* The highest local maximum early in the contact that the force falls back from by a real dip. */
static void
find_transient(const struct curve *c, struct loading *l, double touchdown_us, double toe_off_us)
{
    double end_us = touchdown_us + LOADING_TRANSIENT_BEFORE * (toe_off_us - touchdown_us);
    int first = index_after(c, touchdown_us);
    int last = index_before(c, touchdown_us + l->peak_us);
    double dip_n = LOADING_DIP_SHARE * l->peak_n;
    for (int i = first < 1 ? 1 : first; i < last && i + 1 < c->n; i++) {
        if (c->start_us + i * c->period_us > end_us)
            break;
        if (c->force_n[i] < c->force_n[i - 1] || c->force_n[i] <= c->force_n[i + 1])
            continue;
        double low_n = c->force_n[i];
        for (int k = i + 1; k < last && c->force_n[k] <= c->force_n[i]; k++)
            low_n = fmin(low_n, c->force_n[k]);
        if (c->force_n[i] - low_n < dip_n)
            continue;
        double offset, height;
        vertex(c->force_n, i, &offset, &height);
        l->has_transient = true;
        l->transient_n = height;
        l->transient_us = c->start_us + (i + offset) * c->period_us - touchdown_us;
        return;
    }
}

static void
find_rate(const struct curve *c, struct loading *l, double touchdown_us, double toe_off_us)
{
    double point_us = l->has_transient ? l->transient_us : LOADING_NO_PEAK_SHARE * (toe_off_us - touchdown_us);
    double point_n = l->has_transient ? l->transient_n : force_at(c, touchdown_us + point_us);
    if (!(point_n > 0))
        return;
    double from_us = touchdown_us - RISE_BEFORE_US, to_us = touchdown_us + point_us;
    double t20_us = passage_us(c, RATE_FROM * point_n, from_us, to_us);
    double t80_us = passage_us(c, RATE_TO * point_n, t20_us, to_us);
    if (!(t80_us > t20_us))
        return;
    l->rate_n_s = 0.6 * point_n / ((t80_us - t20_us) * 1e-6);
    l->rate_max_n_s = l->rate_n_s;
    int first = index_before(c, t20_us), last = index_after(c, t80_us);
    for (int i = first; i < last && i + 1 < c->n; i++) {
        double slope_n_s = (c->force_n[i + 1] - c->force_n[i]) / (c->period_us * 1e-6);
        l->rate_max_n_s = fmax(l->rate_max_n_s, slope_n_s);
    }
}

struct loading
loading_measure(const double *force_n, int n, double start_us, double period_us, double touchdown_us,
                double toe_off_us)
{
    struct loading l = { NAN, NAN, false, NAN, NAN, NAN, NAN };
    struct curve c = { force_n, n, start_us, period_us };
    find_peak(&c, &l, touchdown_us, toe_off_us);
    if (isnan(l.peak_n))
        return l;
    find_transient(&c, &l, touchdown_us, toe_off_us);
    find_rate(&c, &l, touchdown_us, toe_off_us);
    return l;
}
