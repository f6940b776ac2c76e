#include "gait/mass_centre.h"

#include "aid/gait_trace.h"

#include <criterion/criterion.h>

static struct trace T;
static const struct trace_zero NONE = { 0 };

/* The vertical travel of the second contact of a train, over the stride that ends with its flight. */
static struct mass_centre_vertical
second_contact(const struct gait_train *g, const struct trace_zero *z, double rate_hz)
{
    double step_us = gait_train_step_s(g) * 1e6, down_us = g->first_s * 1e6 + step_us;
    trace_init(&T);
    gait_train_feed(&T, g, rate_hz, 0, 2);
    return mass_centre_vertical(&T, z, down_us - step_us, down_us + step_us, down_us,
                                down_us + g->contact_s * 1e6);
}

/* Facts G: lowest -0.063877 m, at half the contact. Samples fall on the touchdowns at 100, 200 and 1000 Hz.
 */
Test(mass_centre, half_sine_drops_by_what_the_formula_says)
{
    struct gait_train g = gait_train_default();
    struct mass_centre_vertical v = second_contact(&g, &NONE, 1000);
    cr_assert_float_eq(v.drop_mm, 63.877, 0.005);
    cr_assert_float_eq(v.low_us, 125000, 100);
}

/* Facts G: trapezoid rule at a known weight: 0.35 % at 100 Hz, 0.03 % at 200 Hz. Here the weight is the
 * stride's own mean, by the same rule: its error comes on top (0.15 % of the force at 100 Hz). */
Test(mass_centre, trapezoid_error_is_small_at_every_rate)
{
    static const double rate_hz[] = { 100, 200, 1000 }, share[] = { 0.006, 0.0014, 0.0001 };
    struct gait_train g = gait_train_default();
    for (int i = 0; i < 3; i++)
        cr_assert_float_eq(second_contact(&g, &NONE, rate_hz[i]).drop_mm / 63.877, 1, share[i],
                           "%g Hz: %.3f mm", rate_hz[i], second_contact(&g, &NONE, rate_hz[i]).drop_mm);
}

Test(mass_centre, time_of_the_lowest_point_is_finer_than_a_sample)
{
    struct gait_train g = gait_train_default();
    g.first_s = 0.1137; /* no sample on the touchdown */
    cr_assert_float_eq(second_contact(&g, &NONE, 100).low_us, 125000, 1000);
    cr_assert_float_eq(second_contact(&g, &NONE, 300).low_us, 125000, 300);
}

Test(mass_centre, gain_error_cancels)
{
    struct gait_train g = gait_train_default();
    double true_mm = second_contact(&g, &NONE, 1000).drop_mm;
    static const double gain[] = { 0.002, 0.8, 1.3, 50 };
    for (int i = 0; i < 4; i++) {
        struct gait_train wrong = g;
        wrong.peak_n *= gain[i];
        cr_assert_float_eq(second_contact(&wrong, &NONE, 1000).drop_mm, true_mm, 1e-6);
    }
}

Test(mass_centre, drifting_zero_is_taken_off)
{
    struct gait_train g = gait_train_default();
    double true_mm = second_contact(&g, &NONE, 1000).drop_mm;
    g.zero_n = 150;
    g.drift_n_s = 100;
    const struct trace_zero z = { 0, 150, 2e6, 350 };
    cr_assert_float_eq(second_contact(&g, &z, 1000).drop_mm, true_mm, 1e-6);
    cr_assert(fabs(second_contact(&g, &NONE, 1000).drop_mm - true_mm) > 3);
}

Test(mass_centre, stride_that_the_trace_does_not_cover_is_not_known)
{
    trace_init(&T);
    struct gait_train g = gait_train_default();
    gait_train_feed(&T, &g, 1000, 0.2, 0.8);
    struct mass_centre_vertical v = mass_centre_vertical(&T, &NONE, 110000, 830000, 470000, 720000);
    cr_assert(isnan(v.drop_mm) && isnan(v.low_us));
    trace_init(&T); /* no load at all */
    for (int i = 0; i < 1000; i++)
        gait_trace_put(&T, 1e3 * i, 0);
    cr_assert(isnan(mass_centre_vertical(&T, &NONE, 100000, 800000, 400000, 600000).drop_mm));
}

