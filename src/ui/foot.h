/* foot.h - the sole of a foot seen from above, toes up, with the last landings on it.
 *
 * In:  strike indices (% of the foot's length from the heel) or zones, the target zone.   Out: pixels.
 * How: our own outline, eighteen points of the right sole joined by a closed Catmull-Rom curve; the left is
 *      its mirror image. A landing lies at its index on the long axis; its small sideways offset only keeps
 *      dots apart and means nothing.
 *
 *      case 1   index known     a dot: disc in the zone, ring behind it, disc with a bar ahead of it
 *      case 2   zone only       that third is filled, nothing finer claimed  (test: a_zone_fills_its_third)
 *
 * Pure geometry; foot_draw inks.  Memory: none.  Errors: none.
 */
#ifndef UI_FOOT_H
#define UI_FOOT_H

#include <stdbool.h>

#include "ui/paint.h"
#include "ui/theme.h"

#define FOOT_N_KNOTS     18
#define FOOT_N_BETWEEN   6
#define FOOT_N_POINTS    (FOOT_N_KNOTS * FOOT_N_BETWEEN)
#define FOOT_WIDTH_RATIO 0.44 /* of the outline's room: width / length */
#define FOOT_MAX_DOTS    8

struct foot_dot {
    double index_pct; /* NAN = only the third is known */
    int third;        /* 0 unknown, 1 rear, 2 mid, 3 fore */
    double sideways;  /* -1..1 */
};

struct foot_shape {
    struct paint_rect room; /* heel at its bottom, toes at its top */
    bool is_left;
    bool is_stale;
    double line_px;
    double zone_low_pct, zone_high_pct; /* NAN = no target */
    int n_dots;
    struct foot_dot dot[FOOT_MAX_DOTS]; /* newest first */
};

/* The outline, FOOT_N_POINTS points, inside room. */
void foot_outline(struct paint_rect room, bool is_left, struct paint_point *point);

/* Height on the picture of a strike index; clamped to 0..100. */
double foot_y_px(struct paint_rect room, double index_pct);

/* Side of the target zone an index lies on; THEME_UNKNOWN without one. */
enum theme_side foot_side(double index_pct, double low_pct, double high_pct);

void foot_draw(struct paint_picture *p, const struct theme *t, const struct foot_shape *f);

#endif
