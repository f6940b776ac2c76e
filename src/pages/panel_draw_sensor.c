/* panel_draw_sensor.c - the sensor while it is checked: its elements as they are now, and what the check says of them.
 *
 *      mat        a grid, the rearmost row below; the lighter, the more load
 *      cells      a bar each
 *      switches   a box each, filled as far as it is loaded
 *
 * When nothing comes any more that is said, and what came last is grey.
 */
#include "base/mark.h"
#include "base/str.h"
#include "pages/panel_parts.h"

#include <math.h>
#include <stdio.h>

static void
draw_grid(struct panel_pen *n, struct paint_rect r, const struct panel_elements *e, uint32_t rgb)
{
    const struct theme *t = n->w.theme;
    const int by_height = r.h_px / e->n_rows, by_width = r.w_px / e->n_cols;
    const int side = by_height < by_width ? by_height : by_width, gap = side >= 8 ? 1 : 0;
    const int x = r.x_px + (r.w_px - side * e->n_cols) / 2;
    for (int row = 0; row < e->n_rows && side > 0; row++)
        for (int col = 0; col < e->n_cols; col++) {
            const double share = sqrt((double) e->share[row * e->n_cols + col]); /* so that a light load is seen too */
            const struct paint_rect cell = { x + col * side, r.y_px + (e->n_rows - 1 - row) * side, side - gap, side - gap };
            paint_fill(n->w.picture, cell, paint_mix(t->track, rgb, share), 1);
        }
}

static void
draw_bars(struct panel_pen *n, struct paint_rect r, const struct panel_elements *e, uint32_t rgb)
{
    const struct theme *t = n->w.theme;
    const int line = widget_line_px(&n->w, WIDGET_SMALL), w = r.w_px / e->n_cols, h = r.h_px - 2 * line;
    for (int i = 0; i < e->n_cols; i++) {
        const struct paint_rect track = { r.x_px + i * w, r.y_px + line, w - n->u / 2, h };
        const int fill = isnan(e->share[i]) ? 0 : (int) lround(h * (double) e->share[i]);
        char text[24];
        paint_fill(n->w.picture, track, t->track, 1);
        paint_fill(n->w.picture, (struct paint_rect){ track.x_px, track.y_px + h - fill, track.w_px, fill }, rgb, 1);
        if (e->kind == FRAME_KIND_CELLS)
            panel_number(n, text, (double) e->share[i] * PANEL_CELL_FULL_N, 0, e->is_relative ? "" : " N");
        else
            panel_number(n, text, 100 * (double) e->share[i], 0, " %");
        widget_text(&n->w, track.x_px, r.y_px, track.w_px, TEXT_CENTRE, WIDGET_SMALL, false, rgb, text);
        widget_text(&n->w, track.x_px, track.y_px + h, track.w_px, TEXT_CENTRE, WIDGET_SMALL, false, t->label, e->name[i]);
    }
}

/* What is to be minded in full: what was seen, where, what to do. is_drawn false: only measured. Returns its height. */
static int
draw_finding(struct panel_pen *n, int x, int y, int w, int item, bool is_drawn)
{
    const struct check_finding *f = &n->p->visit.watch.check.finding[item];
    const bool is_fault = f->grade > CHECK_GOOD;
    const uint32_t figure = is_drawn ? n->w.theme->figure : WIDGET_MEASURE,
                   label = is_drawn ? n->w.theme->label : WIDGET_MEASURE;
    char told[PANEL_TOLD_MAX], text[PANEL_TOLD_MAX + 2 * PANEL_WORDS_MAX];
    const int from = y;
    snprintf(text, sizeof text, "%s, %s: %s", panel_word(n, check_item_name((enum check_item) item)),
             panel_word(n, check_grade_name(f->grade)), panel_told(n, &f->says, told));
    y += panel_wrap(n, x, y, w, is_fault ? 2 : 1, panel_ink(WIDGET_SMALL, is_fault ? figure : label), text);
    if (is_fault && !message_is_none(&f->at)) {
        PANEL_FILL(n, text, "at {1}", panel_told(n, &f->at, told));
        y += panel_wrap(n, x + n->u, y, w - n->u, 1, panel_ink(WIDGET_SMALL, figure), text);
    }
    if (f->todo && f->todo[0])
        y += panel_wrap(n, x + n->u, y, w - n->u, 2, panel_ink(WIDGET_SMALL, label), f->todo);
    return y - from;
}

