#include "ui/ruler.h"

#include <math.h>

/* All in units of unit_px. */
#define RULER_MARK_W     116.0
#define RULER_MARK_H     46.0
#define RULER_MARK_LINE  5.0
#define RULER_EARLIER_W  150.0
#define RULER_EARLIER_H  7.0
#define RULER_STEM       7.0
#define RULER_DOT        13.0 /* radius */
#define RULER_BODY       6.0
#define RULER_LONG_TICK  28.0
#define RULER_SHORT_TICK 14.0
#define RULER_TICK       4.0
/* So faint that one more or less, at each step, is no pulse: about 1.3:1 against the ground. */
#define RULER_EARLIER_ON_DARK  0.22
#define RULER_EARLIER_ON_LIGHT 0.12

void
ruler_fit(double *low_mm, double *high_mm, double mm)
{
    while (mm > *high_mm && *high_mm < RULER_MOST_MM)
        *high_mm += RULER_STEP_MM;
    while (mm < *low_mm && *low_mm > RULER_LEAST_MM)
        *low_mm -= RULER_STEP_MM;
}

double
ruler_y_px(const struct ruler_scale *s, double mm)
{
    double pad = (RULER_MARK_H / 2.0 + RULER_MARK_LINE) * s->unit_px;
    double room = s->bottom_px - s->top_px - 2.0 * pad;
    double share = (mm - s->low_mm) / (s->high_mm - s->low_mm);
    return s->bottom_px - pad - room * fmin(1.0, fmax(0.0, share));
}

void
ruler_ink_rows(const struct ruler_column *c, int *y0, int *y1)
{
    double u = c->scale.unit_px, half = (RULER_MARK_H / 2.0 + RULER_MARK_LINE) * u + 2.0;
    *y0 = *y1 = 0;
    if (!c->has_mark)
        return;
    double top = c->middle_y_px - half, bottom = c->middle_y_px + half;
    if (c->has_stem) {
        top = fmin(top, c->first_y_px - RULER_DOT * u - 2.0);
        bottom = fmax(bottom, c->first_y_px + RULER_DOT * u + 2.0);
    }
    *y0 = (int) floor(top);
    *y1 = (int) ceil(bottom);
}

static void
draw_band(struct paint_picture *p, const struct theme *t, const struct ruler_column *c)
{
    if (isnan(c->band_low_mm) && isnan(c->band_high_mm))
        return;
    double line = fmax(1.0, 3.0 * c->scale.unit_px), x = c->room.x_px, w = c->room.w_px;
    double low = isnan(c->band_low_mm) ? c->scale.bottom_px : ruler_y_px(&c->scale, c->band_low_mm);
    double high = isnan(c->band_high_mm) ? c->scale.top_px : ruler_y_px(&c->scale, c->band_high_mm);
    paint_fill_smooth(p, x, high, w, low - high, t->stripe, 1.0);
    if (!isnan(c->band_low_mm))
        paint_fill_smooth(p, x, low - line / 2.0, w, line, t->stripe_edge, 1.0);
    if (!isnan(c->band_high_mm))
        paint_fill_smooth(p, x, high - line / 2.0, w, line, t->stripe_edge, 1.0);
}

/* A rounded bar lying across the column's middle. */
static void
draw_pill(struct paint_picture *p, double middle_px, double y_px, double w_px, double h_px, uint32_t rgb, double alpha)
{
    double half = fmax(0.0, (w_px - h_px) / 2.0);
    struct paint_point a = { middle_px - half, y_px }, b = { middle_px + half, y_px };
    paint_line(p, a, b, h_px, rgb, alpha);
}

