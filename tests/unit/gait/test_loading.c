#include "gait/loading.h"

#include <criterion/criterion.h>
#include <math.h>

#define PI    3.14159265358979323846
#define MAX_N 4000

static double CURVE[MAX_N];

/* Straight lines between corners (ms, N), from 20 ms before the contact to 20 ms after; touchdown at 0. */
static struct loading
measure_lines(const double (*corner)[2], int n_corners, double rate_hz)
{
    double contact_ms = corner[n_corners - 1][0];
    int n = (int) ((contact_ms + 40) * 1e-3 * rate_hz) + 1;
    for (int i = 0; i < n; i++) {
        double ms = i / rate_hz * 1e3 - 20;
        CURVE[i] = 0;
        for (int k = 0; k + 1 < n_corners; k++)
            if (ms >= corner[k][0] && ms < corner[k + 1][0])
                CURVE[i] = corner[k][1] + (ms - corner[k][0]) / (corner[k + 1][0] - corner[k][0]) *
                                              (corner[k + 1][1] - corner[k][1]);
    }
    return loading_measure(CURVE, n, -20000, 1e6 / rate_hz, 0, contact_ms * 1e3);
}

static struct loading
measure_half_sine(double peak_n, double contact_ms, double rate_hz)
{
    int n = (int) ((contact_ms + 40) * 1e-3 * rate_hz) + 1;
    for (int i = 0; i < n; i++) {
        double ms = i / rate_hz * 1e3 - 20;
        CURVE[i] = ms > 0 && ms < contact_ms ? peak_n * sin(PI * ms / contact_ms) : 0;
    }
    return loading_measure(CURVE, n, -20000, 1e6 / rate_hz, 0, contact_ms * 1e3);
}

/* Facts B: ramp to 1.6 BW in 25 ms, a dip, then the active peak. */
Test(loading, ramp_with_a_dip_rises_at_64_body_weights_a_second)
{
    static const double corner[][2] = { { 0, 0 }, { 25, 1.6 }, { 40, 1.2 }, { 110, 2.4 }, { 250, 0 } };
    static const double rate_hz[] = { 1000, 2000 };
    for (int i = 0; i < 2; i++) {
        struct loading l = measure_lines(corner, 5, rate_hz[i]);
        cr_assert(l.has_transient);
        cr_assert_float_eq(l.rate_n_s, 64.0, 0.1);
        cr_assert_float_eq(l.rate_max_n_s, 64.0, 0.1);
        cr_assert_float_eq(l.transient_us, 25000, 1000);
        cr_assert_float_eq(l.transient_n, 1.6, 0.03);
        cr_assert_float_eq(l.peak_us, 110000, 1000);
        cr_assert_float_eq(l.peak_n, 2.4, 0.02);
    }
}

/* Facts B: Fmax 2.5 BW, 250 ms. */
Test(loading, half_sine_without_a_transient_is_read_at_13_percent)
{
    struct loading l = measure_half_sine(2.5, 250, 1000);
    cr_assert(!l.has_transient);
    cr_assert(isnan(l.transient_n) && isnan(l.transient_us)); /* none, not 0 */
    cr_assert_float_eq(l.rate_n_s, 30.705, 0.05);
    cr_assert_float_eq(l.rate_max_n_s, 31.416, 0.314); /* the analytic steepest slope, 1 % at 1 kHz */
    cr_assert_float_eq(l.peak_n, 2.5, 1e-4);
    cr_assert_float_eq(l.peak_us, 125000, 20);
    /* 0.99287 BW at 13 % of the contact: from the rate's window, 6.327 to 25.729 ms. */
    cr_assert_float_eq(l.rate_n_s * (25.729 - 6.327) * 1e-3 / 0.6, 0.99287, 1e-3);
}

Test(loading, scales_with_the_force_and_with_time)
{
    struct loading a = measure_half_sine(2.5, 250, 1000), b = measure_half_sine(2.5 * 700, 250, 1000);
    cr_assert_float_eq(b.rate_n_s, 700 * a.rate_n_s, 1e-6);
    cr_assert_float_eq(b.peak_n, 700 * a.peak_n, 1e-9);
    struct loading c = measure_half_sine(2.5, 500, 500);
    cr_assert_float_eq(c.rate_n_s, a.rate_n_s / 2, 1e-6);
}

/* facts B again, at the rates that sensors have: the corner at touchdown costs what it must. */
Test(loading, half_sine_is_read_alike_at_lower_rates)
{
    static const double rate_hz[] = { 250, 300, 500 }, tolerance[] = { 0.4, 0.3, 0.15 };
    for (int i = 0; i < 3; i++)
        cr_assert_float_eq(measure_half_sine(2.5, 250, rate_hz[i]).rate_n_s, 30.705, tolerance[i]);
}

