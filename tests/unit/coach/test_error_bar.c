#include "coach/error_bar.h"

#include <criterion/criterion.h>
#include <math.h>

/* Computed by the header's formula: 1.96 sqrt(0.00155^2 + 0.00148^2 / n); of one step 0.00420, of 200 0.00304. */
Test(error_bar, more_steps_take_away_what_is_off_in_a_step_and_no_more)
{
    cr_assert_float_eq(error_bar_mean(METRIC_BRAKING_IMPULSE_BW_S, 1), 0.00420, 1e-5);
    cr_assert_float_eq(error_bar_mean(METRIC_BRAKING_IMPULSE_BW_S, 200), 0.00304, 1e-5);
    cr_assert_float_eq(error_bar_mean(METRIC_BRAKING_IMPULSE_BW_S, 1000000), 1.96 * 0.00155, 1e-6);
}

/* 1.96 sqrt(2 x 0.00086^2 + 0.00148^2 (1 / 100 + 1 / 100)) = 0.00242 */
Test(error_bar, change_within_a_runner_is_known_better_than_the_difference_of_two_runners)
{
    cr_assert_float_eq(error_bar_change(METRIC_BRAKING_IMPULSE_BW_S, 100, 100), 0.00242, 1e-5);
    for (int m = METRIC_BRAKING_IMPULSE_BW_S; m <= METRIC_PEAK_BRAKING_BW; m++)
        cr_assert_lt(error_bar_change((enum metric) m, 500, 500), sqrt(2) * error_bar_mean((enum metric) m, 500));
}

Test(error_bar, of_no_step_and_of_other_figures_nothing_is_known)
{
    cr_assert(isnan(error_bar_mean(METRIC_BRAKING_IMPULSE_BW_S, 0)));
    cr_assert(isnan(error_bar_change(METRIC_PEAK_BRAKING_BW, 0, 5)));
    cr_assert(isnan(error_bar_mean(METRIC_CADENCE_SPM, 100)));
    cr_assert(isnan(error_bar_change(METRIC_BRAKING_END_PCT, 100, 100)) && error_bar_mean(METRIC_BRAKING_END_PCT, 100) > 0);
    cr_assert(isnan(error_bar_change(METRIC_CADENCE_SPM, 100, 100)));
}
