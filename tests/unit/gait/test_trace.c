#include "aid/gait_trace.h"

#include <criterion/criterion.h>

static struct trace T;
static const struct trace_zero NONE = { 0 };

Test(trace, index_stays_valid_while_the_ring_turns)
{
    trace_init(&T);
    cr_assert_eq(trace_oldest(&T), 0);
    cr_assert(!trace_has(&T, 0));
    for (uint64_t i = 0; i < TRACE_CAP + 10; i++) {
        struct trace_sample s = { .time_us = 1000.0 * (double) i, .force_n = (double) i };
        cr_assert_eq(trace_feed(&T, &s), i);
    }
    cr_assert_eq(trace_oldest(&T), 10);
    cr_assert(!trace_has(&T, 9));
    cr_assert(trace_has(&T, 10) && trace_has(&T, TRACE_CAP + 9));
    cr_assert(!trace_has(&T, TRACE_CAP + 10));
    for (uint64_t i = 10; i < TRACE_CAP + 10; i += 997)
        cr_assert_float_eq(trace_at(&T, i)->force_n, (double) i, 0);
}

Test(trace, find_gives_the_first_sample_not_before)
{
    trace_init(&T);
    cr_assert_eq(trace_find(&T, 0), 0); /* empty: n_fed */
    for (int i = 0; i < 100; i++)
        gait_trace_put(&T, 1000.0 * i, 0);
    cr_assert_eq(trace_find(&T, -5), 0);
    cr_assert_eq(trace_find(&T, 5000), 5);
    cr_assert_eq(trace_find(&T, 5000.1), 6);
    cr_assert_eq(trace_find(&T, 99000), 99);
    cr_assert_eq(trace_find(&T, 99001), 100);
}

Test(trace, zero_is_a_line_between_its_ends_and_constant_outside)
{
    const struct trace_zero z = { 1000, 10, 3000, 30 };
    cr_assert_float_eq(trace_zero_at(&z, 0), 10, 0);
    cr_assert_float_eq(trace_zero_at(&z, 2000), 20, 1e-12);
    cr_assert_float_eq(trace_zero_at(&z, 2500), 25, 1e-12);
    cr_assert_float_eq(trace_zero_at(&z, 9000), 30, 0);
    const struct trace_zero flat = { .zero0_n = 7 };
    cr_assert_float_eq(trace_zero_at(&flat, 1e9), 7, 0);
}

Test(trace, force_between_samples_lies_on_their_line)
{
    const struct trace_zero z = { .zero0_n = 5 };
    trace_init(&T);
    gait_trace_put(&T, 1000, 100);
    gait_trace_put(&T, 3000, 200); /* one is missing */
    cr_assert_float_eq(trace_force_at(&T, &z, 1000), 95, 1e-12);
    cr_assert_float_eq(trace_force_at(&T, &z, 1500), 120, 1e-12);
    cr_assert_float_eq(trace_force_at(&T, &z, 3000), 195, 1e-12);
    cr_assert(isnan(trace_force_at(&T, &z, 999)));
    cr_assert(isnan(trace_force_at(&T, &z, 3001)));
}

/* Straight lines: the trapezoid rule is exact, whatever the ends and the spacing. */
Test(trace, impulse_of_a_ramp_is_exact)
{
    static const double at_ms[] = { 0, 3, 4, 10, 11, 17, 20 };
    trace_init(&T);
    for (int i = 0; i < 7; i++)
        gait_trace_put(&T, at_ms[i] * 1e3, 100 + 20 * at_ms[i]);
    static const double span_ms[][2] = { { 0, 20 }, { 0.5, 19.5 }, { 4, 10 }, { 5, 6 }, { 12, 12 } };
    for (int i = 0; i < 5; i++) {
        double a = span_ms[i][0], b = span_ms[i][1];
        double expected_n_s = (100 * (b - a) + 10 * (b * b - a * a)) * 1e-3;
        cr_assert_float_eq(trace_impulse_n_s(&T, &NONE, a * 1e3, b * 1e3), expected_n_s, 1e-12);
    }
    const struct trace_zero z = { 0, 100, 20000, 500 }; /* the ramp itself */
    cr_assert_float_eq(trace_impulse_n_s(&T, &z, 500, 19500), 0, 1e-12);
    cr_assert(isnan(trace_impulse_n_s(&T, &NONE, -1, 10000)));
    cr_assert(isnan(trace_impulse_n_s(&T, &NONE, 0, 20001)));
}

Test(trace, impulse_of_a_half_sine_step_is_weight_times_time)
{
    struct gait_train g = gait_train_default();
    trace_init(&T);
    gait_train_feed(&T, &g, 1000, 0, 2);
    double from_us = g.first_s * 1e6, step_us = gait_train_step_s(&g) * 1e6;
    cr_assert_float_eq(trace_impulse_n_s(&T, &NONE, from_us, from_us + step_us), 70 * 9.81 * 0.36, 0.01);
    cr_assert_float_eq(trace_impulse_n_s(&T, &NONE, from_us + 333, from_us + 333 + 2 * step_us),
                       2 * 70 * 9.81 * 0.36, 0.02);
}
