/* panel_draw_runners.c - the list of runners. */
#include "pages/panel_parts.h"

#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define N_COLUMNS 8

static const struct {
    const char *label;
    double share;
    enum text_align align;
} COLUMNS[N_COLUMNS] = {
    { "Code", 0.15, TEXT_LEFT },        { "Visits", 0.08, TEXT_RIGHT },
    { "Last visit", 0.15, TEXT_RIGHT }, { "Body mass, kg", 0.13, TEXT_RIGHT },
    { "Leg, mm", 0.10, TEXT_RIGHT },    { "Foot, mm", 0.10, TEXT_RIGHT },
    { "Pain limit", 0.10, TEXT_RIGHT }, { "Shoe", 0.19, TEXT_LEFT },
};

static void
draw_cells(struct panel_pen *n, int y, const char *const cell[N_COLUMNS], enum widget_size size, bool is_bold,
           uint32_t rgb)
{
    int x = n->body.x_px + n->u / 2;
    for (int i = 0; i < N_COLUMNS; i++) {
        const int w = (int) (COLUMNS[i].share * (n->body.w_px - n->u));
        widget_text(&n->w, x + (COLUMNS[i].align == TEXT_LEFT && i > 0 ? n->u : 0), y,
                    w - (COLUMNS[i].align == TEXT_LEFT && i > 0 ? n->u : 0), COLUMNS[i].align, size,
                    is_bold || i == 0, rgb, cell[i]);
        x += w;
    }
}

/* Between the rows and the buttons, where the list is longer than what the panel holds of it: how many stand below the
 * last row, those not held among them. */
static void
draw_more(struct panel_pen *n, int end)
{
    const struct panel_runners *r = &n->p->list.runners;
    char text[PANEL_WORDS_MAX], count[24];
    if (r->n_more == 0)
        return;
    const int left = r->n + r->n_more - (end < r->n ? end : r->n), line = widget_line_px(&n->w, WIDGET_SMALL);
    PANEL_FILL(n, text, "{1} more\xE2\x80\xA6", panel_count(count, left));
    widget_text(&n->w, n->body.x_px + n->u / 2, n->body.y_px + n->body.h_px - 3 * n->u - line, n->body.w_px - n->u, TEXT_RIGHT,
                WIDGET_SMALL, false, n->w.theme->label, text);
}

void
panel_draw_runners(struct panel_pen *n)
{
    const struct panel *p = n->p;
    const struct theme *t = n->w.theme;
    const char *head[N_COLUMNS];
    const int row_px = n->u * 9 / 4;
    int y = n->body.y_px;
    if (p->list.runners.n == 0) {
        panel_text(n, n->body.x_px, y, n->body.w_px, panel_ink(WIDGET_TITLE, t->figure),
                   p->list.has_runners ? "No runner yet."
                   : "Reading the store"
                     "\xE2\x80\xA6");
        if (p->list.has_runners)
            panel_button(n, (struct paint_rect){ n->body.x_px, y + 4 * n->u, 16 * n->u, 3 * n->u },
                         PANEL_DO_ADD, 0, "Add a runner", true);
        return;
    }
    for (int i = 0; i < N_COLUMNS; i++)
        head[i] = panel_word(n, COLUMNS[i].label);
    draw_cells(n, y, head, WIDGET_SMALL, false, t->label);
    y += widget_line_px(&n->w, WIDGET_SMALL) + n->u / 4;
    const int foot = 4 * n->u;
    const int n_fit = (n->body.y_px + n->body.h_px - foot - y) / row_px;
    const int from = p->list.at >= n_fit ? p->list.at - n_fit + 1 : 0;
    for (int i = from; i < p->list.runners.n && i < from + n_fit; i++, y += row_px) {
        const struct panel_runner *r = &p->list.runners.runner[i];
        const struct paint_rect row = { n->body.x_px, y, n->body.w_px, row_px };
        char visits[24], mass[24], leg[24], shoe_foot[24], limit[24];
        snprintf(visits, sizeof visits, "%d", r->n_visits);
        const char *cell[N_COLUMNS] = { r->code,
                                        visits,
                                        r->last[0] ? r->last : PANEL_DASH,
                                        panel_number(mass, r->body_mass_kg, 1, ""),
                                        panel_number(leg, r->leg_length_mm, 0, ""),
                                        panel_number(shoe_foot, r->foot_length_mm, 0, ""),
                                        panel_number(limit, r->pain_limit, 0, ""),
                                        r->shoe };
        widget_row(&n->w, row, i == p->list.at);
        draw_cells(n, y + n->u / 2, cell, WIDGET_BODY, false, t->figure);
        panel_spot(n, row, PANEL_DO_CHOOSE, i);
    }
    draw_more(n, from + n_fit);
    const int by = n->body.y_px + n->body.h_px - 3 * n->u, bw = n->body.w_px / 5 - n->u;
    const struct {
        enum panel_action action;
        int number;
        const char *label;
    } buttons[] = { { PANEL_DO_OPEN, 0, "Visit" },
                    { PANEL_DO_PAGE, PANEL_COURSE, "Course" },
                    { PANEL_DO_ADD, 0, "Add" },
                    { PANEL_DO_EDIT, 0, "Edit" },
                    { PANEL_DO_FORGET, 0, "Forget\xE2\x80\xA6" } };
    for (int i = 0; i < 5; i++)
        panel_button(n, (struct paint_rect){ n->body.x_px + i * (bw + n->u * 5 / 4), by, bw, n->u * 5 / 2 },
                     buttons[i].action, buttons[i].number, buttons[i].label, i == 0);
}
