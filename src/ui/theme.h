/* theme.h - colours and shapes: what each state looks like, never by colour alone.
 *
 * Palette: Okabe and Ito 2008, Color Universal Design (jfly.uni-koeln.de/color), chosen to stay apart
 * under the three kinds of colour blindness; each side has a pattern and a sign as well:
 *
 *      below   blue     hollow top edge   chevron up
 *      in      green    solid             no sign
 *      above   orange   hatched           chevron down (below the stripe, on a plain tile)
 *      unknown grey     solid, no stripe  dash
 *
 * Contrast: WCAG 2.2, relative luminance and contrast ratio. Figures reach 7:1 on the ground (tested).
 */
#ifndef UI_THEME_H
#define UI_THEME_H

#include <stdint.h>

enum theme_kind {
    THEME_DARK = 0,
    THEME_LIGHT,
};

/* Looks of a side; the order of enum verdict_side, which ui does not know. */
enum theme_side { THEME_UNKNOWN = 0, THEME_BELOW, THEME_IN, THEME_ABOVE, THEME_N_SIDES };

struct theme_look {
    uint32_t rgb;
    double hollow; /* 1 = only the frame and the top edge are inked */
    double hatch;  /* 1 = hatched */
};

struct theme {
    uint32_t ground;      /* behind everything */
    uint32_t panel;       /* trend */
    uint32_t figure;      /* large figures, cue */
    uint32_t label;       /* units and labels */
    uint32_t stale;       /* figures that are no longer live */
    uint32_t stripe;      /* inside of the target stripe */
    uint32_t stripe_edge; /* its edges, over the bars */
    uint32_t rule;        /* ground line */
    uint32_t track;       /* ring behind the arc */
    uint32_t silent;      /* hatching of silent time */
    uint32_t alert;       /* ground of the sentence when the sensor is lost */
    uint32_t alert_text;
    struct theme_look look[THEME_N_SIDES];
};

struct theme theme_of(enum theme_kind kind);

/* Relative luminance 0..1 of 0xRRGGBB: WCAG 2.2, "relative luminance". */
double theme_luminance(uint32_t rgb);

/* Contrast ratio 1..21: (lighter + 0.05) / (darker + 0.05), WCAG 2.2, "contrast ratio". */
double theme_contrast(uint32_t a, uint32_t b);

/* Flashes a second (pairs of opposing changes) of something that changes n_changes_per_step times at each
 * step: cadence_spm / 60 * n_changes_per_step / 2. WCAG 2.3.1 allows 3. */
double theme_flash_hz(double cadence_spm, int n_changes_per_step);

#endif
