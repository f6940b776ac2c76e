#include <math.h>

#include <criterion/criterion.h>

#include "ui/trend.h"

static float value[TREND_MAX_SLOTS];
static bool is_silent[TREND_MAX_SLOTS];

static struct trend_plot
plot_of(int head)
{
    for (int i = 0; i < TREND_MAX_SLOTS; i++)
        value[i] = NAN;
    return (struct trend_plot) {
        .plot = { 100, 50, 480, 200 },
        .scale = { 10.0, 80.0, 120.0, 190.0 },
        .line_px = 2.0,
        .n_slots = TREND_MAX_SLOTS,
        .head = head,
        .value = value,
        .is_silent = is_silent,
        .low = 150.0,
        .high = 190.0,
        .base_low = 0.0,
        .base_high = 1.0,
    };
}

Test(trend, the_newest_slot_lies_at_the_right_edge)
{
    struct trend_plot t = plot_of(5);
    cr_assert_float_eq(trend_x_px(&t, 0), 580.0 - 1.0, 1e-9);
    cr_assert_float_eq(trend_x_px(&t, TREND_MAX_SLOTS - 1), 100.0 + 1.0, 1e-9);
}

Test(trend, the_target_is_the_same_stripe_as_the_bars)
{
    struct trend_plot t = plot_of(5);
    cr_assert_float_eq(trend_y_px(&t, 150.0), 250.0 - 80.0, 1e-9);
    cr_assert_float_eq(trend_y_px(&t, 190.0), 250.0 - 120.0, 1e-9);
    cr_assert(trend_y_px(&t, 1e6) >= 50.0);
    cr_assert(trend_y_px(&t, -1e6) <= 250.0);
}

Test(trend, one_empty_slot_is_bridged_two_break_the_line)
{
    struct paint_point point[TREND_MAX_SLOTS];
    struct trend_plot t = plot_of(3);
    /* From old to new, across the array's end: v v - v - - v v */
    static const int slots[] = { 236, 237, 239, 2, 3 };
    for (size_t i = 0; i < sizeof slots / sizeof slots[0]; i++)
        value[slots[i]] = 160.0f;
    int age = t.n_slots - 1;
    cr_assert_eq(trend_run(&t, &age, point), 3);
    cr_assert_eq(trend_run(&t, &age, point), 2);
    cr_assert_float_eq(point[1].x_px, trend_x_px(&t, 0), 1e-9);
    cr_assert_eq(trend_run(&t, &age, point), 0);
}

Test(trend, nothing_known_is_no_line)
{
    struct paint_point point[TREND_MAX_SLOTS];
    struct trend_plot t = plot_of(0);
    int age = t.n_slots - 1;
    cr_assert_eq(trend_run(&t, &age, point), 0);
}
