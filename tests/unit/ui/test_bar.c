#include <math.h>

#include <criterion/criterion.h>

#include "ui/bar.h"

static const struct bar_scale scale = { 60.0, 240.0, 350.0, 430.0 };

Test(bar, the_band_is_the_stripe)
{
    /* Any band, any unit: its ends meet the stripe's edges exactly, its middle the middle. */
    static const double bands[][2] = { { 168, 178 }, { -30, 12 }, { 0.30, 0.36 }, { 40, 58 }, { 0, 1e-3 } };
    for (size_t i = 0; i < sizeof bands / sizeof bands[0]; i++) {
        double low = bands[i][0], high = bands[i][1];
        cr_assert_float_eq(bar_height_px(&scale, low, high, low), 240.0, 1e-9);
        cr_assert_float_eq(bar_height_px(&scale, low, high, high), 350.0, 1e-9);
        cr_assert_float_eq(bar_height_px(&scale, low, high, (low + high) / 2), 295.0, 1e-9);
    }
}

Test(bar, height_always_grows_with_the_value_and_stays_on_the_screen)
{
    double last = 0.0;
    for (double v = 100.0; v <= 260.0; v += 0.25) {
        double h = bar_height_px(&scale, 168.0, 178.0, v);
        cr_assert(h >= last, "at %g", v);
        cr_assert(h >= scale.min_px && h <= scale.max_px, "at %g", v);
        cr_assert_eq(h >= scale.low_px && h <= scale.high_px, v >= 168.0 && v <= 178.0, "at %g", v);
        last = h;
    }
    cr_assert(bar_height_px(&scale, 168.0, 178.0, 1e9) <= scale.max_px);
    cr_assert(bar_height_px(&scale, 168.0, 178.0, -1e9) >= scale.min_px);
}

Test(bar, an_open_end_stays_inside)
{
    for (double v = 1.0; v <= 50.0; v += 1.0) {
        double h = bar_height_px(&scale, NAN, 50.0, v);
        cr_assert(h >= scale.low_px && h <= scale.high_px, "at %g", v);
    }
    cr_assert_float_eq(bar_height_px(&scale, NAN, 50.0, 50.0), 350.0, 1e-9);
    cr_assert(bar_height_px(&scale, NAN, 50.0, 51.0) > 350.0);
    cr_assert_float_eq(bar_height_px(&scale, 50.0, NAN, 50.0), 240.0, 1e-9);
    cr_assert(bar_height_px(&scale, 50.0, NAN, 49.0) < 240.0);
    cr_assert(bar_height_px(&scale, 50.0, NAN, 500.0) <= 350.0);
}

Test(bar, what_is_not_known_has_no_height)
{
    cr_assert(isnan(bar_height_px(&scale, 1.0, 2.0, NAN)));
    cr_assert(isnan(bar_height_px(&scale, NAN, NAN, 1.0)));
}
