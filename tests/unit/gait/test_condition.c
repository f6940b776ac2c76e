#include "gait/condition.h"

#include "aid/gait_trace.h"

#include <criterion/criterion.h>

static struct trace T;
static double SCRATCH[CONDITION_SCRATCH];

/* A fixed, even noise: a multiplicative sequence, about -1..1. */
static double
noise(int i)
{
    return (double) ((i * 7919L) % 2003) / 1001.0 - 1;
}

/* ------------------------------------------------------------------ low-pass */

/* Bump and spikes at 300 Hz: what the literals below were made from. */
static void
fill_bump(double *x, int n)
{
    for (int i = 0; i < n; i++)
        x[i] = (i >= 15 && i < 45 ? 1500 * sin(GAIT_PI * (i - 15) / 30.0) : 0) + (i * 7 % 5 == 0 ? 40 : -10);
}

/* Values from scipy: b, a = butter(2, 50/150); lfilter() over x with zi = lfilter_zi(b, a) x[0], the result
 * turned round, the same again, turned back. Every 5th of 60. */
Test(condition, lowpass_agrees_with_scipy)
{
    static const double expected[] = { 22.863294172,  5.670249136,    6.629348062,    54.259575090,
                                       756.592157900, 1304.622899273, 1505.624755618, 1304.622899848,
                                       756.592159723, 54.258824494,   6.641820342,    6.359968072 };
    double x[60];
    fill_bump(x, 60);
    condition_lowpass(x, 60, 300, 50);
    for (int i = 0; i < 12; i++)
        cr_assert_float_eq(x[5 * i], expected[i], 1e-8, "value %d: %.9f", 5 * i, x[5 * i]);
    cr_assert_float_eq(x[59], -10.230695361, 1e-8);
}

/* Amplitude of the filtered sine, from its projections over whole periods well inside. */
static double
gain_at(double hz, double rate_hz)
{
    static double x[4000];
    for (int i = 0; i < 4000; i++)
        x[i] = sin(2 * GAIT_PI * hz * i / rate_hz);
    condition_lowpass(x, 4000, rate_hz, 50);
    double s = 0, c = 0;
    int n = (int) (20 * rate_hz / 10); /* 2 s: whole periods of any multiple of 0.5 Hz */
    for (int i = 1000; i < 1000 + n; i++) {
        s += x[i] * sin(2 * GAIT_PI * hz * i / rate_hz);
        c += x[i] * cos(2 * GAIT_PI * hz * i / rate_hz);
    }
    cr_assert_float_eq(c / n, 0, 1e-6, "it lags");
    return 2 * s / n;
}

Test(condition, lowpass_has_no_lag_and_half_the_amplitude_at_its_cutoff)
{
    /* |H|^2 of a 2nd-order Butterworth by the bilinear transform: 1 / (1 + (tan(pi f/r) / tan(pi fc/r))^4).
     */
    static const double hz[] = { 5, 20, 50, 80, 120 };
    for (int i = 0; i < 5; i++) {
        double q = tan(GAIT_PI * hz[i] / 1000) / tan(GAIT_PI * 50 / 1000);
        cr_assert_float_eq(gain_at(hz[i], 1000), 1 / (1 + pow(q, 4)), 1e-6);
    }
    cr_assert_float_eq(20 * log10(gain_at(50, 1000)), -6.0206, 1e-3);
    cr_assert_float_eq(20 * log10(gain_at(50, 300)), -6.0206, 1e-3);
}

Test(condition, slow_samples_are_left_as_they_are)
{
    double x[4] = { 0, 100, -50, 3 };
    condition_lowpass(x, 4, 100, 50);
    cr_assert(x[0] == 0 && x[1] == 100 && x[2] == -50 && x[3] == 3);
    double flat[50];
    for (int i = 0; i < 50; i++)
        flat[i] = 700;
    condition_lowpass(flat, 50, 1000, 50);
    for (int i = 0; i < 50; i++)
        cr_assert_float_eq(flat[i], 700, 1e-9);
}

/* ------------------------------------------------------------------ zero from a flight */

