#include "runner/screen_layout.h"

#include <assert.h>
#include <math.h>

/* All in units of u: 1/1080 of a 16:9 picture's height. */
#define LAYOUT_MARGIN      40.0
#define LAYOUT_HEADER      170.0
#define LAYOUT_GAP         28.0
#define LAYOUT_LABEL       58.0
#define LAYOUT_TWO_LABELS  100.0 /* name and unit on two lines */
#define LAYOUT_NARROW      400.0 /* a column this narrow gets two lines */
#define LAYOUT_TREND       190.0
#define LAYOUT_TREND_LABEL 46.0
#define LAYOUT_SIDE        440.0 /* width of the right column in wide pictures */
#define LAYOUT_GUTTER      126.0 /* figures and ticks beside the ruler */
#define LAYOUT_FOOT        260.0 /* widest column of a foot */
#define LAYOUT_STRIPE_LOW  0.54  /* of the bar's room, above the ground line */
#define LAYOUT_STRIPE_HIGH 0.80

#define LAYOUT_DEFAULT_DIAGONAL_INCH 32.0
#define LAYOUT_MM_PER_INCH           25.4

double
screen_height_mm(double angle_deg, double distance_mm)
{
    return 2.0 * distance_mm * tan(angle_deg * 3.14159265358979323846 / 180.0 / 2.0);
}

double
screen_pitch_mm(int width_px, int height_px, double diagonal_inch)
{
    return diagonal_inch * LAYOUT_MM_PER_INCH / hypot(width_px, height_px);
}

static int
layout_px(double x)
{
    return (int) lround(x);
}

/* A rectangle from edges, so that neighbours share their rounding. */
static struct paint_rect
layout_rect(double x0, double y0, double x1, double y1)
{
    int left = layout_px(x0), top = layout_px(y0);
    return (struct paint_rect){ left, top, layout_px(x1) - left, layout_px(y1) - top };
}

/* How tall the figures get: what the eye needs or a little more, as far as the columns let them. */
static void
layout_figures(struct screen_layout *l, const struct screen_geometry *g, double column_px, double u)
{
    double pitch = isnan(g->pitch_mm)
                       ? screen_pitch_mm(g->width_px, g->height_px, LAYOUT_DEFAULT_DIAGONAL_INCH)
                       : g->pitch_mm;
    l->figure_want_px = screen_height_mm(SCREEN_FIGURE_DEG, g->viewing_distance_mm) / pitch;
    double by_width = column_px / SCREEN_FIGURE_GLYPHS / g->digit_advance_ratio * g->digit_height_ratio;
    double by_height = 0.17 * g->height_px;
    double height = fmin(fmax(l->figure_want_px * 1.02, 108.0 * u), fmin(by_width, by_height));
    l->figure_type_px = (int) ceil(height / g->digit_height_ratio);
    if (l->figure_type_px * g->digit_height_ratio > fmin(by_width, by_height))
        l->figure_type_px--;
    l->figure_height_px = l->figure_type_px * g->digit_height_ratio;
    l->figure_is_tall_enough = l->figure_height_px >= l->figure_want_px;
}

/* Height of the label under a figure. */
static double
layout_label_px(const struct screen_layout *l, double u)
{
    return (l->label_lines == 2 ? LAYOUT_TWO_LABELS : LAYOUT_LABEL) * u;
}

/* Columns from the bars' top to the ground line, figures and labels below it. */
static void
layout_columns(struct screen_layout *l, double u, double x0, double x1, double top, double ground)
{
    double step = (x1 - x0) / l->n_bars, room = ground - top, label = layout_label_px(l, u);
    double figure_y = ground + 28.0 * u, label_y = figure_y + l->figure_height_px + 14.0 * u;
    l->bars = layout_rect(x0, top, x1, ground);
    l->stripe = layout_rect(x0, ground - LAYOUT_STRIPE_HIGH * room, x1, ground - LAYOUT_STRIPE_LOW * room);
    for (int i = 0; i < l->n_bars; i++) {
        double left = x0 + i * step, right = left + step, bar = fmin(0.66 * step, 330.0 * u);
        double middle = (left + right) / 2;
        l->column[i] = layout_rect(left, top, right, label_y + label);
        l->bar[i] = layout_rect(middle - bar / 2, top, middle + bar / 2, ground);
        l->figure[i] =
            layout_rect(left + 4 * u, figure_y, right - 4 * u, figure_y + ceil(l->figure_height_px));
        l->label[i] = layout_rect(left + 6 * u, label_y, right - 6 * u, label_y + label);
    }
}

/* The ruler's scale at the left, a column for each foot beside it, its heading above and their labels below. */
static void
layout_feet(struct screen_layout *l, double u, double x0, double y0, double x1, double y1)
{
    double gutter = LAYOUT_GUTTER * u, column = fmin(LAYOUT_FOOT * u, (x1 - x0 - gutter) / 2);
    double left = (x0 + x1 - gutter) / 2 - column, top = y0 + LAYOUT_LABEL * u, bottom = y1 - LAYOUT_LABEL * u;
    if (left < x0)
        left = x0;
    l->feet = layout_rect(x0, y0, x1, y1);
    l->ruler_head = layout_rect(left, y0, left + gutter + 2 * column, top);
    l->ruler_scale = layout_rect(left, top, left + gutter, bottom);
    for (int i = 0; i < 2; i++) {
        double x = left + gutter + i * column;
        l->foot[i] = layout_rect(x, top, x + column, bottom);
        l->foot_label[i] = layout_rect(x, bottom, x + column, y1);
    }
}

