#include "ui/trend.h"

#include <assert.h>
#include <math.h>

static int
trend_slot(const struct trend_plot *t, int age)
{
    return (t->head - age + 2 * t->n_slots) % t->n_slots;
}

double
trend_x_px(const struct trend_plot *t, int age)
{
    double slot_px = (double) t->plot.w_px / t->n_slots;
    return t->plot.x_px + t->plot.w_px - (age + 0.5) * slot_px;
}

double
trend_y_px(const struct trend_plot *t, double value)
{
    bool has_band = !isnan(t->low) || !isnan(t->high);
    double height = has_band ? bar_height_px(&t->scale, t->low, t->high, value)
                             : bar_height_px(&t->scale, t->base_low, t->base_high, value);
    return t->plot.y_px + t->plot.h_px - height;
}

int
trend_run(const struct trend_plot *t, int *age, struct paint_point *point)
{
    int n = 0, n_empty = 0;
    assert(t->n_slots <= TREND_MAX_SLOTS);
    for (; *age >= 0; (*age)--) {
        double y = trend_y_px(t, (double) t->value[trend_slot(t, *age)]);
        if (!isnan(y)) {
            point[n++] = (struct paint_point){ trend_x_px(t, *age), y };
            n_empty = 0;
        } else if (n > 0 && ++n_empty > TREND_MAX_BRIDGE) {
            break;
        }
    }
    return n;
}

static void
trend_draw_silent(struct paint_picture *p, const struct theme *theme, const struct trend_plot *t)
{
    for (int age = t->n_slots - 1; age >= 0; age--) {
        if (!t->is_silent[trend_slot(t, age)])
            continue;
        int first = age;
        while (age > 0 && t->is_silent[trend_slot(t, age - 1)])
            age--;
        double half = 0.5 * t->plot.w_px / t->n_slots;
        int x0 = (int) lround(trend_x_px(t, first) - half), x1 = (int) lround(trend_x_px(t, age) + half);
        struct paint_rect r = { x0, t->plot.y_px, x1 - x0, t->plot.h_px };
        paint_hatch(p, paint_intersect(r, t->plot), 12.0 * t->line_px, 4.0 * t->line_px, theme->silent, 1.0);
    }
}

static void
trend_draw_stripe(struct paint_picture *p, const struct theme *theme, const struct trend_plot *t)
{
    if (isnan(t->low) && isnan(t->high))
        return;
    double bottom = t->plot.y_px + t->plot.h_px;
    double y = bottom - t->scale.high_px, h = t->scale.high_px - t->scale.low_px;
    paint_fill_smooth(p, t->plot.x_px, y, t->plot.w_px, h, theme->stripe, 1.0);
}

static void
trend_draw_edges(struct paint_picture *p, const struct theme *theme, const struct trend_plot *t)
{
    if (isnan(t->low) && isnan(t->high))
        return;
    double bottom = t->plot.y_px + t->plot.h_px, line = t->line_px;
    paint_fill_smooth(p, t->plot.x_px, bottom - t->scale.high_px - line / 2, t->plot.w_px, line,
                      theme->stripe_edge, 0.7);
    paint_fill_smooth(p, t->plot.x_px, bottom - t->scale.low_px - line / 2, t->plot.w_px, line,
                      theme->stripe_edge, 0.7);
}

struct paint_rect
trend_tail(const struct trend_plot *t)
{
    /* The newest piece of line begins at most TREND_MAX_BRIDGE slots further back; ends and the disc
     * overhang. */
    int x0 = (int) floor(trend_x_px(t, TREND_MAX_BRIDGE + 2) - 12.0 * t->line_px) - 2;
    int over = (int) ceil(9.0 * t->line_px), x1 = t->plot.x_px + t->plot.w_px + over;
    return (struct paint_rect){ x0, t->plot.y_px - over, x1 - x0, t->plot.h_px + 2 * over };
}

void
trend_draw(struct paint_picture *p, const struct theme *theme, const struct trend_plot *t)
{
    struct paint_point point[TREND_MAX_SLOTS];
    uint32_t ink = t->is_stale ? theme->stale : theme->figure;
    paint_fill(p, t->plot, theme->panel, 1.0);
    trend_draw_stripe(p, theme, t);
    trend_draw_silent(p, theme, t);
    trend_draw_edges(p, theme, t);
    int age = t->n_slots - 1;
    struct paint_point last = { NAN, NAN };
    for (int n = trend_run(t, &age, point); n > 0; n = trend_run(t, &age, point)) {
        paint_polyline(p, point, n, 3.6 * t->line_px, ink, 1.0);
        last = point[n - 1];
    }
    if (isnan(last.x_px) || t->is_stale || last.x_px < trend_x_px(t, 2) - 1.0)
        return;
    /* The newest point keeps clear of the plot's edge. */
    double r = 6.5 * t->line_px;
    last.x_px = fmin(last.x_px, t->plot.x_px + t->plot.w_px - r - 2 * t->line_px);
    paint_disc(p, last, r + 2 * t->line_px, theme->ground, 1.0);
    paint_disc(p, last, r, theme->look[t->side].rgb, 1.0);
}
