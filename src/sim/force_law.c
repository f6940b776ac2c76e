#include "sim/force_law.h"

#include "base/units.h"

#include <math.h>

#define PI            3.141592653589793
#define WALK_THIRD    0.45
#define SCAN_S        1e-4 /* features are bracketed on this grid, then refined */
#define MIN_DIP_SHARE 1e-3 /* of the transient: a smaller dip is arithmetic, not a dip */

static double
bell_shape(const struct force_law *f, double u)
{
    double half = u < f->peak_place ? u / f->peak_place : (1 - u) / (1 - f->peak_place);
    double s = sin(PI / 2 * half);
    return f->fullness * s + (1 - f->fullness) * s * s;
}

static double
stand_shape(const struct force_law *f, double t_s)
{
    double edge_s = fmin(t_s, f->contact_s - t_s);
    return edge_s >= f->ramp_s ? 1 : 0.5 * (1 - cos(PI * edge_s / f->ramp_s));
}

double
force_law_at(const struct force_law *f, double t_s)
{
    if (!(t_s > 0 && t_s < f->contact_s))
        return 0;
    double u = t_s / f->contact_s;
    switch (f->kind) {
    case FORCE_LAW_WALK:
        return f->bell_n * (sin(PI * u) + WALK_THIRD * sin(3 * PI * u));
    case FORCE_LAW_STAND:
        return f->bell_n * stand_shape(f, t_s);
    case FORCE_LAW_RUN:
        break;
    }
    double force_n = f->bell_n * bell_shape(f, u);
    if (f->impact_n > 0 && t_s < 2 * f->impact_half_s)
        force_n += f->impact_n / 2 * (1 - cos(PI * t_s / f->impact_half_s));
    return force_n;
}

void
force_law_unit_bell(const struct force_law *f, double *impulse_s, double *moment_s2)
{
    double t = f->contact_s;
    if (f->kind == FORCE_LAW_WALK) {
        *impulse_s = t * 2 / PI * (1 + WALK_THIRD / 3);
        *moment_s2 = *impulse_s * t / 2;
    } else if (f->kind == FORCE_LAW_STAND) {
        *impulse_s = t - f->ramp_s;
        *moment_s2 = *impulse_s * t / 2;
    } else {
        /* Over x = 0..1 of a quarter period: integral of the shape, and of x times the shape. */
        double area = f->fullness * 2 / PI + (1 - f->fullness) / 2;
        double lever = f->fullness * 4 / (PI * PI) + (1 - f->fullness) * (0.25 + 1 / (PI * PI));
        double rise_s = f->peak_place * t, fall_s = t - rise_s;
        *impulse_s = t * area;
        *moment_s2 = rise_s * rise_s * lever + t * fall_s * area - fall_s * fall_s * lever;
    }
}

double
force_law_impulse(const struct force_law *f)
{
    double impulse_s, moment_s2;
    force_law_unit_bell(f, &impulse_s, &moment_s2);
    return f->bell_n * impulse_s + f->impact_n * f->impact_half_s;
}

double
force_law_first_moment(const struct force_law *f)
{
    double impulse_s, moment_s2;
    force_law_unit_bell(f, &impulse_s, &moment_s2);
    return f->bell_n * moment_s2 + f->impact_n * f->impact_half_s * f->impact_half_s;
}

double
force_law_impact_n(double mass_kg, double limb_speed_m_s, double half_s)
{
    double impulse =
        FORCE_LAW_LIMB_SHARE * mass_kg * (limb_speed_m_s / half_s + UNITS_GRAVITY_M_S2) * 2 * half_s;
    return impulse / half_s;
}

/* Where the curve passes level_n between two times of which one is below and one at or above it. */
static double
crossing(const struct force_law *f, double level_n, double below_s, double above_s)
{
    for (int i = 0; i < 60; i++) {
        double middle_s = (below_s + above_s) / 2;
        if (force_law_at(f, middle_s) < level_n)
            below_s = middle_s;
        else
            above_s = middle_s;
    }
    return (below_s + above_s) / 2;
}