static void
layout_trend(struct screen_layout *l, double u, double x0, double y0, double x1, double y1)
{
    double plot = y0 + LAYOUT_TREND_LABEL * u, room = y1 - plot;
    l->trend = layout_rect(x0, y0, x1, y1);
    l->trend_label = layout_rect(x0, y0, x1, plot);
    l->trend_plot = layout_rect(x0, plot, x1, y1);
    l->trend_stripe = layout_rect(x0, plot + 0.39 * room, x1, plot + 0.61 * room);
}

static void
layout_wide(struct screen_layout *l, const struct screen_geometry *g, double u)
{
    double m = LAYOUT_MARGIN * u, w = g->width_px, h = g->height_px, gap = LAYOUT_GAP * u;
    double side = fmin(LAYOUT_SIDE * u, 0.3 * w), x1 = w - m - side - 1.5 * gap,
           header = m + LAYOUT_HEADER * u;
    double trend_y = h - m - LAYOUT_TREND * u;
    l->label_lines = (x1 - m) / l->n_bars < LAYOUT_NARROW * u ? 2 : 1;
    layout_figures(l, g, (x1 - m) / l->n_bars, u);
    double below = (28.0 + 14.0) * u + layout_label_px(l, u) + ceil(l->figure_height_px) + 0.6 * gap;
    layout_columns(l, u, m, x1, header + gap, trend_y - below);
    layout_feet(l, u, w - m - side, header + gap, w - m, trend_y - 0.6 * gap);
    layout_trend(l, u, m, trend_y, w - m, h - m);
    double ring = LAYOUT_HEADER * u - 8 * u;
    l->cue = layout_rect(m, m, x1, header);
    l->message = layout_rect(m, m, w - m, header);
    l->ring = layout_rect(w - m - side, m, w - m - side + ring, m + ring);
    l->status = layout_rect(w - m - side + ring + 24 * u, m, w - m, header);
}

static void
layout_tall(struct screen_layout *l, const struct screen_geometry *g, double u)
{
    double m = LAYOUT_MARGIN * u, w = g->width_px, h = g->height_px, gap = LAYOUT_GAP * u;
    double status_y = m + LAYOUT_HEADER * u, cue_y = status_y + gap, header = cue_y + 140.0 * u;
    double trend_y = h - m - LAYOUT_TREND * u;
    l->label_lines = (w - 2 * m) / l->n_bars < LAYOUT_NARROW * u ? 2 : 1;
    layout_figures(l, g, (w - 2 * m) / l->n_bars, u);
    double below = (28.0 + 14.0) * u + layout_label_px(l, u) + ceil(l->figure_height_px) + gap;
    double rest = trend_y - gap - (header + gap) - below; /* bars and landings share it */
    double ground = header + gap + 0.45 * rest;
    layout_columns(l, u, m, w - m, header + gap, ground);
    layout_feet(l, u, m, ground + below, w - m, trend_y - gap);
    layout_trend(l, u, m, trend_y, w - m, h - m);
    double ring = LAYOUT_HEADER * u - 8 * u;
    l->cue = layout_rect(m, cue_y, w - m, header);
    l->message = layout_rect(m, m, w - m, header);
    l->ring = layout_rect(m, m, m + ring, m + ring);
    l->status = layout_rect(m + ring + 24 * u, m, w - m, status_y);
}

void
screen_layout(struct screen_layout *l, const struct screen_geometry *g)
{
    assert(g->width_px >= 320 && g->height_px >= 240);
    assert(g->n_bars >= 0 && g->n_bars <= VERDICT_MAX_BARS);
    *l = (struct screen_layout){ .is_tall = g->height_px > g->width_px };
    l->n_bars = g->n_bars == 0 ? 3 : g->n_bars;
    double u = l->is_tall ? fmin(g->width_px / 1080.0, g->height_px / 1500.0)
                          : fmin(g->width_px / 1920.0, g->height_px / 1080.0);
    l->whole = (struct paint_rect){ 0, 0, g->width_px, g->height_px };
    l->line_px = fmax(1.0, 3.0 * u);
    if (l->is_tall)
        layout_tall(l, g, u);
    else
        layout_wide(l, g, u);
    double m = 2 * LAYOUT_MARGIN * u;
    l->centre = layout_rect(m, m, g->width_px - m, g->height_px - m);
    int side = layout_px(fmin(l->centre.w_px, 0.70 * l->centre.h_px));
    l->silent_ring = (struct paint_rect){ l->centre.x_px + (l->centre.w_px - side) / 2, l->centre.y_px, side, side };
    l->silent_type_px[0] = l->silent_type_px[1] = l->figure_type_px * 13 / 10;
    l->cue_type_px = layout_px(fmin(128.0 * u, 0.74 * l->cue.h_px)); /* room for descenders */
    l->label_type_px = layout_px(46.0 * u);
    l->foot_type_px = layout_px(42.0 * u);
    l->ruler_type_px = layout_px(36.0 * u);
    l->ruler_unit_px = u;
    l->status_type_px = layout_px(40.0 * u);
    l->ring_type_px = layout_px(84.0 * u);
    l->message_type_px = layout_px(64.0 * u);
}
