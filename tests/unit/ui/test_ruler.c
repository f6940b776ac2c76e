#include <math.h>
#include <string.h>

#include <criterion/criterion.h>

#include "ui/ruler.h"

static const struct ruler_scale scale = { 20, 420, 0.5, 0.0, 300.0 };

Test(ruler, ahead_is_up_and_the_scale_is_straight)
{
    double body = ruler_y_px(&scale, 0), a = ruler_y_px(&scale, 100), b = ruler_y_px(&scale, 200), end = ruler_y_px(&scale, 300);
    cr_assert(body > a && a > b && b > end);
    cr_assert_float_eq(body - a, a - b, 1e-9);
    cr_assert_float_eq(a - b, b - end, 1e-9);
    cr_assert(end > scale.top_px + 10 && body < scale.bottom_px - 10, "half a mark has room at either end");
    cr_assert_float_eq(ruler_y_px(&scale, 900), end, 1e-9);
    cr_assert_float_eq(ruler_y_px(&scale, -900), body, 1e-9);
}

Test(ruler, the_scale_widens_in_whole_steps_and_never_without_end)
{
    double low = RULER_LOW_MM, high = RULER_HIGH_MM;
    ruler_fit(&low, &high, NAN);
    ruler_fit(&low, &high, 300);
    cr_assert(low == 0.0 && high == 300.0);
    ruler_fit(&low, &high, 301);
    ruler_fit(&low, &high, -1);
    cr_assert(low == -100.0 && high == 400.0);
    ruler_fit(&low, &high, 1e9);
    ruler_fit(&low, &high, -1e9);
    cr_assert(low == RULER_LEAST_MM && high == RULER_MOST_MM);
}

enum { W = 100, H = 440 };
static uint32_t pixel[W * H];
static uint8_t scratch[W * H];

static void
draw(const struct ruler_column *c)
{
    struct paint_picture p = { pixel, scratch, W, H, { 0, 0, W, H } };
    struct theme t = theme_of(THEME_DARK);
    memset(pixel, 0, sizeof pixel);
    ruler_draw_column(&p, &t, c);
}

static struct ruler_column
column(void)
{
    struct ruler_column c = { .room = { 10, 20, 80, 400 },
                              .scale = scale,
                              .band_low_mm = 180,
                              .band_high_mm = 220,
                              .has_mark = true,
                              .has_stem = true,
                              .rgb = 0x00FF00,
                              .outline = 0xFFFFFF };
    c.middle_y_px = ruler_y_px(&scale, 250);
    c.first_y_px = ruler_y_px(&scale, 100);
    return c;
}

static uint32_t
at(double y)
{
    return pixel[(int) y * W + 50] & 0xFFFFFFu;
}

Test(ruler, mark_stem_band_and_body_stand_where_they_should)
{
    struct ruler_column c = column();
    struct theme t = theme_of(THEME_DARK);
    draw(&c);
    cr_assert_eq(at(ruler_y_px(&scale, 250)), 0x00FF00);
    cr_assert_eq(at(ruler_y_px(&scale, 100)), 0xFFFFFF, "the dot");
    cr_assert_eq(at(ruler_y_px(&scale, 150)), 0xFFFFFF, "the stem");
    cr_assert_eq(at(ruler_y_px(&scale, 0)), t.figure, "the body's line");
    cr_assert_eq(pixel[(int) ruler_y_px(&scale, 200) * W + 15] & 0xFFFFFFu, t.stripe, "the band, over the column's width");
    cr_assert_eq(pixel[(int) ruler_y_px(&scale, 150) * W + 15], 0, "and nothing outside of it");
    c.has_stem = false;
    draw(&c);
    cr_assert_eq(at(ruler_y_px(&scale, 150)), 0);
    c.has_mark = false;
    draw(&c);
    cr_assert_eq(at(ruler_y_px(&scale, 250)), 0);
}

Test(ruler, an_open_band_runs_to_the_end)
{
    struct ruler_column c = column();
    struct theme t = theme_of(THEME_DARK);
    c.band_low_mm = NAN;
    draw(&c);
    cr_assert_eq(pixel[410 * W + 15] & 0xFFFFFFu, t.stripe);
    c.band_high_mm = NAN;
    draw(&c);
    cr_assert_eq(pixel[410 * W + 15], 0, "no band at all");
}

Test(ruler, hollow_and_hatched_marks_differ_without_colour)
{
    struct ruler_column c = column();
    struct theme t = theme_of(THEME_DARK);
    const int y = (int) c.middle_y_px;
    int n_plain = 0, n_hatched = 0;
    draw(&c);
    for (int x = 0; x < W; x++)
        n_plain += (pixel[y * W + x] & 0xFFFFFFu) == 0x00FF00;
    c.hatch = 1;
    draw(&c);
    for (int x = 0; x < W; x++)
        n_hatched += (pixel[y * W + x] & 0xFFFFFFu) == 0x00FF00;
    cr_assert(n_hatched > n_plain / 4 && n_hatched < n_plain * 4 / 5, "%d of %d", n_hatched, n_plain);
    c.hatch = 0;
    c.hollow = 1;
    draw(&c);
    cr_assert_eq(at(y), t.ground);
    cr_assert_eq(at(y - 9), 0x00FF00, "its frame");
}

/* What is redrawn alone while a mark moves must hold all of it. */
Test(ruler, no_ink_of_mark_or_stem_lies_outside_the_rows_named)
{
    for (double first_mm = 0; first_mm <= 300; first_mm += 37) {
        struct ruler_column c = column(), bare = column();
        static uint32_t with[W * H];
        int y0, y1;
        c.first_y_px = ruler_y_px(&scale, first_mm);
        bare.has_mark = false;
        draw(&c);
        memcpy(with, pixel, sizeof with);
        draw(&bare);
        ruler_ink_rows(&c, &y0, &y1);
        for (int i = 0; i < W * H; i++)
            cr_assert(with[i] == pixel[i] || (i / W >= y0 && i / W < y1), "row %d of %d..%d", i / W, y0, y1);
    }
}