/* First time from from_s on at which the curve reaches level_n; NAN when it never does. */
static double
first_reach(const struct force_law *f, double level_n, double from_s)
{
    for (double t = from_s; t < f->contact_s; t += SCAN_S)
        if (force_law_at(f, t + SCAN_S) >= level_n)
            return crossing(f, level_n, t, t + SCAN_S);
    return NAN;
}

static double
last_fall(const struct force_law *f, double level_n)
{
    for (double t = f->contact_s; t > 0; t -= SCAN_S)
        if (force_law_at(f, t - SCAN_S) >= level_n)
            return crossing(f, level_n, t, t - SCAN_S);
    return NAN;
}

/* Refines a local maximum that lies within one grid step of t_s, by thirds. */
static double
summit(const struct force_law *f, double t_s)
{
    double low = t_s - SCAN_S, high = t_s + SCAN_S;
    for (int i = 0; i < 60; i++) {
        double a = low + (high - low) / 3, b = high - (high - low) / 3;
        if (force_law_at(f, a) < force_law_at(f, b))
            low = a;
        else
            high = b;
    }
    return (low + high) / 2;
}

static void
find_peaks(const struct force_law *f, struct force_law_features *out)
{
    /* The active peak is looked for behind the impact pulse, so that a hard landing is not taken for it. */
    double start_s = f->kind == FORCE_LAW_RUN ? fmin(2 * f->impact_half_s, 0.4 * f->contact_s) : 0;
    double best_n = -1, best_s = 0;
    for (double t = start_s; t < f->contact_s; t += SCAN_S)
        if (force_law_at(f, t) > best_n)
            best_n = force_law_at(f, t), best_s = t;
    out->peak_s = summit(f, best_s);
    out->peak_n = force_law_at(f, out->peak_s);
    out->has_transient = false;
    out->transient_n = out->transient_s = NAN;
    out->dip_n = 0;
    if (f->kind != FORCE_LAW_RUN)
        return;
    for (double t = SCAN_S; t < out->peak_s - SCAN_S; t += SCAN_S) {
        double here_n = force_law_at(f, t);
        if (here_n < force_law_at(f, t - SCAN_S) || here_n <= force_law_at(f, t + SCAN_S))
            continue;
        double top_s = summit(f, t), top_n = force_law_at(f, top_s), lowest_n = top_n;
        for (double s = top_s; s < out->peak_s; s += SCAN_S)
            lowest_n = fmin(lowest_n, force_law_at(f, s));
        if (top_n - lowest_n < MIN_DIP_SHARE * top_n)
            return;
        out->has_transient = true;
        out->transient_n = top_n;
        out->transient_s = top_s;
        out->dip_n = top_n - lowest_n;
        return;
    }
}

struct force_law_features
force_law_features(const struct force_law *f, double threshold_n)
{
    struct force_law_features out;
    out.down_s = first_reach(f, threshold_n, 0);
    out.up_s = last_fall(f, threshold_n);
    find_peaks(f, &out);
    out.interest_s = out.has_transient ? out.transient_s : out.down_s + 0.13 * (out.up_s - out.down_s);
    out.interest_n = force_law_at(f, out.interest_s);
    out.load_rate_n_s = out.load_rate_max_n_s = NAN;
    if (!(out.interest_n > threshold_n))
        return out;
    double from_s = first_reach(f, 0.2 * out.interest_n, 0);
    double to_s = first_reach(f, 0.8 * out.interest_n, from_s);
    out.load_rate_n_s = 0.6 * out.interest_n / (to_s - from_s);
    out.load_rate_max_n_s = 0;
    double step_s = (to_s - from_s) / 256;
    for (int i = 0; i < 256; i++) {
        double a_s = from_s + i * step_s;
        double slope = (force_law_at(f, a_s + step_s) - force_law_at(f, a_s)) / step_s;
        out.load_rate_max_n_s = fmax(out.load_rate_max_n_s, slope);
    }
    return out;
}