Test(condition, zero_of_a_flight_is_not_moved_by_spikes_nor_by_its_ends)
{
    trace_init(&T);
    for (int i = 0; i < 200; i++) { /* a flight from 20 to 160 ms */
        double force_n = 12 + 3 * noise(i);
        if (i < 20 || i >= 160)
            force_n = 800;
        else if (i < 50)
            force_n += 49 * (50 - i) / 30.0; /* the last push fades */
        else if (i == 90 || i == 91 || i == 105)
            force_n = i == 105 ? -900 : 1500;
        gait_trace_put(&T, 1e3 * i, force_n);
    }
    struct condition_floor f = condition_flight_zero(&T, 20000, 160000, SCRATCH);
    cr_assert_float_eq(f.zero_n, 12, 0.5);
    cr_assert(f.spread_n > 1 && f.spread_n < 3);
    cr_assert(isnan(condition_flight_zero(&T, 20000, 26000, SCRATCH).zero_n)); /* 3 samples */
}

/* After a long absence only the last 300 ms count. */
Test(condition, zero_after_a_long_absence_is_the_newest)
{
    trace_init(&T);
    for (int i = 0; i < 5000; i++)
        gait_trace_put(&T, 1e3 * i, i < 4600 ? 0 : 40);
    cr_assert_float_eq(condition_flight_zero(&T, 0, 5e6, SCRATCH).zero_n, 40, 1e-9);
}

/* ------------------------------------------------------------------ zero where none is known */

Test(condition, floor_of_a_runner_is_found_under_an_offset)
{
    static const double offset_n[] = { -300, 0, 120, 300 };
    for (int k = 0; k < 4; k++) {
        struct gait_train g = gait_train_default();
        trace_init(&T);
        for (int i = 0; i < 2500; i++)
            gait_trace_put(&T, 1e3 * i, gait_train_n(&g, 1e-3 * i) + offset_n[k] + 10 * noise(i));
        struct condition_floor f = condition_find_floor(&T, 500000, 2.5e6, SCRATCH);
        cr_assert_float_eq(f.zero_n, offset_n[k], 8, "offset %g: %g", offset_n[k], f.zero_n);
    }
}

Test(condition, floor_of_a_walker_or_a_stander_is_refused)
{
    static const double swing[] = { 0.1, 0.3, 0.6 };
    for (int k = 0; k < 3;
         k++) { /* both feet's humps never leave the ground: a valley of 0.9 to 0.4 body weights */
        trace_init(&T);
        for (int i = 0; i < 2500; i++)
            gait_trace_put(&T, 1e3 * i,
                           700 * (1 + swing[k] * sin(2 * GAIT_PI * 2 * 1e-3 * i)) + 10 * noise(i));
        cr_assert(isnan(condition_find_floor(&T, 500000, 2.5e6, SCRATCH).zero_n));
    }
    trace_init(&T);
    for (int i = 0; i < 2500; i++)
        gait_trace_put(&T, 1e3 * i, 700 + 20 * noise(i));
    cr_assert(isnan(condition_find_floor(&T, 500000, 2.5e6, SCRATCH).zero_n));
    trace_init(&T);
    for (int i = 0; i < 2500; i++) /* nobody: nothing that comes back to a floor */
        gait_trace_put(&T, 1e3 * i, 20 * noise(i));
    cr_assert(isnan(condition_find_floor(&T, 500000, 2.5e6, SCRATCH).zero_n));
    cr_assert(isnan(condition_find_floor(&T, 500000, 520000, SCRATCH).zero_n)); /* too short to tell */
}

/* ------------------------------------------------------------------ resampling */

Test(condition, resampling_bridges_lost_samples_and_takes_the_zero_off)
{
    const struct trace_zero z = { 0, 10, 40000, 50 }; /* rises 1 N a ms */
    double value[40];
    trace_init(&T);
    for (int i = 0; i < 40; i++)
        if (i < 10 || i >= 16)
            gait_trace_put(&T, 1e3 * i, 10 + 5.0 * i);
    cr_assert_eq(condition_resample(&T, &z, 2000, 1000, value, 40), 38); /* the trace ends at 39 ms */
    for (int i = 0; i < 38; i++)
        cr_assert_float_eq(value[i], 4.0 * (i + 2), 1e-9);
    cr_assert_eq(condition_resample(&T, &z, 2250, 500, value, 40), 40); /* between the samples */
    for (int i = 0; i < 40; i++)
        cr_assert_float_eq(value[i], 4 * (2.25 + 0.5 * i), 1e-9);
}

