/* panel_parts.h - what the drawing files of the panel share.
 *
 *      panel_draw --> a page, a question --> targets, sensor, speed, tally, blocks --> panel_parts.c --> widgets
 */
#ifndef PAGES_PANEL_PARTS_H
#define PAGES_PANEL_PARTS_H

#include "pages/panel_words.h"
#include "panel/panel.h"
#include "ui/widget.h"

#define PANEL_DASH "\xE2\x80\x93"

struct panel_pen {
    struct widget_pen w;
    struct panel *p;        /* its spots and axes are filled in */
    const struct panel_words *words;
    int u;                  /* unit, px */
    struct paint_rect body; /* between header and message line */
};

/* How words look. */
struct panel_ink {
    enum widget_size size;
    uint32_t rgb;
    bool is_bold;
    enum text_align align;
};

/* Left, regular; left, bold. */
struct panel_ink panel_ink(enum widget_size size, uint32_t rgb);
struct panel_ink panel_bold(enum widget_size size, uint32_t rgb);

/* As widget_text() and widget_wrap(), in the physio's language; what a person typed is for the widgets themselves. A wrapped
 * text is left and regular. */
int panel_text(struct panel_pen *n, int x, int y, int w, struct panel_ink ink, const char *english);
int panel_wrap(struct panel_pen *n, int x, int y, int w, int max_lines, struct panel_ink ink, const char *english);
const char *panel_word(const struct panel_pen *n, const char *english);

/* A message in the panel's language. Returns out. */
#define PANEL_TOLD_MAX 1024
const char *panel_told(const struct panel_pen *n, const struct message *m, char out[PANEL_TOLD_MAX]);

/* Fills {1} .. of a text with so many parts. */
#define PANEL_FILL(n, out, english, ...)                                                                                    \
    panel_words_fill((n)->words, out, sizeof(out), english, (const char *const[]){ __VA_ARGS__ },                           \
                     (int) (sizeof((const char *const[]){ __VA_ARGS__ }) / sizeof(char *)))

/* A whole number as text. */
const char *panel_count(char text[24], int n);

void panel_spot(struct panel_pen *n, struct paint_rect r, enum panel_action action, int number);
void panel_spot_edge(struct panel_pen *n, struct paint_rect r, int target, enum panel_edge edge);

/* A button that does what a key of the context does, with that key's cap. */
void panel_button(struct panel_pen *n, struct paint_rect r, enum panel_action action, int number,
                  const char *label, bool is_on);

/* A heading with a rule under it; returns the y below. */
int panel_heading(struct panel_pen *n, int x, int y, int w, const char *text);

/* "label   value" on one line; returns the y below. */
int panel_pair(struct panel_pen *n, int x, int y, int w, const char *label, const char *value);

/* What a figure is written in, on the panel, of its own unit: an impulse of braking in thousandths, which fit the columns. */
double panel_scale(enum metric m);

/* Short label of a metric for people, unit included: "cadence, steps/min". */
const char *panel_metric_label(enum metric m);
/* The value with useful digits and the language's decimal sign, or a dash. */
const char *panel_value(const struct panel_pen *n, char text[24], enum metric m, double value);
/* A change in per cent, with its sign. */
const char *panel_percent(const struct panel_pen *n, char text[24], double pct);
/* With its sign. */
const char *panel_change(const struct panel_pen *n, char text[24], enum metric m, double value);
const char *panel_number(const struct panel_pen *n, char text[24], double value, int digits, const char *unit);

/* A sheet in the middle, w by h; the page below is dimmed, and nothing of it can be touched. Returns the place within. */
struct paint_rect panel_sheet(struct panel_pen *n, int w, int h, const char *title);
/* Its two buttons, at the foot of r. */
void panel_yes_no(struct panel_pen *n, struct paint_rect r, const char *yes, const char *no, bool is_yes_usual);

/* A column of the summary's figures: its head, and its share of the width. */
#define PANEL_SUMMARY_N_COLUMNS 8
const char *panel_summary_column(int i, double *share);

void panel_draw_runners(struct panel_pen *n);
void panel_draw_visit(struct panel_pen *n);
void panel_draw_live(struct panel_pen *n);
void panel_draw_summary(struct panel_pen *n);
void panel_draw_course(struct panel_pen *n);
void panel_draw_question(struct panel_pen *n);
void panel_draw_calibration(struct panel_pen *n); /* its sheet, and what is asked over it */
/* "Profile mat-16x8, calibration: zeroed 3 days ago". Returns out. */
const char *panel_calibration_text(struct panel_pen *n, char out[3 * PANEL_WORDS_MAX]);

/* The targets side by side in r: bands that can be dragged, baseline, bar, warnings below. */
void panel_draw_targets(struct panel_pen *n, struct paint_rect r);

/* Every warning of every target, in few words each where the whole would take more than max_px. Returns the height. */
int panel_draw_warnings(struct panel_pen *n, int x, int y, int w, int max_px);
int panel_warnings_px(struct panel_pen *n, int w, int max_px); /* that height */

/* The question before a run that begins with warnings in force. */
void panel_draw_warned(struct panel_pen *n);

/* The belt's speed before the run, in r, panel_speed_px() high; and the field that it is typed into. */
void panel_draw_speed(struct panel_pen *n, struct paint_rect r);
int panel_speed_px(struct panel_pen *n, int w);
void panel_draw_typed_speed(struct panel_pen *n);

/* The sensor's elements as they are now, and below them each judgement of the check with what to do. */
void panel_draw_sensor(struct panel_pen *n, struct paint_rect r);

/* What is wrong with the sensor, in the words that the runner's screen has for it; NULL: nothing. */
const char *panel_live_sentence(const struct panel_pen *n, char told[PANEL_TOLD_MAX]);

/* What a block is called, in English. */
const char *panel_block_name(enum verdict_block b);

/* panel_draw_blocks.c: the blocks of a visit by its leading figure, as many as fit above bottom_px. Returns the y below. */
int panel_draw_blocks(struct panel_pen *n, int x, int y, int w, int bottom_px, const struct panel_visit *v);
int panel_blocks_px(struct panel_pen *n, const struct panel_visit *v); /* that all of them want */

/* The tally with its ticks and its sentence, above bottom_px: where a row a sign does not fit, the signs that are not
 * ticked stand in one text. */
void panel_draw_tally(struct panel_pen *n, int x, int y, int w, int bottom_px, const struct tally *t,
                      const enum tally_state *ticks);

#endif