Test(loading, shoulder_without_a_dip_is_no_transient)
{
    static const double flat[][2] = { { 0, 0 }, { 25, 1.6 }, { 45, 1.6 }, { 110, 2.4 }, { 250, 0 } };
    static const double shallow[][2] = { { 0, 0 }, { 25, 1.6 }, { 40, 1.57 }, { 110, 2.4 }, { 250, 0 } };
    static const double real[][2] = { { 0, 0 }, { 25, 1.6 }, { 40, 1.54 }, { 110, 2.4 }, { 250, 0 } };
    cr_assert(!measure_lines(flat, 5, 1000).has_transient);
    cr_assert(!measure_lines(shallow, 5, 1000).has_transient); /* 0.03 < 2 % of 2.4 */
    cr_assert(measure_lines(real, 5, 1000).has_transient);     /* 0.06 */
}

/* Filter ripple on the way up is passed over for the real peak behind it. */
Test(loading, ripple_before_the_transient_is_passed_over)
{
    static const double corner[][2] = { { 0, 0 },    { 10, 0.7 },  { 12, 0.68 }, { 30, 1.7 },
                                        { 45, 1.3 }, { 110, 2.4 }, { 250, 0 } };
    struct loading l = measure_lines(corner, 7, 1000);
    cr_assert(l.has_transient);
    cr_assert_float_eq(l.transient_us, 30000, 1000);
}

/* Downhill: the first peak may be the higher one; the active peak stays the later one. */
Test(loading, transient_higher_than_the_active_peak_stays_a_transient)
{
    static const double corner[][2] = { { 0, 0 }, { 20, 2.8 }, { 45, 1.5 }, { 110, 2.2 }, { 250, 0 } };
    struct loading l = measure_lines(corner, 5, 1000);
    cr_assert(l.has_transient);
    cr_assert_float_eq(l.transient_us, 20000, 1000);
    cr_assert_float_eq(l.transient_n, 2.8, 0.1);
    cr_assert_float_eq(l.peak_us, 110000, 1000);
    cr_assert_float_eq(l.peak_n, 2.2, 0.02);
    cr_assert_float_eq(l.rate_n_s, 140, 0.3);
}

Test(loading, late_maximum_is_no_transient)
{
    static const double corner[][2] = { { 0, 0 }, { 95, 2.0 }, { 120, 1.6 }, { 160, 2.3 }, { 250, 0 } };
    cr_assert(!measure_lines(corner, 5, 1000).has_transient); /* 95 of 250 ms: past 35 % */
}

Test(loading, steepest_slope_is_found_inside_the_window)
{
    static const double corner[][2] = { { 0, 0 },    { 10, 0.4 },  { 14, 0.8 }, { 25, 1.6 },
                                        { 40, 1.2 }, { 110, 2.4 }, { 250, 0 } };
    struct loading l = measure_lines(corner, 7, 1000);
    cr_assert_float_eq(l.rate_max_n_s, 100, 0.5);
    cr_assert(l.rate_n_s < l.rate_max_n_s);
}

Test(loading, nothing_to_read_is_not_known)
{
    double none[8] = { 0 };
    struct loading l = loading_measure(none, 8, 0, 1000, 1000, 1500);
    cr_assert(isnan(l.rate_n_s) && isnan(l.rate_max_n_s));
    cr_assert(!l.has_transient);
    l = loading_measure(none, 2, 0, 1000, 0, 250000);
    cr_assert(isnan(l.peak_n) && isnan(l.rate_n_s));
}

/* What garbage in a file can make of a contact: never a conversion of a number that no int holds. */
Test(loading, edges_that_lie_nowhere_give_no_figure_and_touch_nothing)
{
    static const double nowhere[] = { NAN, INFINITY, -INFINITY, 1e300, -1e300 };
    double force_n[64];
    for (int i = 0; i < 64; i++)
        force_n[i] = i < 32 ? 50.0 * i : 50.0 * (64 - i);
    for (size_t i = 0; i < sizeof nowhere / sizeof *nowhere; i++)
        for (size_t k = 0; k < sizeof nowhere / sizeof *nowhere; k++) {
            const struct loading l = loading_measure(force_n, 64, 0, 1000, nowhere[i], nowhere[k]);
            cr_expect(isnan(l.rate_n_s) && !l.has_transient, "%g %g", nowhere[i], nowhere[k]);
        }
}