/* A load that fades and rises again within 30 ms never shows the zero; nor does one that still falls. */
Test(condition, the_zero_is_learnt_from_long_and_flat_flights_only)
{
    static const struct {
        double flight_ms, from_n, to_n;
        bool is_known;
    } row[] = { { 30, 5, 5, false }, { 44, 5, 5, false }, { 60, 5, 5, true }, { 60, 120, 0, false }, { 200, 5, 5, true } };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        trace_init(&T);
        for (int ms = 0; ms < 300; ms++) {
            double share = (ms - 50) / row[i].flight_ms;
            gait_trace_put(&T, ms * 1e3, share < 0 || share > 1 ? 900 : row[i].from_n + share * (row[i].to_n - row[i].from_n));
        }
        struct condition_floor f = condition_flight_zero(&T, 50e3, (50 + row[i].flight_ms) * 1e3, SCRATCH);
        cr_assert_eq(!isnan(f.zero_n), row[i].is_known, "row %zu", i);
    }
}

/* ------------------------------------------------------------------ edges of the floor, computed from condition.h's words */

/* n samples a millisecond: each value so many times. */
static double
floor_of(const double (*value_times)[2], int n_values)
{
    int i = 0;
    trace_init(&T);
    for (int k = 0; k < n_values; k++)
        for (int times = 0; times < (int) value_times[k][1]; times++)
            gait_trace_put(&T, 1e3 * i++, value_times[k][0]);
    return condition_find_floor(&T, 0, 1e3 * i, SCRATCH).zero_n;
}

Test(condition, a_floor_needs_32_samples)
{
    static const double enough[][2] = { { 0, 16 }, { 1000, 16 } }, few[][2] = { { 0, 15 }, { 1000, 16 } };
    cr_expect_eq(floor_of(enough, 2), 0);
    cr_expect(isnan(floor_of(few, 2)));
}

/* 5 % of the way from 0 to 1000 N is 50 N: 49 N is the floor's own, 52 N is not. Median: of 20 zeros and 30 others. */
Test(condition, what_lies_over_a_twentieth_of_the_way_up_is_not_the_floors)
{
    static const double beyond[][2] = { { 0, 20 }, { 52, 30 }, { 1000, 50 } }, within[][2] = { { 0, 20 }, { 49, 30 }, { 1000, 50 } };
    cr_expect_eq(floor_of(beyond, 2 + 1), 0);
    cr_expect_eq(floor_of(within, 2 + 1), 49);
}

/* Half at a, half at 1000: a = 0.35 (a + 1000) / 2, so a = 175 / 0.825 = 212.1212. */
Test(condition, a_floor_of_just_over_35_percent_of_the_mean_is_none)
{
    static const double over[][2] = { { 212.122, 50 }, { 1000, 50 } }, under[][2] = { { 212.120, 50 }, { 1000, 50 } };
    cr_expect(isnan(floor_of(over, 2)));
    cr_expect_float_eq(floor_of(under, 2), 212.120, 1e-9);
}

/* Halfway between two samples lies their mean, whatever comes after. */
Test(condition, between_two_samples_only_those_two_count)
{
    const struct trace_zero z = { 0, 0, 40000, 0 };
    double value[4];
    trace_init(&T);
    for (int i = 0; i < 6; i++)
        gait_trace_put(&T, 1e3 * i, i % 2 ? 100 : 10 * i);
    cr_assert_eq(condition_resample(&T, &z, 500, 1000, value, 4), 4);
    static const double expected[] = { 50, 60, 60, 70 }; /* of 0, 100, 20, 100, 40 */
    for (int i = 0; i < 4; i++)
        cr_expect_float_eq(value[i], expected[i], 1e-9, "%d", i);
}
