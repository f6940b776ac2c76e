#include <math.h>
#include <string.h>

#include <criterion/criterion.h>

#include "ui/foot.h"

static const struct paint_rect room = { 20, 10, 88, 200 };

Test(foot, the_outline_fills_its_length_and_stays_in_its_room)
{
    struct paint_point point[FOOT_N_POINTS];
    double low = 1e9, high = -1e9;
    foot_outline(room, false, point);
    for (int i = 0; i < FOOT_N_POINTS; i++) {
        low = fmin(low, point[i].y_px);
        high = fmax(high, point[i].y_px);
        cr_assert(point[i].x_px >= 20.0 && point[i].x_px <= 108.0);
    }
    cr_assert_float_eq(low, 10.0, 0.5);
    cr_assert_float_eq(high, 210.0, 0.5);
}

Test(foot, left_mirrors_right_and_the_big_toe_points_inwards)
{
    struct paint_point right[FOOT_N_POINTS], left[FOOT_N_POINTS];
    foot_outline(room, false, right);
    foot_outline(room, true, left);
    int top = 0;
    for (int i = 0; i < FOOT_N_POINTS; i++) {
        cr_assert_float_eq(right[i].x_px - 64.0, 64.0 - left[i].x_px, 1e-9);
        cr_assert_float_eq(right[i].y_px, left[i].y_px, 1e-9);
        top = right[i].y_px < right[top].y_px ? i : top;
    }
    cr_assert(right[top].x_px < 64.0, "the right foot's tip lies to its left: inwards");
}

Test(foot, strike_index_runs_from_heel_to_toe)
{
    cr_assert_float_eq(foot_y_px(room, 0.0), 210.0, 1e-9);
    cr_assert_float_eq(foot_y_px(room, 100.0), 10.0, 1e-9);
    cr_assert_float_eq(foot_y_px(room, 50.0), 110.0, 1e-9);
    cr_assert_float_eq(foot_y_px(room, 140.0), 10.0, 1e-9);
}

Test(foot, side_needs_a_zone)
{
    cr_assert_eq(foot_side(20.0, 34.0, 66.0), THEME_BELOW);
    cr_assert_eq(foot_side(34.0, 34.0, 66.0), THEME_IN);
    cr_assert_eq(foot_side(66.1, 34.0, 66.0), THEME_ABOVE);
    cr_assert_eq(foot_side(20.0, NAN, NAN), THEME_UNKNOWN);
    cr_assert_eq(foot_side(NAN, 34.0, 66.0), THEME_UNKNOWN);
}

Test(foot, a_zone_fills_its_third)
{
    static uint32_t pixel[128 * 224];
    static uint8_t scratch[128 * 224];
    struct paint_picture p = { pixel, scratch, 128, 224, { 0, 0, 128, 224 } };
    struct theme t = theme_of(THEME_DARK);
    struct foot_shape f = { .room = room, .line_px = 1.0, .zone_low_pct = 34.0, .zone_high_pct = 66.0, .n_dots = 1 };
    f.dot[0] = (struct foot_dot) { NAN, 1, 0.0 };
    foot_draw(&p, &t, &f);
    uint32_t rear = pixel[185 * 128 + 64], mid = pixel[110 * 128 + 64], fore = pixel[40 * 128 + 64];
    cr_assert_neq(rear, fore, "the rear third is marked");
    cr_assert((rear & 0xFFu) > 0xA0u, "and in the colour of below: blue");
    cr_assert_eq(mid & 0xFFFFFFu, t.stripe);
    cr_assert_eq(fore & 0xFFFFFFu, t.track);
}
