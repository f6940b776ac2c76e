#include "gait/braking.h"

#include "gait/condition.h"

#include <criterion/criterion.h>
#include <math.h>

#define WEIGHT_N 700.0
#define LEG_MM   900.0

static struct trace T;
static const struct trace_zero NONE = { 0 };
static double SCRATCH[CONDITION_SCRATCH];

/* One contact of 250 ms from 0.1 s on: a half sine of 2.5 body weights over a COP that goes back evenly, from ahead_mm before
 * the centre of mass to as far behind it. */
static struct braking_curve
half_sine(double rate_hz, double com_mm, double ahead_mm)
{
    struct braking_curve c;
    trace_init(&T);
    for (int i = 0; i < 0.5 * rate_hz; i++) {
        double t_s = i / rate_hz, u = (t_s - 0.1) / 0.25;
        bool is_down = u > 0 && u < 1;
        trace_feed(&T, &(struct trace_sample){ .time_us = t_s * 1e6,
                                               .force_n = is_down ? 2.5 * WEIGHT_N * sin(3.14159265358979 * u) : 0,
                                               .cop_fwd_mm = is_down ? com_mm + ahead_mm * (1 - 2 * u) : (double) NAN });
    }
    braking_read(&T, &NONE, 100000, 350000, 1e6 / rate_hz, SCRATCH, &c);
    return c;
}

/* Computed by hand: with k = 2.5 a / h, braking is k times the integral of sin(pi u) (1 - 2u) over the first half, which is
 * 1 / pi - 2 / pi^2 = 0.11567, times 0.25 s; its top is searched below.
 * a = 200 mm, h = 1.04 x 900 = 936 mm: k = 0.53419. The low-pass takes 1 % off the top. */
Test(braking, half_sine_over_an_even_cop_brakes_as_the_integral_says)
{
    static const double rate_hz[] = { 200, 300, 1000 };
    double top = 0;
    for (double u = 0; u < 0.5; u += 1e-4)
        top = fmax(top, sin(3.14159265358979 * u) * (1 - 2 * u));
    for (int i = 0; i < 3; i++) {
        struct braking_curve c = half_sine(rate_hz[i], 1200, 200);
        struct braking b = braking_measure(&c, 1200, LEG_MM, WEIGHT_N);
        cr_assert_float_eq(b.impulse_bw_s, 0.53419 * 0.11567 * 0.25, 1e-4, "%g Hz: %.5f", rate_hz[i], b.impulse_bw_s);
        cr_assert_float_eq(b.peak_bw, 0.53419 * top, 0.004, "%g Hz: %.4f", rate_hz[i], b.peak_bw);
        cr_assert_float_eq(b.end_pct, 50 + BRAKING_LEAD_PCT, 1.01);
    }
}

/* Facts V: 1 cm of COP against the centre of mass is 0.018 BW of the peak and 1.9 mBW s of the impulse. */
Test(braking, a_foot_a_centimetre_further_ahead_brakes_as_much_more_as_published)
{
    struct braking_curve c = half_sine(300, 1200, 200);
    struct braking here = braking_measure(&c, 1200, LEG_MM, WEIGHT_N), ahead = braking_measure(&c, 1190, LEG_MM, WEIGHT_N);
    cr_assert_float_eq(ahead.impulse_bw_s - here.impulse_bw_s, 0.0019, 0.0006);
    cr_assert_float_eq(ahead.peak_bw - here.peak_bw, 0.018, 0.006);
    cr_assert(ahead.end_pct > here.end_pct);
}

Test(braking, cop_that_is_off_by_the_same_everywhere_cancels)
{
    struct braking_curve a = half_sine(300, 1200, 200), b = half_sine(300, -3000, 200);
    struct braking x = braking_measure(&a, 1200, LEG_MM, WEIGHT_N), y = braking_measure(&b, -3000, LEG_MM, WEIGHT_N);
    cr_assert_float_eq(x.impulse_bw_s, y.impulse_bw_s, 1e-6);
    cr_assert_float_eq(x.peak_bw, y.peak_bw, 1e-5);
}

Test(braking, without_leg_length_centre_or_weight_nothing_is_known)
{
    struct braking_curve c = half_sine(300, 1200, 200), none = { .contact_s = 0 };
    const struct braking b[] = { braking_measure(&c, 1200, NAN, WEIGHT_N), braking_measure(&c, NAN, LEG_MM, WEIGHT_N),
                                 braking_measure(&c, 1200, LEG_MM, NAN), braking_measure(&none, 1200, LEG_MM, WEIGHT_N) };
    for (int i = 0; i < 4; i++)
        cr_assert(isnan(b[i].impulse_bw_s) && isnan(b[i].peak_bw) && isnan(b[i].end_pct), "row %d", i);
}

Test(braking, contact_that_only_drives_has_no_end_of_braking)
{
    struct braking_curve c = half_sine(300, 1200, 200);
    struct braking b = braking_measure(&c, 1500, LEG_MM, WEIGHT_N);
    cr_assert(isnan(b.end_pct));
    cr_assert(b.impulse_bw_s < 1e-4 && b.peak_bw < 0.01);
}

Test(braking, cop_that_is_not_known_bears_no_force)
{
    struct braking_curve c;
    half_sine(300, 1200, 200);
    for (uint64_t i = 0; i < T.n_fed; i++)
        T.sample[i].cop_fwd_mm = NAN;
    braking_read(&T, &NONE, 100000, 350000, 1e6 / 300, SCRATCH, &c);
    for (int k = 0; k < BRAKING_POINTS; k++)
        cr_assert(c.force_n[k] == 0 && c.moment_n_mm[k] == 0);
}

Test(braking, contact_of_no_length_is_not_read)
{
    struct braking_curve c;
    half_sine(300, 1200, 200);
    braking_read(&T, &NONE, 350000, 350000, 1e6 / 300, SCRATCH, &c);
    cr_assert(c.contact_s == 0);
}
