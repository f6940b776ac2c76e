/* trend.h - the last two minutes of one value behind the same stripe as the bars.
 *
 * In:  slots of equal time, oldest first by index, NAN = nothing in the slot.   Out: points; pixels.
 * How: the newest slot lies at the right edge. One empty slot is bridged, more break the line. Silent
 *      slots are hatched over the plot's full height.
 * Pure geometry; trend_draw inks.  Memory: none.  Errors: none.
 */
#ifndef UI_TREND_H
#define UI_TREND_H

#include <stdbool.h>

#include "ui/bar.h"
#include "ui/paint.h"
#include "ui/theme.h"

#define TREND_MAX_SLOTS  240
#define TREND_MAX_BRIDGE 1 /* empty slots that the line crosses */

struct trend_plot {
    struct paint_rect plot;
    struct bar_scale scale; /* heights above the plot's bottom */
    double line_px;
    int n_slots;                /* <= TREND_MAX_SLOTS */
    int head;                   /* slot of now; the slot after it is the oldest */
    const float *value;         /* borrowed */
    const bool *is_silent;      /* borrowed */
    double low, high;           /* target band; both NAN = no stripe */
    double base_low, base_high; /* scale where there is no target */
    enum theme_side side;       /* of the newest value */
    bool is_stale;
};

/* Middle of the slot that is age slots old (0 = now), pixels. */
double trend_x_px(const struct trend_plot *t, int age);

/* Height of a value on the picture (y, down), by the target's scale or the base scale. NAN for NAN. */
double trend_y_px(const struct trend_plot *t, double value);

/* The next unbroken run of values. *age: where to look from (TREND start: n_slots - 1), then where the
 * next call looks. Returns the number of points put into point (cap TREND_MAX_SLOTS), 0 at the end. */
int trend_run(const struct trend_plot *t, int *age, struct paint_point *point);

/* What the newest value can change: the end of the plot, and what ink overhangs it. */
struct paint_rect trend_tail(const struct trend_plot *t);

void trend_draw(struct paint_picture *p, const struct theme *theme, const struct trend_plot *t);

#endif
