#include "gait/braking.h"

#include "gait/condition.h"

#include <math.h>

/* Room for the filter on both sides of the contact: two periods of its 50 Hz. */
#define MARGIN_US 40000.0
/* Below this the COP is noise (as in mass_centre.c). */
#define COP_MIN_N 20.0

/* Force, or force x COP, of a sample. */
static double
load_of(const struct trace_sample *s, const struct trace_zero *z, bool is_moment)
{
    double force_n = s->force_n - trace_zero_at(z, s->time_us);
    if (force_n < COP_MIN_N || isnan(s->cop_fwd_mm))
        return 0;
    return is_moment ? force_n * s->cop_fwd_mm : force_n;
}

/* n values from start_us on, linear between samples; 0 where there are none. */
static void
resample(const struct trace *t, const struct trace_zero *z, bool is_moment, double start_us, double period_us,
         double *value, int n)
{
    uint64_t i = trace_find(t, start_us);
    for (int k = 0; k < n; k++) {
        double at_us = start_us + k * period_us;
        while (i < t->n_fed && trace_at(t, i)->time_us < at_us)
            i++;
        value[k] = 0;
        if (i == 0 || i >= t->n_fed || !trace_has(t, i - 1))
            continue;
        const struct trace_sample *a = trace_at(t, i - 1), *b = trace_at(t, i);
        double share = (at_us - a->time_us) / (b->time_us - a->time_us);
        value[k] = (1 - share) * load_of(a, z, is_moment) + share * load_of(b, z, is_moment);
    }
}

void
braking_read(const struct trace *t, const struct trace_zero *z, double touchdown_us, double toe_off_us,
             double period_us, double *scratch, struct braking_curve *out)
{
    double start_us = touchdown_us - MARGIN_US, contact_us = toe_off_us - touchdown_us;
    int n = (int) ((contact_us + 2 * MARGIN_US) / period_us) + 1;
    out->contact_s = 0;
    if (!(contact_us > 0) || n < 2)
        return;
    if (n > CONDITION_SCRATCH) { /* faster than anything we know of: thin it out */
        period_us *= (double) n / CONDITION_SCRATCH;
        n = CONDITION_SCRATCH;
    }
    for (int is_moment = 0; is_moment < 2; is_moment++) {
        double *curve = is_moment ? out->moment_n_mm : out->force_n;
        resample(t, z, is_moment, start_us, period_us, scratch, n);
        condition_lowpass(scratch, n, 1e6 / period_us, CONDITION_CUTOFF_HZ);
        for (int k = 0; k < BRAKING_POINTS; k++) {
            double at = (MARGIN_US + (k + 0.5) / BRAKING_POINTS * contact_us) / period_us;
            int i = (int) at < n - 1 ? (int) at : n - 2;
            curve[k] = scratch[i] + (at - i) * (scratch[i + 1] - scratch[i]);
        }
    }
    out->contact_s = contact_us * 1e-6;
}

struct braking
braking_measure(const struct braking_curve *c, double com_fwd_mm, double leg_length_mm, double weight_n)
{
    double height_mm = BRAKING_HEIGHT_SHARE * leg_length_mm;
    struct braking b = { NAN, NAN, NAN };
    double part_s = c->contact_s / BRAKING_POINTS, sum = 0, lowest = 0, impulse = 0, peak = 0;
    int end = 0;
    if (!(c->contact_s > 0) || isnan(com_fwd_mm) || !(height_mm > 0) || !(weight_n > 0))
        return b;
    for (int k = 0; k < BRAKING_POINTS; k++) {
        double forward_bw = -(c->moment_n_mm[k] - com_fwd_mm * c->force_n[k]) / (height_mm * weight_n);
        impulse -= fmin(forward_bw, 0) * part_s;
        peak = fmax(peak, -forward_bw);
        sum += forward_bw;
        if (sum < lowest) {
            lowest = sum;
            end = k + 1;
        }
    }
    b.impulse_bw_s = impulse;
    b.peak_bw = peak;
    if (end > 0 && end < BRAKING_POINTS) /* else it never turned */
        b.end_pct = 100.0 * end / BRAKING_POINTS + BRAKING_LEAD_PCT;
    return b;
}
