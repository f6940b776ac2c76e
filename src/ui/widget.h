/* widget.h - the small parts of a page for a person at a desk: words in sizes, key caps, buttons, fields,
 * ticks.
 *
 * In:  a pen (picture, fonts, theme, unit) and where.   Out: pixels; widths and heights used.
 * How: all sizes are shares of one unit, the height of body text, so that a page fits any display. State is
 *      never told by colour alone: a chosen row has a bar at its left, a wrong field a sign and its reason, a
 *      tick a mark, an absent sign a dash.
 * Memory: none but glyphs at first use.   Errors: none; text that does not fit ends in an ellipsis.
 */
#ifndef UI_WIDGET_H
#define UI_WIDGET_H

#include <stdbool.h>

#include "ui/paint.h"
#include "ui/text.h"
#include "ui/theme.h"

#define WIDGET_MAX_TEXT 700

enum widget_size {
    WIDGET_SMALL = 0, /* 0.82 of the unit */
    WIDGET_BODY,
    WIDGET_TITLE,  /* 1.45 */
    WIDGET_FIGURE, /* 2.6 */
};

/* Where words and buttons were put, for tests of a page's layout. */
#define WIDGET_LOG_MAX 512
struct widget_log {
    int n;
    struct {
        struct paint_rect r; /* of the ink's line, or of the button */
        bool is_button, is_cut;
        char text[48]; /* its start */
    } row[WIDGET_LOG_MAX];
};

struct widget_pen {
    struct paint_picture *picture;
    struct text *text;
    const struct theme *theme;
    int unit_px;
    struct widget_log *log; /* NULL: nothing is noted */
};

int widget_px(const struct widget_pen *w, enum widget_size size);
int widget_line_px(const struct widget_pen *w, enum widget_size size); /* from line to line */

/* One line whose top is y_px, at most width_px wide (cut with an ellipsis). Returns its width. */
int widget_text(const struct widget_pen *w, int x_px, int y_px, int width_px, enum text_align align,
                enum widget_size size, bool is_bold, uint32_t rgb, const char *utf8);

/* Words wrapped into width_px and newlines kept, at most max_lines (the last ends in an ellipsis). Returns
 * the height used. rgb 0xFFFFFFFF: nothing is drawn, only measured. */
int widget_wrap(const struct widget_pen *w, int x_px, int y_px, int width_px, int max_lines,
                enum widget_size size, uint32_t rgb, const char *utf8);
#define WIDGET_MEASURE 0xFFFFFFFFu

/* A key as it stands on a keyboard; returns its width. */
int widget_cap(const struct widget_pen *w, int x_px, int y_px, const char *cap);
int widget_cap_width_px(const struct widget_pen *w, const char *cap);

/* A button with its key's cap (NULL: none). is_on: filled. */
void widget_button(const struct widget_pen *w, struct paint_rect r, const char *cap, const char *label,
                   bool is_on);

/* A field with its label above, what is typed, and below it the hint, or what is wrong. */
void widget_field(const struct widget_pen *w, struct paint_rect r, const char *label, const char *typed,
                  const char *hint, const char *why, bool has_caret);

/* A row of a list; a chosen one has a bar at its left and a lighter ground. */
void widget_row(const struct widget_pen *w, struct paint_rect r, bool is_chosen);

/* A box for a tick, size_px wide: 0 empty, 1 ticked, 2 a dash (looked at, not there). */
void widget_tick(const struct widget_pen *w, int x_px, int y_px, int size_px, int state);

/* A thin frame. */
void widget_frame(const struct widget_pen *w, struct paint_rect r, int line_px, uint32_t rgb);

#endif
