#include <math.h>
#include <string.h>

#include <criterion/criterion.h>

#include "ui/paint.h"

#define W 64
#define H 48

struct sheet {
    uint32_t pixel[W * H];
    uint8_t scratch[W * H];
    struct paint_picture p;
};

static void
sheet_init(struct sheet *s)
{
    memset(s, 0, sizeof *s);
    s->p = (struct paint_picture) { s->pixel, s->scratch, W, H, { 0, 0, W, H } };
}

/* Sum of the blue channel over 255: the area inked with blue, in pixels. */
static double
area(const struct sheet *s)
{
    double sum = 0.0;
    for (int i = 0; i < W * H; i++)
        sum += (s->pixel[i] & 0xFFu) / 255.0;
    return sum;
}

Test(paint, areas_are_those_of_geometry)
{
    static struct sheet s;
    sheet_init(&s);
    paint_disc(&s.p, (struct paint_point) { 30.3, 20.7 }, 12.0, 0xFF, 1.0);
    cr_assert_float_eq(area(&s), 3.14159265 * 144.0, 4.0);
    sheet_init(&s);
    paint_fill_smooth(&s.p, 3.25, 4.5, 10.5, 6.25, 0xFF, 1.0);
    cr_assert_float_eq(area(&s), 10.5 * 6.25, 0.3);
    sheet_init(&s);
    struct paint_point triangle[3] = { { 5.0, 5.0 }, { 45.0, 5.0 }, { 5.0, 35.0 } };
    paint_polygon(&s.p, triangle, 3, 0xFF, 1.0);
    cr_assert_float_eq(area(&s), 600.0, 4.0);
    sheet_init(&s);
    paint_line(&s.p, (struct paint_point) { 10, 10 }, (struct paint_point) { 40, 30 }, 6.0, 0xFF, 1.0);
    cr_assert_float_eq(area(&s), hypot(30, 20) * 6.0 + 3.14159265 * 9.0, 3.0);
    sheet_init(&s);
    paint_arc(&s.p, (struct paint_point) { 32, 24 }, 15.0, 6.0, 0.25, 0xFF, 1.0);
    cr_assert_float_eq(area(&s), 2 * 3.14159265 * 15.0 * 6.0 / 4.0, 3.0);
}

Test(paint, a_quarter_arc_lies_at_the_upper_right)
{
    static struct sheet s;
    sheet_init(&s);
    paint_arc(&s.p, (struct paint_point) { 32, 24 }, 15.0, 4.0, 0.25, 0xFF, 1.0);
    cr_assert_eq(s.pixel[(24 - 11) * W + 32 + 10] & 0xFFu, 0xFFu);
    cr_assert_eq(s.pixel[(24 - 11) * W + 32 - 11] & 0xFFu, 0u);
    cr_assert_eq(s.pixel[(24 + 10) * W + 32 + 10] & 0xFFu, 0u);
}

Test(paint, a_polyline_is_blended_once_where_it_crosses_itself)
{
    static struct sheet s;
    sheet_init(&s);
    struct paint_point back_and_forth[4] = { { 10, 20 }, { 50, 20 }, { 10, 20 }, { 50, 20 } };
    paint_polyline(&s.p, back_and_forth, 4, 8.0, 0xFF, 0.5);
    cr_assert_eq(s.pixel[20 * W + 30] & 0xFFu, 127u);
    for (int i = 0; i < W * H; i++)
        cr_assert_eq(s.scratch[i], 0, "the scratch must be left clear");
}

Test(paint, nothing_is_inked_outside_the_clip_or_the_picture)
{
    static struct sheet s;
    sheet_init(&s);
    struct paint_rect clip = { 20, 10, 15, 12 };
    struct paint_point star[4] = { { -40, -40 }, { 200, 10 }, { 90, 90 }, { -20, 70 } };
    paint_set_clip(&s.p, clip);
    paint_fill(&s.p, (struct paint_rect) { -5, -5, 500, 500 }, 0xFF, 1.0);
    paint_disc(&s.p, (struct paint_point) { 0, 0 }, 300.0, 0xFF, 1.0);
    paint_polygon(&s.p, star, 4, 0xFF, 1.0);
    paint_hatch(&s.p, (struct paint_rect) { -10, -10, 300, 300 }, 10.0, 4.0, 0xFF, 1.0);
    for (int y = 0; y < H; y++)
        for (int x = 0; x < W; x++) {
            bool is_in = x >= 20 && x < 35 && y >= 10 && y < 22;
            cr_assert_eq(s.pixel[y * W + x] != 0, is_in, "pixel %d, %d", x, y);
        }
    paint_set_clip(&s.p, (struct paint_rect) { -50, -50, 1000, 1000 });
    cr_assert_eq(s.p.clip.w_px, W);
    cr_assert_eq(s.p.clip.h_px, H);
}

Test(paint, full_cover_replaces_and_none_leaves_alone)
{
    static struct sheet s;
    sheet_init(&s);
    paint_fill(&s.p, (struct paint_rect) { 0, 0, 1, 1 }, 0x123456, 1.0);
    cr_assert_eq(s.pixel[0], 0xFF123456u);
    paint_fill(&s.p, (struct paint_rect) { 0, 0, 1, 1 }, 0xFFFFFF, 0.0);
    cr_assert_eq(s.pixel[0], 0xFF123456u);
    cr_assert_eq(paint_mix(0x102030, 0x908070, 1.0), 0x908070u);
    cr_assert_eq(paint_mix(0x102030, 0x908070, 0.0), 0x102030u);
}
