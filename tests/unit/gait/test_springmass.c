#include "gait/springmass.h"

#include <criterion/criterion.h>
#include <math.h>

#define PI     3.14159265358979323846
#define G_M_S2 9.81

struct row {
    double mass_kg, leg_m, speed_m_s, tc_s, tf_s;        /* in */
    double peak_n, peak_bw, drop_m, kvert_n_m, kleg_n_m; /* out */
};

/* Facts F, worked examples, g = 9.81; tolerance 0.01 % or the last digit. */
static const struct row ROWS[] = {
    { 70, 0.90, 3.33, 0.250, 0.110, 1553.28, 2.26195, 0.063877, 24316.61, 9361.62 },
    { 76, 0.9434, 3.33, 0.260, 0.100, 1621.55, 2.17495, 0.063244, 25639.62, 9627.41 },
    { 60, 0.85, 2.78, 0.280, 0.090, 1221.75, 2.07570, 0.065614, 18620.41, 7638.21 },
    { 80, 0.95, 5.00, 0.200, 0.140, 2095.69, 2.67035, 0.057119, 36689.91, 10512.93 },
    { 68, 0.92, 4.44, 0.220, 0.130, 1667.03, 2.49899, 0.060870, 27386.54, 8284.89 },
    { 70, 0.90, 3.33, 0.300, 0, 1078.67, PI / 2, 0.030155, 35770.24, 5943.39 },
};
#define N_ROWS (int) (sizeof ROWS / sizeof ROWS[0])

Test(springmass, worked_examples_come_out)
{
    for (int i = 0; i < N_ROWS; i++) {
        const struct row *r = &ROWS[i];
        double peak_n = springmass_peak_bw(r->tc_s, r->tf_s) * r->mass_kg * G_M_S2;
        double drop_mm = springmass_drop_mm(r->tc_s, r->tf_s);
        cr_assert_float_eq(peak_n, r->peak_n, 0.006, "row %d: %g", i, peak_n);
        cr_assert_float_eq(springmass_peak_bw(r->tc_s, r->tf_s), r->peak_bw, 6e-6, "row %d", i);
        cr_assert_float_eq(drop_mm, 1e3 * r->drop_m, 6e-4, "row %d: %g", i, drop_mm);
        cr_assert_float_eq(springmass_vertical_kn_m(peak_n, drop_mm) * 1e3, r->kvert_n_m,
                           1e-4 * r->kvert_n_m);
        cr_assert_float_eq(springmass_leg_kn_m(peak_n, drop_mm, 1e3 * r->leg_m, r->speed_m_s, r->tc_s) * 1e3,
                           r->kleg_n_m, 1e-4 * r->kleg_n_m, "row %d", i);
    }
}

/* Algebra of facts F. */
Test(springmass, derived_identities_hold)
{
    for (int i = 0; i < N_ROWS; i++) {
        double tc = ROWS[i].tc_s, tf = ROWS[i].tf_s, m = ROWS[i].mass_kg;
        double peak_bw = springmass_peak_bw(tc, tf), drop_mm = springmass_drop_mm(tc, tf);
        double duty = tc / (2 * (tc + tf));
        cr_assert_float_eq(peak_bw, PI / (4 * duty), 1e-12);
        cr_assert_float_eq(drop_mm, 1e3 * G_M_S2 * tc * tc * ((tc + tf) / (2 * PI * tc) - 0.125), 1e-9);
        double kvert = m * (PI / tc) * (PI / tc) / (1 - PI / 4 * tc / (tc + tf));
        cr_assert_float_eq(springmass_vertical_kn_m(peak_bw * m * G_M_S2, drop_mm) * 1e3, kvert,
                           1e-6 * kvert);
    }
}

/* Facts F: contact 10 % shorter, flight kept: kvert +18.78 %, kleg +24.97 %; step time kept: +10.23, +26.22
 * %. */
Test(springmass, shorter_contact_stiffens_as_published)
{
    static const double tf_s[] = { 0.110, 0.135 }, kvert_up[] = { 0.1878, 0.1023 },
                        kleg_up[] = { 0.2497, 0.2622 };
    const struct row *r = &ROWS[0];
    for (int i = 0; i < 2; i++) {
        double peak_n = springmass_peak_bw(0.225, tf_s[i]) * r->mass_kg * G_M_S2;
        double drop_mm = springmass_drop_mm(0.225, tf_s[i]);
        cr_assert_float_eq(springmass_vertical_kn_m(peak_n, drop_mm) * 1e3 / r->kvert_n_m, 1 + kvert_up[i],
                           1e-4);
        cr_assert_float_eq(springmass_leg_kn_m(peak_n, drop_mm, 900, 3.33, 0.225) * 1e3 / r->kleg_n_m,
                           1 + kleg_up[i], 1e-4);
    }
}

/* Facts E's published group means of contact and flight, put through facts F's formulas. */
Test(springmass, group_means_come_out)
{
    static const double tc_s[] = { 0.276, 0.284, 0.271, 0.282 }, tf_s[] = { 0.080, 0.083, 0.112, 0.104 };
    static const double peak_bw[] = { 2.026, 2.030, 2.220, 2.150 }, drop_mm[] = { 60.0, 63.8, 72.0, 72.4 };
    static const double kvert_per_kg[] = { 331.3, 312.0, 302.5, 291.2 };
    for (int i = 0; i < 4; i++) {
        double peak = springmass_peak_bw(tc_s[i], tf_s[i]), drop = springmass_drop_mm(tc_s[i], tf_s[i]);
        cr_assert_float_eq(peak, peak_bw[i], 5.1e-4);
        cr_assert_float_eq(drop, drop_mm[i], 0.051);
        cr_assert_float_eq(springmass_vertical_kn_m(peak * G_M_S2, drop) * 1e3, kvert_per_kg[i], 0.051);
    }
}

Test(springmass, impossible_legs_are_refused)
{
    double peak_n = 1500, drop_mm = 60;
    cr_assert(isnan(springmass_leg_kn_m(peak_n, drop_mm, 900, 7.2, 0.25))); /* v tc / 2 = L */
    cr_assert(isnan(springmass_leg_kn_m(peak_n, drop_mm, 900, 8, 0.25)));
    cr_assert(!isnan(springmass_leg_kn_m(peak_n, drop_mm, 900, 7.1, 0.25)));
    cr_assert(isnan(springmass_leg_kn_m(peak_n, drop_mm, NAN, 3, 0.25)));
    cr_assert(isnan(springmass_leg_kn_m(peak_n, drop_mm, 900, NAN, 0.25)));
    cr_assert(isnan(springmass_leg_kn_m(NAN, drop_mm, 900, 3, 0.25)));
    cr_assert(isnan(springmass_leg_kn_m(peak_n, NAN, 900, 3, 0.25)));
}

Test(springmass, impossible_times_and_forces_are_not_known)
{
    cr_assert(isnan(springmass_peak_bw(0, 0.1)));
    cr_assert(isnan(springmass_peak_bw(-0.2, 0.1)));
    cr_assert(isnan(springmass_peak_bw(0.25, -0.01)));
    cr_assert(isnan(springmass_peak_bw(NAN, 0.1)));
    cr_assert(isnan(springmass_drop_mm(0.25, NAN)));
    cr_assert(isnan(springmass_vertical_kn_m(1500, 0)));
    cr_assert(isnan(springmass_vertical_kn_m(0, 60)));
    cr_assert(isnan(springmass_vertical_kn_m(NAN, 60)));
}