/* ------------------------------------------------------------------ sums */

/* Mean force over whole steps is the weight: m g to 0.1 % at 1000 Hz (facts G allow 2 %). */
Test(mass_centre, momentum_balances_over_whole_strides)
{
    struct gait_train g = gait_train_default();
    trace_init(&T);
    gait_train_feed(&T, &g, 1000, 0, 4);
    struct mass_centre_sum all = { 0 };
    for (int i = 0; i < 6; i++) {
        double from_us = (g.first_s + i * 0.36) * 1e6;
        struct mass_centre_sum s = mass_centre_sum(&T, &NONE, from_us, from_us + 360000);
        cr_assert_float_eq(s.duration_s, 0.36, 1e-12);
        cr_assert_float_eq(s.impulse_n_s, 70 * 9.81 * 0.36, 0.05);
        mass_centre_add(&all, &s);
    }
    cr_assert_float_eq(all.duration_s, 6 * 0.36, 1e-12);
    cr_assert_float_eq(mass_centre_weight_n(&all), 70 * 9.81, 0.1);
    const struct mass_centre_sum nothing = { 0 };
    cr_assert(isnan(mass_centre_weight_n(&nothing)));
    cr_assert(isnan(mass_centre_fwd_mm(&nothing)));
}

/* A half sine is symmetric, so the force-weighted COP is where it is at half the contact. */
Test(mass_centre, place_is_the_force_weighted_centre_of_pressure)
{
    struct gait_train g = gait_train_default();
    g.cop_fwd_mm = 320;
    g.belt_m_s = 2.4;
    static const double rate_hz[] = { 200, 500, 1000 };
    for (int i = 0; i < 3; i++) {
        trace_init(&T);
        gait_train_feed(&T, &g, rate_hz[i], 0, 3);
        struct mass_centre_sum s = mass_centre_sum(&T, &NONE, 110000, 110000 + 720000);
        cr_assert_float_eq(mass_centre_fwd_mm(&s), 320 - 2400 * 0.125, 0.5);
    }
}

/* Two loads by hand: 100 N at 10 mm for 3 samples, 300 N at 50 mm for 1 sample. */
Test(mass_centre, loads_weigh_by_force_and_time)
{
    trace_init(&T);
    static const double force_n[] = { 0, 100, 100, 100, 300, 0 }, cop_mm[] = { NAN, 10, 10, 10, 50, NAN };
    for (int i = 0; i < 6; i++) {
        struct trace_sample s = { .time_us = 1e4 * i, .force_n = force_n[i], .cop_fwd_mm = cop_mm[i] };
        trace_feed(&T, &s);
    }
    struct mass_centre_sum s = mass_centre_sum(&T, &NONE, 0, 50000);
    cr_assert_float_eq(s.impulse_n_s, 6.0, 1e-9);
    cr_assert_float_eq(mass_centre_fwd_mm(&s), (300 * 10 + 300 * 50) / 600.0, 1e-9);
}

Test(mass_centre, place_is_withheld_when_the_centre_of_pressure_is_missing_for_over_5_percent)
{
    struct gait_train g = gait_train_default();
    g.cop_fwd_mm = 320;
    for (int missing_ms = 5; missing_ms <= 40; missing_ms += 35) {
        trace_init(&T);
        gait_train_feed(&T, &g, 1000, 0, 1);
        for (int i = 0; i < missing_ms; i++)
            T.sample[235 + i].cop_fwd_mm = NAN;
        struct mass_centre_sum s = mass_centre_sum(&T, &NONE, 110000, 470000);
        cr_assert_eq(isnan(mass_centre_fwd_mm(&s)), missing_ms > 20);
    }
}
