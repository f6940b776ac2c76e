#include "gait/rolling.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct rolling R;

static struct step
step_of(enum step_foot foot, double step_s, double contact_ms, double load_rate)
{
    struct step s;
    memset(&s, 0, sizeof s);
    for (int m = 0; m < METRIC_COUNT; m++)
        s.value[m] = NAN;
    s.foot = foot;
    s.value[METRIC_STEP_TIME_S] = step_s;
    s.value[METRIC_CONTACT_MS] = contact_ms;
    s.value[METRIC_LOAD_RATE_BW_S] = load_rate;
    return s;
}

/* Feeds n strides, left first; returns the last step. */
static struct step
feed_strides(int n, double left_ms, double right_ms)
{
    struct step s = step_of(STEP_FOOT_UNKNOWN, NAN, NAN, NAN);
    for (int i = 0; i < 2 * n; i++) {
        double contact_ms = i % 2 == 0 ? left_ms : right_ms;
        s = step_of(i % 2 == 0 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT, 0.36, contact_ms, contact_ms / 4);
        rolling_feed(&R, &s);
    }
    return s;
}

/* Facts H, tolerance 1e-4. */
Test(rolling, symmetry_index_is_as_published)
{
    cr_assert_float_eq(rolling_symmetry_pct(1.0, 1.2), 18.1818, 1e-4);
    cr_assert_float_eq(rolling_symmetry_pct(240, 250), 4.08163, 1e-4);
    cr_assert_float_eq(rolling_symmetry_pct(70, 62), -12.12121, 1e-4);
    cr_assert_float_eq(rolling_symmetry_pct(3, 0), -200, 1e-9);
    cr_assert_float_eq(rolling_symmetry_pct(0, 3), 200, 1e-9);
    cr_assert_float_eq(rolling_symmetry_pct(5, 5), 0, 0);
}

Test(rolling, symmetry_index_flips_its_sign_with_the_sides)
{
    for (double left = 0.5; left < 3; left += 0.37)
        for (double right = 0.4; right < 3; right += 0.41)
            cr_assert_float_eq(rolling_symmetry_pct(left, right), -rolling_symmetry_pct(right, left), 1e-12);
    cr_assert(isnan(rolling_symmetry_pct(0, 0)));
    cr_assert(isnan(rolling_symmetry_pct(NAN, 1)));
    cr_assert(isnan(rolling_symmetry_pct(1, NAN)));
}

Test(rolling, asymmetry_is_not_known_until_each_side_has_enough_steps)
{
    rolling_init(&R);
    struct step s = feed_strides(ROLLING_MIN_STEPS - 1, 240, 250);
    cr_assert(isnan(s.value[METRIC_ASYM_CONTACT_PCT]));
    cr_assert_eq(s.standing[METRIC_ASYM_CONTACT_PCT], METRIC_MISSING);
    s = feed_strides(1, 240, 250);
    cr_assert_float_eq(s.value[METRIC_ASYM_CONTACT_PCT], 4.08163, 1e-4);
    cr_assert_eq(s.standing[METRIC_ASYM_CONTACT_PCT], METRIC_MEASURED);
    cr_assert_float_eq(s.value[METRIC_ASYM_LOAD_RATE_PCT], 4.08163, 1e-4);
    cr_assert_float_eq(s.value[METRIC_ASYM_STEP_TIME_PCT], 0, 1e-9);
}

Test(rolling, asymmetry_forgets_what_is_older_than_its_window)
{
    rolling_init(&R);
    feed_strides(40, 200, 300);
    struct step s = feed_strides(ROLLING_STEPS, 240, 250);
    cr_assert_float_eq(s.value[METRIC_ASYM_CONTACT_PCT], 4.08163, 1e-4);
}

Test(rolling, steps_of_an_unknown_foot_and_missing_values_do_not_count)
{
    rolling_init(&R);
    feed_strides(ROLLING_MIN_STEPS, 240, 250);
    for (int i = 0; i < 30; i++) {
        struct step s = step_of(STEP_FOOT_UNKNOWN, 0.36, 900, 10);
        rolling_feed(&R, &s);
        s = step_of(STEP_FOOT_LEFT, 0.36, NAN, 60);
        rolling_feed(&R, &s);
        cr_assert_float_eq(s.value[METRIC_ASYM_CONTACT_PCT], 4.08163, 1e-4);
    }
}

/* numpy: s = [0.70 + 0.01 ((7 k) % 5 - 2) + 0.001 k, k = 0..29]; 100 s.std(ddof=1) / s.mean() = 2.444607014.
 */
Test(rolling, stride_variability_agrees_with_numpy)
{
    rolling_init(&R);
    /* Step times whose sums of two neighbours are the strides s. */
    double step_s = 0.34;
    struct step s = step_of(STEP_FOOT_LEFT, step_s, 240, 60);
    rolling_feed(&R, &s);
    for (int k = 0; k < 30; k++) {
        double stride_s = 0.70 + 0.01 * (7 * k % 5 - 2) + 0.001 * k;
        step_s = stride_s - step_s;
        s = step_of(k % 2 == 0 ? STEP_FOOT_RIGHT : STEP_FOOT_LEFT, step_s, 240, 60);
        rolling_feed(&R, &s);
        cr_assert_eq(isnan(s.value[METRIC_STEP_VAR_PCT]), k + 1 < ROLLING_MIN_STRIDES);
    }
    cr_assert_float_eq(s.value[METRIC_STEP_VAR_PCT], 2.444607014, 1e-8);
}

Test(rolling, stride_over_a_break_does_not_count)
{
    rolling_init(&R);
    feed_strides(10, 240, 240);
    struct step s = step_of(STEP_FOOT_LEFT, NAN, 240, 60); /* the last before a stop */
    rolling_feed(&R, &s);
    s = feed_strides(10, 240, 240);
    cr_assert_float_eq(s.value[METRIC_STEP_VAR_PCT], 0, 1e-9);
}
