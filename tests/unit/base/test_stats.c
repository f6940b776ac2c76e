#include "base/stats.h"

#include <criterion/criterion.h>
#include <math.h>

/* Expected values: numpy 1.24 (mean, median, std with ddof=1, 1.4826 * median of |x - median|) over the
 * last n of the same ten numbers, printed with repr. */
static const double CADENCE[] = { 172.1, 169.4, 171.0, 175.5, 168.2, 170.9, 171.7, 173.3, 140.0, 171.2 };
static const struct {
    int span;
    double mean, median, sd, robust_sd;
} ROWS[] = {
    { 10, 168.32999999999998, 171.1, 10.151086422425708, 2.0015099999999912 },
    { 8, 167.72500000000002, 171.1, 11.396208642727256, 2.0756400000000084 },
    { 3, 161.5, 171.2, 18.649128665972576, 3.1134600000000336 },
};

Test(stats, last_n_agree_with_numpy)
{
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        struct stats s;
        stats_init(&s, ROWS[i].span);
        for (size_t k = 0; k < sizeof CADENCE / sizeof *CADENCE; k++)
            stats_feed(&s, CADENCE[k]);
        cr_assert_float_eq(stats_mean(&s), ROWS[i].mean, 1e-9, "span %d", ROWS[i].span);
        cr_assert_float_eq(stats_median(&s), ROWS[i].median, 1e-9, "span %d", ROWS[i].span);
        cr_assert_float_eq(stats_sd(&s), ROWS[i].sd, 1e-9, "span %d", ROWS[i].span);
        cr_assert_float_eq(stats_robust_sd(&s), ROWS[i].robust_sd, 1e-9, "span %d", ROWS[i].span);
    }
}

Test(stats, nothing_is_not_a_number_and_one_has_no_spread)
{
    struct stats s;
    stats_init(&s, 4);
    cr_assert(isnan(stats_mean(&s)) && isnan(stats_median(&s)) && isnan(stats_sd(&s)));
    stats_feed(&s, 7);
    cr_assert_eq(stats_mean(&s), 7);
    cr_assert(isnan(stats_sd(&s)));
}

Test(stats, missing_values_are_skipped_and_push_nothing_out)
{
    struct stats s;
    stats_init(&s, 2);
    stats_feed(&s, 1);
    stats_feed(&s, 3);
    stats_feed(&s, NAN);
    cr_assert_eq(s.n, 2);
    cr_assert_eq(stats_mean(&s), 2);
}

Test(stats, reset_forgets)
{
    struct stats s;
    stats_init(&s, STATS_MAX);
    for (int i = 0; i < 3 * STATS_MAX; i++)
        stats_feed(&s, i);
    cr_assert_eq(s.n, STATS_MAX);
    cr_assert_eq(stats_mean(&s), 2 * STATS_MAX + (STATS_MAX - 1) / 2.0);
    stats_reset(&s);
    cr_assert(isnan(stats_mean(&s)));
}
