/* ruler.h - how far ahead of the body the feet land: a distance ruler seen from above, ahead is up.
 *
 * In:  millimetres ahead of the centre of mass, the target band, a look.   Out: pixels.
 * How: one straight scale for both feet, with a line for the body at 0; a column a foot. In it, from back to front:
 *
 *      ________________      the target band, a strip
 *      --- ------- ---       single earlier landings, faint and wider than the mark, so that they show beside it
 *         [=======]          one strong mark where the middle of the foot lands; its look is a bar's (theme.h)
 *             |
 *             o              a thin stem to where the load came first: down, behind the middle, for a heel landing, up for
 *      ================      a forefoot landing; the body's line
 *
 *      case 1   no landing known            neither mark nor stem; faint ones as far as there are some
 *      case 2   only the middle is known    a mark without a stem                 (test: without_a_first_load_...)
 *      case 3   the mark leaves the scale   ruler_fit widens the scale first; past RULER_LEAST_MM or RULER_MOST_MM,
 *                                           further than a leg reaches, it stays at the scale's end
 *
 * Pure geometry; ruler_draw_column and ruler_draw_ticks ink.  Memory: none.  Errors: none.
 */
#ifndef UI_RULER_H
#define UI_RULER_H

#include <stdbool.h>

#include "ui/paint.h"
#include "ui/theme.h"

#define RULER_MAX_EARLIER 8
#define RULER_STEP_MM     100.0 /* of the long ticks, and of the scale's growth */
#define RULER_LOW_MM      0.0   /* the scale's ends to begin with */
#define RULER_HIGH_MM     300.0
#define RULER_LEAST_MM    (-200.0)
#define RULER_MOST_MM     600.0

struct ruler_scale {
    int top_px, bottom_px; /* of the room on the picture; half a mark's height is kept free at either end */
    double unit_px;        /* of marks and lines: 1/1080 of a wide picture's height */
    double low_mm, high_mm;
};

struct ruler_column {
    struct paint_rect room; /* its top and bottom are the scale's */
    struct ruler_scale scale;
    double band_low_mm, band_high_mm; /* NAN: open; both NAN: no target */
    int n_earlier;
    double earlier_mm[RULER_MAX_EARLIER];
    bool has_mark, has_stem;
    double middle_y_px, first_y_px; /* valid when has_mark, has_stem */
    uint32_t rgb;
    double hollow, hatch; /* 0..1, as a bar's */
    uint32_t outline;     /* of the mark; the stem */
};

/* Widens *low_mm and *high_mm in steps of RULER_STEP_MM until mm lies between them, at most to the limits. NAN: as it is. */
void ruler_fit(double *low_mm, double *high_mm, double mm);

/* Place on the picture, kept within the scale's ends. */
double ruler_y_px(const struct ruler_scale *s, double mm);

/* Rows that mark and stem take with all their ink: *y0 <= y < *y1; both 0 without a mark. */
void ruler_ink_rows(const struct ruler_column *c, int *y0, int *y1);

/* Onto ground that is clear. */
void ruler_draw_column(struct paint_picture *p, const struct theme *t, const struct ruler_column *c);

/* Ticks that end at right_px: long ones at whole steps, short ones halfway. */
void ruler_draw_ticks(struct paint_picture *p, const struct theme *t, const struct ruler_scale *s, int right_px);

/* An arrow up in the middle of r, as tall as it. */
void ruler_draw_arrow(struct paint_picture *p, struct paint_rect r, double line_px, uint32_t rgb);

#endif
