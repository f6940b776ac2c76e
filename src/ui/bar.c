#include "ui/bar.h"

#include <math.h>

/* Where only one end of the band is set, the stripe's other edge lies this share of it away. */
#define BAR_OPEN_SHARE 0.2

/* Grows from 0 with slope 1 and never reaches room. */
static double
bar_close_up(double distance_px, double room_px)
{
    return room_px > 0.0 ? room_px * (1.0 - exp(-distance_px / room_px)) : 0.0;
}

double
bar_height_px(const struct bar_scale *s, double low, double high, double value)
{
    if (isnan(value) || (isnan(low) && isnan(high)))
        return NAN;
    double stripe_px = s->high_px - s->low_px;
    if (isnan(low) || isnan(high)) {
        double edge = isnan(low) ? high : low;
        double width = fmax(fabs(edge) * BAR_OPEN_SHARE, 1e-9);
        double inside = (isnan(low) ? edge - value : value - edge) / width * stripe_px;
        if (inside >= 0.0) {
            double in_px = bar_close_up(inside, stripe_px);
            return isnan(low) ? s->high_px - in_px : s->low_px + in_px;
        }
        return isnan(low) ? s->high_px + bar_close_up(-inside, s->max_px - s->high_px)
                          : s->low_px - bar_close_up(-inside, s->low_px - s->min_px);
    }
    double width = fmax(high - low, 1e-9);
    if (value > high)
        return s->high_px + bar_close_up((value - high) / width * stripe_px, s->max_px - s->high_px);
    if (value < low)
        return s->low_px - bar_close_up((low - value) / width * stripe_px, s->low_px - s->min_px);
    return s->low_px + (value - low) / width * stripe_px;
}

/* A chevron of half-width r_px round centre, pointing up (direction -1) or down (+1). */
static void
draw_chevron(struct paint_picture *p, struct paint_point centre, double r_px, int direction,
                 double width_px, uint32_t rgb, double alpha)
{
    double half = r_px * 0.42 * direction;
    struct paint_point point[3] = {
        { centre.x_px - r_px, centre.y_px - half },
        { centre.x_px, centre.y_px + half },
        { centre.x_px + r_px, centre.y_px - half },
    };
    if (alpha > 0.0)
        paint_polyline(p, point, 3, width_px, rgb, alpha);
}

/* Below: the bar's end is a frame, with a chevron up in it. */
static void
bar_draw_hollow(struct paint_picture *p, const struct theme *t, const struct bar_shape *b, double top)
{
    double cap = fmin(b->cap_px, b->height_px), line = b->line_px * 1.8;
    double r = fmin(cap * 0.5, b->w_px * 0.3);
    struct paint_point sign = { b->x_px + b->w_px / 2.0, top + (cap + line) / 2.0 };
    paint_fill_smooth(p, b->x_px + line, top + line, b->w_px - 2 * line, cap - line, t->ground, b->hollow);
    draw_chevron(p, sign, r, -1, r * 0.34, b->rgb, b->hollow);
}

/* Above: hatched over its whole height but for a plain tile below the stripe, with a chevron down in it. */
static void
bar_draw_hatch(struct paint_picture *p, const struct theme *t, const struct bar_shape *b, double top)
{
    double r = fmin(b->sign_px * 0.42, b->w_px * 0.26), period = 15.0 * b->line_px, width = 6.0 * b->line_px;
    double tile = r * 1.6;
    int x = (int) floor(b->x_px), w = (int) ceil(b->w_px), ground = (int) b->ground_y_px;
    int y0 = (int) floor(top), y1 = ground - (int) lround(b->sign_px + tile / 2);
    int y2 = ground - (int) lround(b->sign_px - tile / 2);
    paint_hatch(p, (struct paint_rect){ x, y0, w, y1 - y0 }, period, width, t->ground, 0.55 * b->hatch);
    paint_hatch(p, (struct paint_rect){ x, y2, w, ground - y2 }, period, width, t->ground, 0.55 * b->hatch);
    struct paint_point sign = { b->x_px + b->w_px / 2.0, b->ground_y_px - b->sign_px };
    draw_chevron(p, sign, r, 1, r * 0.34, t->ground, b->hatch);
}

void
bar_draw(struct paint_picture *p, const struct theme *t, const struct bar_shape *b)
{
    double top = b->ground_y_px - b->height_px;
    paint_fill_smooth(p, b->x_px, top, b->w_px, b->height_px, b->rgb, 1.0);
    if (b->hatch > 0.0)
        bar_draw_hatch(p, t, b, top);
    if (b->hollow > 0.0)
        bar_draw_hollow(p, t, b, top);
}