/* All of one grade in one line: "good: rate, jitter, clock". Returns its height. */
static int
draw_names(struct panel_pen *n, int x, int y, int w, enum check_grade grade, bool is_drawn)
{
    char text[4 * PANEL_WORDS_MAX];
    int n_named = 0;
    snprintf(text, sizeof text, "%s:", panel_word(n, check_grade_name(grade)));
    for (int i = 0; i < CHECK_N_ITEMS; i++)
        if (n->p->visit.watch.check.finding[i].grade == grade) {
            str_append(text, sizeof text, n_named++ > 0 ? ", " : " ");
            str_append(text, sizeof text, panel_word(n, check_item_name((enum check_item) i)));
        }
    return n_named == 0 ? 0
                        : widget_wrap(&n->w, x, y, w, 3, WIDGET_SMALL, is_drawn ? n->w.theme->label : WIDGET_MEASURE, text);
}

/* The worst first. is_brief: what is good, or untested, by name alone. Returns the height. */
static int
draw_list(struct panel_pen *n, int x, int y, int w, bool is_brief, bool is_drawn)
{
    static const enum check_grade order[] = { CHECK_BAD, CHECK_MIND, CHECK_UNTESTED, CHECK_GOOD };
    const int from = y;
    for (int k = 0; k < 4; k++) {
        const bool is_fault = order[k] > CHECK_GOOD;
        if (is_brief && !is_fault)
            y += draw_names(n, x, y, w, order[k], is_drawn);
        for (int i = 0; i < CHECK_N_ITEMS && (is_fault || !is_brief); i++)
            if (n->p->visit.watch.check.finding[i].grade == order[k])
                y += draw_finding(n, x, y, w, i, is_drawn);
    }
    return y - from;
}

static void
draw_picture(struct panel_pen *n, struct paint_rect r)
{
    const struct panel_elements *e = &n->p->visit.watch.elements;
    const struct theme *t = n->w.theme;
    const bool is_live = panel_sensor_is_live(n->p);
    char told[PANEL_TOLD_MAX];
    const uint32_t rgb = is_live ? t->figure : paint_mix(t->track, t->label, 0.5);
    if (!is_live) {
        int h = panel_wrap(n, r.x_px, r.y_px, r.w_px, 2, panel_ink(WIDGET_BODY, t->alert),
                           "Nothing comes from the sensor: what is grey is old.");
        h += panel_wrap(n, r.x_px, r.y_px + h, r.w_px, 2, panel_ink(WIDGET_SMALL, t->figure),
                        panel_told(n, &n->p->visit.verdict.message, told));
        r.y_px += h;
        r.h_px -= h;
    }
    if (e->n_rows <= 0 || e->n_cols <= 0 || r.h_px < 3 * n->u)
        return;
    if (e->kind == FRAME_KIND_MAT)
        draw_grid(n, r, e, rgb);
    else
        draw_bars(n, r, e, rgb);
}

void
panel_draw_sensor(struct panel_pen *n, struct paint_rect r)
{
    const struct panel *p = n->p;
    const int y = panel_heading(n, r.x_px, r.y_px, r.w_px, "Sensor");
    const int h = r.y_px + r.h_px - y, most = h * 3 / 4;
    if (!p->visit.has_watch) {
        const bool is_told = p->visit.sensor == PANEL_SENSOR_OPEN && !message_is_none(&p->visit.verdict.message);
        char told[PANEL_TOLD_MAX];
        const char *says = is_told                                     ? panel_told(n, &p->visit.verdict.message, told)
                           : p->visit.sensor == PANEL_SENSOR_REFUSED ? ""
                                                                     : N_("Looking for the sensor\xE2\x80\xA6 keep the belt empty.");
        panel_wrap(n, r.x_px, y, r.w_px, 3, panel_ink(WIDGET_SMALL, n->w.theme->label), says);
        return;
    }
    const bool is_brief = p->visit.watch.has_check && draw_list(n, r.x_px, y, r.w_px, false, false) > most;
    int lower = p->visit.watch.has_check ? draw_list(n, r.x_px, y, r.w_px, is_brief, false) : 0;
    if (lower < h / 2)
        lower = h / 2;
    draw_picture(n, (struct paint_rect){ r.x_px, y, r.w_px, h - lower - n->u });
    if (p->visit.watch.has_check)
        draw_list(n, r.x_px, y + h - lower, r.w_px, is_brief, true);
    else
        panel_wrap(n, r.x_px, y + h - lower, r.w_px, 2, panel_ink(WIDGET_SMALL, n->w.theme->label),
                   "Looking at the empty sensor for a few seconds: nobody on it, please.");
}
