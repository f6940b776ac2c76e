#include "base/units.h"
#include "sim/force_law.h"

#include <criterion/criterion.h>
#include <math.h>

/* Half sine of facts E and B: 70 kg, 2.5 BW, 250 ms. */
static const double WEIGHT_N = 70 * UNITS_GRAVITY_M_S2;

static struct force_law
half_sine(void)
{
    return (struct force_law){
        .kind = FORCE_LAW_RUN, .contact_s = 0.25, .peak_place = 0.5, .fullness = 1, .bell_n = 2.5 * WEIGHT_N
    };
}

static struct force_law
heel_landing(void)
{
    struct force_law f = { .kind = FORCE_LAW_RUN,
                           .contact_s = 0.26,
                           .peak_place = 0.47,
                           .fullness = 0.5,
                           .bell_n = 2.3 * WEIGHT_N,
                           .impact_half_s = 0.022 };
    f.impact_n = force_law_impact_n(70, 1.0, f.impact_half_s);
    return f;
}

Test(force_law, half_sine_has_the_published_loading_rate)
{
    /* facts B, exact tests: force at 13 % of the stance 0.99287 BW, 20-80 % by force 30.705 BW/s, no
     * transient. */
    struct force_law f = half_sine();
    struct force_law_features x = force_law_features(&f, 1e-6);
    cr_assert_float_eq(x.interest_n / WEIGHT_N, 0.99287, 1e-4);
    cr_assert_float_eq(x.load_rate_n_s / WEIGHT_N, 30.705, 0.05);
    cr_assert(!(x.has_transient));
    cr_assert(isnan(x.transient_n));
    cr_assert_float_eq(x.peak_n / WEIGHT_N, 2.5, 1e-9);
}

Test(force_law, threshold_shortens_the_contact_as_published)
{
    /* facts E, threshold error of the same half sine, +-0.02 ms. */
    static const double row[][2] = { { 5, 249.54 },  { 10, 249.07 }, { 20, 248.15 },
                                     { 30, 247.22 }, { 50, 245.36 }, { 100, 240.72 } };
    struct force_law f = half_sine();
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct force_law_features x = force_law_features(&f, row[i][0]);
        cr_assert_float_eq((x.up_s - x.down_s) * 1e3, row[i][1], 0.02, "threshold %g N", row[i][0]);
    }
}

Test(force_law, closed_integrals_are_the_curve_s_own)
{
    struct force_law law[] = { half_sine(),
                               heel_landing(),
                               { .kind = FORCE_LAW_WALK, .contact_s = 0.7, .bell_n = 800 },
                               { .kind = FORCE_LAW_STAND, .contact_s = 3, .ramp_s = 0.25, .bell_n = 350 } };
    for (size_t i = 0; i < sizeof law / sizeof law[0]; i++) {
        double sum = 0, moment = 0, h_s = law[i].contact_s / 200000;
        for (int k = 0; k < 200000; k++) {
            double t_s = (k + 0.5) * h_s, force_n = force_law_at(&law[i], t_s);
            sum += force_n * h_s;
            moment += force_n * t_s * h_s;
        }
        cr_assert_float_eq(force_law_impulse(&law[i]) / sum, 1, 1e-8, "law %zu", i);
        cr_assert_float_eq(force_law_first_moment(&law[i]) / moment, 1, 1e-8, "law %zu", i);
    }
}

Test(force_law, limb_that_stops_hands_over_its_momentum)
{
    /* Clark, Ryan, Weyand 2017: J1 = m1 (v / dt1 + g) 2 dt1, m1 = 0.08 m. */
    double pulse_ns = force_law_impact_n(70, 1.0, 0.022) * 0.022;
    cr_assert_float_eq(pulse_ns, 0.08 * 70 * (1.0 / 0.022 + UNITS_GRAVITY_M_S2) * 0.044, 1e-12);
}

Test(force_law, heel_landing_looks_like_a_published_one)
{
    struct force_law f = heel_landing();
    struct force_law_features x = force_law_features(&f, 20);
    cr_assert(x.has_transient);
    cr_assert(x.transient_s > 0.010 && x.transient_s < 0.030); /* facts B: 10-30 ms */
    cr_assert(x.transient_n > 1.2 * WEIGHT_N && x.transient_n < 1.9 * WEIGHT_N);
    cr_assert(x.load_rate_n_s > 45 * WEIGHT_N && x.load_rate_n_s < 110 * WEIGHT_N);
    cr_assert(x.load_rate_max_n_s > x.load_rate_n_s);
    cr_assert(x.dip_n > 0.1 * WEIGHT_N);
}

Test(force_law, transient_stands_where_the_slope_is_zero)
{
    struct force_law f = heel_landing();
    struct force_law_features x = force_law_features(&f, 20);
    double before = force_law_at(&f, x.transient_s - 2e-4), after = force_law_at(&f, x.transient_s + 2e-4);
    cr_assert(before < x.transient_n && after < x.transient_n);
    cr_assert_float_eq(before, after, 0.01 * (x.transient_n - fmin(before, after)) + 1.0);
}

Test(force_law, no_force_outside_the_contact)
{
    struct force_law f = heel_landing();
    cr_assert_eq(force_law_at(&f, 0), 0);
    cr_assert_eq(force_law_at(&f, -0.1), 0);
    cr_assert_eq(force_law_at(&f, f.contact_s), 0);
    cr_assert_float_eq(force_law_at(&f, f.contact_s - 1e-9), 0, 1e-3);
}