/* Hatching as a bar's, row by row within the pill's round ends. */
static void
draw_pill_hatch(struct paint_picture *p, double middle_px, double y_px, double w_px, double h_px, double unit_px,
                uint32_t rgb, double alpha)
{
    double radius = h_px / 2.0, period = 30.0 * unit_px, width = 12.0 * unit_px;
    for (int y = (int) ceil(y_px - radius); y < (int) floor(y_px + radius); y++) {
        double off = y + 0.5 - y_px, half = w_px / 2.0 - radius + sqrt(fmax(0.0, radius * radius - off * off));
        int x0 = (int) ceil(middle_px - half), x1 = (int) floor(middle_px + half);
        paint_hatch(p, (struct paint_rect){ x0, y, x1 - x0, 1 }, period, width, rgb, alpha);
    }
}

static void
draw_mark(struct paint_picture *p, const struct theme *t, const struct ruler_column *c, double middle_px)
{
    double u = c->scale.unit_px, y = c->middle_y_px, w = RULER_MARK_W * u, h = RULER_MARK_H * u;
    double line = 2.0 * RULER_MARK_LINE * u, frame = 2.4 * line;
    draw_pill(p, middle_px, y, w + line, h + line, c->outline, 1.0);
    draw_pill(p, middle_px, y, w, h, c->rgb, 1.0);
    if (c->hatch > 0.0)
        draw_pill_hatch(p, middle_px, y, w, h, u, t->ground, 0.55 * c->hatch);
    if (c->hollow > 0.0)
        draw_pill(p, middle_px, y, w - frame, h - frame, t->ground, c->hollow);
}

void
ruler_draw_column(struct paint_picture *p, const struct theme *t, const struct ruler_column *c)
{
    double u = c->scale.unit_px, middle = c->room.x_px + c->room.w_px / 2.0, body = ruler_y_px(&c->scale, 0.0);
    double faint = theme_luminance(t->ground) > 0.5 ? RULER_EARLIER_ON_LIGHT : RULER_EARLIER_ON_DARK;
    draw_band(p, t, c);
    for (int i = 0; i < c->n_earlier; i++)
        if (c->earlier_mm[i] >= c->scale.low_mm && c->earlier_mm[i] <= c->scale.high_mm)
            draw_pill(p, middle, ruler_y_px(&c->scale, c->earlier_mm[i]), RULER_EARLIER_W * u, RULER_EARLIER_H * u,
                      t->label, faint);
    paint_fill_smooth(p, c->room.x_px, body - RULER_BODY * u / 2.0, c->room.w_px, RULER_BODY * u, t->figure, 1.0);
    if (c->has_mark && c->has_stem) {
        struct paint_point a = { middle, c->middle_y_px }, b = { middle, c->first_y_px };
        paint_line(p, a, b, RULER_STEM * u, c->outline, 1.0);
        paint_disc(p, b, RULER_DOT * u, c->outline, 1.0);
    }
    if (c->has_mark)
        draw_mark(p, t, c, middle);
}

void
ruler_draw_ticks(struct paint_picture *p, const struct theme *t, const struct ruler_scale *s, int right_px)
{
    int n = (int) lround((s->high_mm - s->low_mm) / RULER_STEP_MM * 2.0);
    for (int i = 0; i <= n; i++) {
        double length = (i % 2 ? RULER_SHORT_TICK : RULER_LONG_TICK) * s->unit_px, line = RULER_TICK * s->unit_px;
        double y = ruler_y_px(s, s->low_mm + i * RULER_STEP_MM / 2.0);
        paint_fill_smooth(p, right_px - length, y - line / 2.0, length, line, t->label, 1.0);
    }
}

void
ruler_draw_arrow(struct paint_picture *p, struct paint_rect r, double line_px, uint32_t rgb)
{
    double x = r.x_px + r.w_px / 2.0, y0 = r.y_px + line_px, y1 = r.y_px + r.h_px - line_px, wing = 0.36 * (y1 - y0);
    struct paint_point shaft[2] = { { x, y1 }, { x, y0 } };
    struct paint_point head[3] = { { x - wing, y0 + wing }, { x, y0 }, { x + wing, y0 + wing } };
    paint_polyline(p, shaft, 2, line_px, rgb, 1.0);
    paint_polyline(p, head, 3, line_px, rgb, 1.0);
}
