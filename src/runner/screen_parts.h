/* screen_parts.h - inside runner/ only: what the files of its screen share.
 *
 * screen.c       what is shown: scenes, looks, motion, type sizes
 * screen_draw.c  the regions, and the ink of bars and trend
 * screen_landing.c the landings: their motion and their ink
 * screen_head.c  cue, status, the lost sensor's sentence, and the scenes without bars
 * screen_state.c what the verdict means for the screen
 * screen_region.c which regions have changed
 * screen_text.c  lines and paragraphs
 * None calls one that stands above it here.
 */
#ifndef RUNNER_SCREEN_PARTS_H
#define RUNNER_SCREEN_PARTS_H

#include <stddef.h>

#include "runner/screen.h"

/* The regions: each is drawn alone, when the hash of what it shows has changed. */
enum screen_region {
    REGION_GROUND = 0,
    REGION_CUE,
    REGION_STATUS,
    REGION_MESSAGE,
    REGION_BAR,                                     /* and the next VERDICT_MAX_BARS - 1 */
    REGION_FIGURE = REGION_BAR + VERDICT_MAX_BARS,  /* likewise: figure and label under the bar */
    REGION_FOOT = REGION_FIGURE + VERDICT_MAX_BARS, /* left, right */
    REGION_RULER = REGION_FOOT + 2,                 /* its figures and ticks */
    REGION_AHEAD,                                   /* its heading */
    REGION_TREND,
    REGION_CENTRE,
    REGION_COUNT
};

_Static_assert(REGION_COUNT <= SCREEN_N_REGIONS, "a hash for each region");

/* ---------------------------------------------------------------- screen_state.c */

/* The bars' values, seen from now, are no longer live. */
bool screen_is_stale(const struct screen *s, struct host_time now);

/* This bar has a target, so that the stripe may be claimed for it. */
bool screen_has_target(const struct verdict_bar *b);

/* The bar is drawn as two halves, left and right. */
bool screen_is_split(const struct verdict *v, int bar);

/* The sentence for the sensor's state: the verdict's own in English, else the language's. */
const char *screen_sentence(const struct screen *s);

/* Copies words with %s replaced by value. */
void screen_fill_in(char *text, size_t cap, const char *words, const char *value);

/* ---------------------------------------------------------------- screen_draw.c */

/* Draws the regions of the scene in force whose content changed; true when any did. Precondition: the
 * layout fits the canvas, and s->drawn is all 0 after a change of scene or layout. */
bool screen_draw_regions(struct screen *s, struct host_time now);

/* Lets a look go to that side's; at once when is_first, else no sooner than SCREEN_DWELL_US after its last change. */
void screen_advance_look(struct screen_look *look, enum verdict_side side, const struct theme *t, struct host_time now,
                         bool is_first);

/* The look's parts in steps too fine to see: red, green, blue; hollow, hatch in 64ths. */
void screen_look_now(const struct screen_look *look, struct host_time now, int32_t out[SCREEN_LOOK_N]);

/* The colour of such a look; half into the ground when stale. */
uint32_t screen_look_rgb(const struct screen *s, const int32_t part[SCREEN_LOOK_N], bool is_stale);

/* ---------------------------------------------------------------- screen_landing.c */

/* Motion and scale, from the verdict in force. */
void screen_advance_landings(struct screen *s, struct host_time now, bool is_first);

/* Draws what changed; true when anything did. */
bool screen_draw_landings(struct screen *s, struct host_time now);

/* ---------------------------------------------------------------- screen_region.c */

/* FNV-1a, 64 bit, eight bytes at a stride where there are as many; never 0. */
uint64_t screen_hash(uint64_t h, const void *data, size_t len);

/* True when the region must be drawn: then its clip is set and its rectangle marked as changed. */
bool screen_begin(struct screen *s, int region, struct paint_rect r, uint64_t hash);

/* Bare ground there; does nothing where the whole picture is bare ground already. */
void screen_clear(struct screen *s, struct paint_rect r);

/* ---------------------------------------------------------------- screen_head.c */

/* Each: true when it was drawn. */
bool screen_draw_cue(struct screen *s);
bool screen_draw_status(struct screen *s);
bool screen_draw_message(struct screen *s, struct host_time now);
bool screen_draw_centre(struct screen *s);

/* ---------------------------------------------------------------- screen_text.c */

/* How a line looks. */
struct screen_type {
    int type_px;
    enum text_weight weight;
    uint32_t rgb;
};

/* One line with its baseline there; returns its advance in pixels. */
int screen_write(struct screen *s, int x_px, int baseline_px, enum text_align align, struct screen_type type,
                 const char *utf8);

/* Advance of a line, pixels. */
int screen_width(struct screen *s, int type_px, enum text_weight w, const char *utf8);

/* Baseline that puts digits of that size in the middle of r. */
int screen_middle(struct screen *s, struct paint_rect r, int type_px, enum text_weight w);

/* r cut in horizontal bands: the part from share a to share b of its height. */
struct paint_rect screen_band(struct paint_rect r, double a, double b);

/* One line in the middle of r. */
void screen_centre_line(struct screen *s, struct paint_rect r, int type_px, enum text_weight w, uint32_t rgb,
                        const char *utf8);

/* A sentence in as many lines of about the same length as it needs; smaller until it fits r. */
void screen_paragraph(struct screen *s, struct paint_rect r, int type_px, enum text_align align,
                      enum text_weight w, uint32_t rgb, const char *utf8);

#endif
