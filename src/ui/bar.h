/* bar.h - one bar against the level stripe: its height from a value, and its ink.
 *
 * In:  a value and its target band.   Out: a height above the ground line; pixels.
 * How: every bar has its own scale, such that its band is the same stripe on the screen.
 *
 *      max  ------------------   never passed: beyond the stripe the scale closes up smoothly,
 *                                 room * (1 - exp(-d / room)), d = distance on the straight scale
 *      high ================== |
 *                              | straight: low -> low_px, high -> high_px, exactly
 *      low  ================== |
 *      min  ------------------   never undercut: a bar never vanishes
 *      0    __________________   ground line
 *
 *      case 1   both ends of the band known                              (test: the_band_is_the_stripe)
 *      case 2   one end open (NAN): the open side stays inside the stripe (test: an_open_end_stays_inside)
 *
 * Pure geometry; bar_draw inks a paint_picture.  Memory: none.  Errors: none; NAN in, NAN out.
 */
#ifndef UI_BAR_H
#define UI_BAR_H

#include "ui/paint.h"
#include "ui/theme.h"

/* Heights above the ground line: 0 < min < low < high < max. */
struct bar_scale {
    double min_px, low_px, high_px, max_px;
};

struct bar_shape {
    double x_px, w_px;
    double ground_y_px;
    double height_px;
    double cap_px;  /* height of the hollow end, which carries the chevron up */
    double sign_px; /* height above the ground of the chevron down: clear of the stripe */
    double line_px; /* width of outlines */
    uint32_t rgb;
    double hollow; /* 0..1: below, the cap is a frame with a chevron up */
    double hatch;  /* 0..1: above, hatched but for a plain tile with a chevron down */
};

/* Height of value's bar above the ground line. NAN when value is NAN or neither end is known. */
double bar_height_px(const struct bar_scale *s, double low, double high, double value);

/* Inks the bar onto ground. */
void bar_draw(struct paint_picture *p, const struct theme *t, const struct bar_shape *b);

#endif
