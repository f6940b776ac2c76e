#include "ui/foot.h"

#include <math.h>

/* Right sole: x to the right in foot lengths from the long axis, y from heel 0 to toe 1. Drawn by eye
 * for this program: a round heel, a shallow arch, a wide ball, the toe line falling to the outside. */
static const double foot_knot[FOOT_N_KNOTS][2] = {
    { 0.005, 0.000 },  { 0.090, 0.022 },  { 0.142, 0.090 },  { 0.152, 0.200 },  { 0.152, 0.360 },
    { 0.178, 0.530 },  { 0.206, 0.660 },  { 0.200, 0.770 },  { 0.150, 0.880 },  { 0.055, 0.968 },
    { -0.050, 1.000 }, { -0.140, 0.955 }, { -0.186, 0.840 }, { -0.182, 0.690 }, { -0.112, 0.430 },
    { -0.128, 0.220 }, { -0.130, 0.095 }, { -0.080, 0.022 },
};

static double
foot_spline(double a, double b, double c, double d, double t)
{
    return 0.5 *
           (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t * t + (3 * b - a - 3 * c + d) * t * t * t);
}

void
foot_outline(struct paint_rect room, bool is_left, struct paint_point *point)
{
    double length = room.h_px, middle = room.x_px + room.w_px / 2.0, heel = room.y_px + room.h_px;
    for (int i = 0; i < FOOT_N_POINTS; i++) {
        int k = i / FOOT_N_BETWEEN;
        double t = (double) (i % FOOT_N_BETWEEN) / FOOT_N_BETWEEN;
        const double *a = foot_knot[(k + FOOT_N_KNOTS - 1) % FOOT_N_KNOTS], *b = foot_knot[k];
        const double *c = foot_knot[(k + 1) % FOOT_N_KNOTS], *d = foot_knot[(k + 2) % FOOT_N_KNOTS];
        double x = foot_spline(a[0], b[0], c[0], d[0], t), y = foot_spline(a[1], b[1], c[1], d[1], t);
        x = fmin(0.5 * FOOT_WIDTH_RATIO, fmax(-0.5 * FOOT_WIDTH_RATIO, x));
        y = fmin(1.0, fmax(0.0, y));
        point[i] = (struct paint_point){ middle + (is_left ? -x : x) * length, heel - y * length };
    }
}

double
foot_y_px(struct paint_rect room, double index_pct)
{
    return room.y_px + room.h_px * (1.0 - fmin(100.0, fmax(0.0, index_pct)) / 100.0);
}

enum theme_side
foot_side(double index_pct, double low_pct, double high_pct)
{
    if (isnan(index_pct) || (isnan(low_pct) && isnan(high_pct)))
        return THEME_UNKNOWN;
    if (index_pct < low_pct)
        return THEME_BELOW;
    return index_pct > high_pct ? THEME_ABOVE : THEME_IN;
}

/* Inks the sole's part between two indices. */
static void
foot_fill_between(struct paint_picture *p, const struct foot_shape *f, const struct paint_point *outline,
                  double low_pct, double high_pct, uint32_t rgb, double alpha)
{
    struct paint_rect before = p->clip;
    int y0 = (int) lround(foot_y_px(f->room, high_pct)), y1 = (int) lround(foot_y_px(f->room, low_pct));
    struct paint_rect part = { f->room.x_px, y0, f->room.w_px, y1 - y0 };
    paint_set_clip(p, paint_intersect(part, before));
    paint_polygon(p, outline, FOOT_N_POINTS, rgb, alpha);
    paint_set_clip(p, before);
}

/* The target zone: tinted, with its two edges drawn. */
static void
foot_draw_zone(struct paint_picture *p, const struct theme *t, const struct foot_shape *f,
               const struct paint_point *outline)
{
    double low = isnan(f->zone_low_pct) ? 0.0 : f->zone_low_pct;
    double high = isnan(f->zone_high_pct) ? 100.0 : f->zone_high_pct;
    if (isnan(f->zone_low_pct) && isnan(f->zone_high_pct))
        return;
    double half = 100.0 * 0.5 * f->line_px / f->room.h_px;
    foot_fill_between(p, f, outline, low, high, t->stripe, 1.0);
    if (low > 0.0)
        foot_fill_between(p, f, outline, low - half, low + half, t->stripe_edge, 0.8);
    if (high < 100.0)
        foot_fill_between(p, f, outline, high - half, high + half, t->stripe_edge, 0.8);
}

static void
foot_draw_dot(struct paint_picture *p, const struct theme *t, const struct foot_shape *f, int i)
{
    const struct foot_dot *d = &f->dot[i];
    struct paint_point at = { f->room.x_px + f->room.w_px / 2.0 + d->sideways * 0.05 * f->room.h_px,
                              foot_y_px(f->room, d->index_pct) };
    enum theme_side side =
        f->is_stale ? THEME_UNKNOWN : foot_side(d->index_pct, f->zone_low_pct, f->zone_high_pct);
    double size = f->room.h_px * (i == 0 ? 0.048 : 0.030 - 0.0018 * i);
    double alpha = i == 0 ? 1.0 : 0.78 - 0.09 * i;
    at.y_px = fmin(f->room.y_px + f->room.h_px - size, fmax(f->room.y_px + size, at.y_px));
    if (i == 0)
        paint_disc(p, at, size + 1.8 * f->line_px, f->is_stale ? t->stale : t->figure, 1.0);
    paint_disc(p, at, size, t->look[side].rgb, alpha);
    if (side == THEME_BELOW)
        paint_disc(p, at, size * 0.5, t->panel, i == 0 ? 1.0 : alpha);
    if (side == THEME_ABOVE && i == 0) {
        struct paint_point a = { at.x_px - size * 0.5, at.y_px }, b = { at.x_px + size * 0.5, at.y_px };
        paint_line(p, a, b, size * 0.36, t->ground, 1.0);
    }
}

/* Only the third is known: mark it, and mark it as coarse. */
static void
foot_draw_third(struct paint_picture *p, const struct theme *t, const struct foot_shape *f,
                const struct paint_point *outline)
{
    int third = f->dot[0].third;
    if (third < 1 || third > 3)
        return;
    double middle = (third - 0.5) * 100.0 / 3.0;
    enum theme_side side = f->is_stale ? THEME_UNKNOWN : foot_side(middle, f->zone_low_pct, f->zone_high_pct);
    foot_fill_between(p, f, outline, (third - 1) * 100.0 / 3.0, third * 100.0 / 3.0, t->look[side].rgb, 0.85);
}

void
foot_draw(struct paint_picture *p, const struct theme *t, const struct foot_shape *f)
{
    struct paint_point outline[FOOT_N_POINTS + 1];
    foot_outline(f->room, f->is_left, outline);
    outline[FOOT_N_POINTS] = outline[0];
    paint_polygon(p, outline, FOOT_N_POINTS, t->track, 1.0);
    foot_draw_zone(p, t, f, outline);
    if (f->n_dots > 0 && isnan(f->dot[0].index_pct))
        foot_draw_third(p, t, f, outline);
    paint_polyline(p, outline, FOOT_N_POINTS + 1, 2.0 * f->line_px, t->rule, 1.0);
    for (int i = f->n_dots - 1; i >= 0; i--)
        if (!isnan(f->dot[i].index_pct))
            foot_draw_dot(p, t, f, i);
}
