#include <criterion/criterion.h>

#include "ui/ease.h"

static struct host_time
at_ms(int64_t ms)
{
    return (struct host_time) { 1000000 + ms * UNITS_US_PER_MS };
}

Test(ease, reaches_its_goal_in_its_time_and_stays)
{
    struct ease e;
    ease_set(&e, 10.0);
    ease_go(&e, 20.0, 150000, at_ms(0));
    cr_assert_float_eq(ease_value(&e, at_ms(0)), 10.0, 1e-12);
    cr_assert_float_eq(ease_value(&e, at_ms(75)), 10.0 + 10.0 * 0.875, 1e-9); /* 1 - 0.5^3 */
    cr_assert_lt(ease_value(&e, at_ms(149)), 20.0);
    cr_assert_float_eq(ease_value(&e, at_ms(150)), 20.0, 1e-12);
    cr_assert_float_eq(ease_value(&e, at_ms(9000)), 20.0, 1e-12);
}

Test(ease, never_goes_back_or_past_its_goal)
{
    struct ease e;
    double last = 0.0;
    ease_set(&e, 0.0);
    ease_go(&e, 1.0, 150000, at_ms(0));
    for (int ms = 0; ms <= 200; ms++) {
        double v = ease_value(&e, at_ms(ms));
        cr_assert(v >= last && v <= 1.0);
        last = v;
    }
}

Test(ease, a_new_goal_starts_where_the_value_is)
{
    struct ease e;
    ease_set(&e, 0.0);
    ease_go(&e, 1.0, 150000, at_ms(0));
    double before = ease_value(&e, at_ms(40));
    ease_go(&e, -5.0, 150000, at_ms(40));
    cr_assert_float_eq(ease_value(&e, at_ms(40)), before, 1e-12);
    cr_assert_float_eq(ease_value(&e, at_ms(190)), -5.0, 1e-12);
}
