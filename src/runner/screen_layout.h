/* screen_layout.h - where everything on the runner's screen lies: numbers in, rectangles out.
 *
 * In:  size in pixels, bars, millimetres a pixel, viewing distance, the font's proportions.
 * Out: rectangles that do not overlap and lie inside the picture, type sizes, the stripe.
 * How: wide pictures: bars left, landings right, trend along the bottom. Tall ones: bars, landings, trend from top to
 *      bottom. The figures get their height first (0.9 degree), the rest shares what remains.
 *
 * Pure.  Memory: the struct.  Errors: none; when the figures can't be tall enough, figure_is_tall_enough
 * is false and figure_height_px is what fits.
 */
#ifndef RUNNER_SCREEN_LAYOUT_H
#define RUNNER_SCREEN_LAYOUT_H

#include <stdbool.h>

#include "coach/verdict.h"
#include "ui/paint.h"

#define SCREEN_FIGURE_DEG    0.9 /* least visual angle of a figure */
#define SCREEN_RING_WIDTH    0.075 /* of the silent ring's side */
#define SCREEN_RING_ROOM     0.78 /* of its side: as wide as digits between its inner edges may be */
#define SCREEN_FIGURE_GLYPHS 3.3 /* widest figure, in digits, with air */

struct screen_geometry {
    int width_px, height_px;
    int n_bars;      /* 1..VERDICT_MAX_BARS; 0 is laid out as 3 */
    double pitch_mm; /* millimetres a pixel; NAN = unknown: 32 inch assumed */
    double viewing_distance_mm;
    double digit_height_ratio;  /* digit height / type size of the font in use; B612: 0.70 */
    double digit_advance_ratio; /* widest digit's advance / type size */
};

struct screen_layout {
    bool is_tall;
    int n_bars;
    struct paint_rect whole;
    struct paint_rect cue;                      /* one line, above the bars */
    struct paint_rect message;                  /* full width, takes the place of cue, status and ring */
    struct paint_rect status;                   /* block's name and belt speed */
    struct paint_rect ring;                     /* square */
    struct paint_rect bars;                     /* all columns, down to the ground line */
    struct paint_rect column[VERDICT_MAX_BARS]; /* bar, figure and label: tiles bars' width */
    struct paint_rect bar[VERDICT_MAX_BARS];    /* the bar's own room; its bottom is the ground line */
    struct paint_rect figure[VERDICT_MAX_BARS];
    struct paint_rect label[VERDICT_MAX_BARS];
    struct paint_rect stripe;  /* the target band: the same for all bars */
    struct paint_rect feet;    /* all about the landings */
    struct paint_rect ruler_head;  /* heading above the columns */
    struct paint_rect ruler_scale; /* figures and ticks, left of them */
    struct paint_rect foot[2];     /* [0] left, [1] right: ahead is up */
    struct paint_rect foot_label[2];
    struct paint_rect trend; /* plot with its label */
    struct paint_rect trend_label;
    struct paint_rect trend_plot;
    struct paint_rect trend_stripe;
    struct paint_rect centre; /* for the silent, waiting and rest scenes */
    struct paint_rect silent_ring; /* square, at the top of centre; time left stands in it */
    int silent_type_px[2];    /* "8:88" and "88:88" in the ring */
    int label_lines;          /* 2: the unit under the name, where columns are narrow */
    int figure_type_px, cue_type_px, label_type_px, foot_type_px, ruler_type_px, status_type_px, ring_type_px,
        message_type_px;
    double ruler_unit_px; /* of the landings' marks: ui/ruler.h */
    double figure_height_px; /* of the digits */
    double figure_want_px;   /* for SCREEN_FIGURE_DEG at the distance */
    bool figure_is_tall_enough;
    double line_px; /* the unit of line widths */
};

/* Height in mm that takes angle_deg at distance_mm: 2 D tan(a / 2), exact. */
double screen_height_mm(double angle_deg, double distance_mm);

/* Millimetres a pixel of a display with that diagonal. */
double screen_pitch_mm(int width_px, int height_px, double diagonal_inch);

/* Fills l. Precondition: width_px >= 320, height_px >= 240. */
void screen_layout(struct screen_layout *l, const struct screen_geometry *g);

#endif
