/* panel_draw_sensor.c - the sensor while it is checked: its elements as they are now, and what the check says of them.
 *
 *      mat        a grid, the rearmost row below; the lighter, the more load
 *      cells      a bar each
 *      switches   a box each, filled as far as it is loaded
 */
#include "panel/panel_parts.h"

#include <math.h>
#include <stdio.h>

static void
draw_grid(struct panel_pen *n, struct paint_rect r, const struct panel_elements *e)
{
    const struct theme *t = n->w.theme;
    const int by_height = r.h_px / e->n_rows, by_width = r.w_px / e->n_cols;
    const int side = by_height < by_width ? by_height : by_width, gap = side >= 8 ? 1 : 0;
    const int x = r.x_px + (r.w_px - side * e->n_cols) / 2;
    for (int row = 0; row < e->n_rows && side > 0; row++)
        for (int col = 0; col < e->n_cols; col++) {
            const double share = sqrt((double) e->share[row * e->n_cols + col]); /* so that a light load is seen too */
            const struct paint_rect cell = { x + col * side, r.y_px + (e->n_rows - 1 - row) * side, side - gap, side - gap };
            paint_fill(n->w.picture, cell, paint_mix(t->track, t->figure, share), 1);
        }
}

static void
draw_bars(struct panel_pen *n, struct paint_rect r, const struct panel_elements *e)
{
    const struct theme *t = n->w.theme;
    const int line = widget_line_px(&n->w, WIDGET_SMALL), w = r.w_px / e->n_cols, h = r.h_px - 2 * line;
    for (int i = 0; i < e->n_cols; i++) {
        const struct paint_rect track = { r.x_px + i * w, r.y_px + line, w - n->u / 2, h };
        const int fill = isnan(e->share[i]) ? 0 : (int) lround(h * (double) e->share[i]);
        char text[24];
        paint_fill(n->w.picture, track, t->track, 1);
        paint_fill(n->w.picture, (struct paint_rect){ track.x_px, track.y_px + h - fill, track.w_px, fill }, t->figure, 1);
        if (e->kind == FRAME_KIND_CELLS)
            panel_number(text, (double) e->share[i] * PANEL_CELL_FULL_N, 0, " N");
        else
            panel_number(text, 100 * (double) e->share[i], 0, " %");
        widget_text(&n->w, track.x_px, r.y_px, track.w_px, TEXT_CENTRE, WIDGET_SMALL, false, t->figure, text);
        widget_text(&n->w, track.x_px, track.y_px + h, track.w_px, TEXT_CENTRE, WIDGET_SMALL, false, t->label, e->name[i]);
    }
}

/* The worst first; what is good in one line. */
static void
draw_findings(struct panel_pen *n, struct paint_rect r)
{
    const struct check_report *c = &n->p->check;
    const int line = widget_line_px(&n->w, WIDGET_SMALL);
    int y = r.y_px;
    for (int grade = CHECK_BAD; grade >= CHECK_UNTESTED; grade--)
        for (int i = 0; i < CHECK_N_ITEMS; i++) {
            const struct check_finding *f = &c->finding[i];
            char text[CHECK_SAYS_MAX + 2 * PANEL_WORDS_MAX];
            const bool has_todo = f->todo && f->todo[0];
            if ((int) f->grade != grade || (grade == CHECK_UNTESTED && !f->says[0]))
                continue;
            if (y + line * (has_todo ? 2 : 1) > r.y_px + r.h_px)
                return;
            snprintf(text, sizeof text, "%s, %s: %s", panel_word(n, check_item_name((enum check_item) i)),
                     panel_word(n, check_grade_name(f->grade)), f->says);
            y += panel_wrap(n, r.x_px, y, r.w_px, grade > CHECK_GOOD ? 2 : 1, WIDGET_SMALL,
                            grade > CHECK_GOOD ? n->w.theme->figure : n->w.theme->label, text);
            if (has_todo)
                y += panel_wrap(n, r.x_px + n->u, y, r.w_px - n->u, 2, WIDGET_SMALL, n->w.theme->label, f->todo);
        }
}

void
panel_draw_sensor(struct panel_pen *n, struct paint_rect r)
{
    const struct panel *p = n->p;
    const struct panel_elements *e = &p->elements;
    const int y = panel_heading(n, r.x_px, r.y_px, r.w_px, "Sensor");
    const int h = r.y_px + r.h_px - y, upper = p->has_elements ? h * 45 / 100 : 0;
    const struct paint_rect picture = { r.x_px, y, r.w_px, upper - n->u };
    if (p->has_elements && e->n_rows > 0 && e->n_cols > 0) {
        if (e->kind == FRAME_KIND_MAT)
            draw_grid(n, picture, e);
        else
            draw_bars(n, picture, e);
    }
    if (p->has_check)
        draw_findings(n, (struct paint_rect){ r.x_px, y + upper, r.w_px, h - upper });
    else
        panel_wrap(n, r.x_px, y + upper, r.w_px, 2, WIDGET_SMALL, n->w.theme->label,
                   "Looking for the sensor\xE2\x80\xA6 keep the belt empty.");
}
