/* panel_draw_runners.c - the list of runners. */
#include "pages/panel_parts.h"

#include "base/mark.h"
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
    { N_("Code"), 0.15, TEXT_LEFT },        { N_("Visits"), 0.08, TEXT_RIGHT },
    { "Last visit", 0.15, TEXT_RIGHT }, { N_("Body mass, kg"), 0.13, TEXT_RIGHT },
    { N_("Leg, mm"), 0.10, TEXT_RIGHT },    { N_("Foot, mm"), 0.10, TEXT_RIGHT },
    { N_("Pain limit"), 0.10, TEXT_RIGHT }, { N_("Shoe"), 0.19, TEXT_LEFT },
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

/* "5,012", as the physio's language parts it. */
static const char *
count_text(const struct panel_pen *n, char out[PANEL_WORDS_MAX], int count)
{
    char head[24], tail[24];
    if (count < 1000)
        return panel_count(out, count);
    snprintf(tail, sizeof tail, "%03d", count % 1000);
    return panel_words_fill(n->words, out, PANEL_WORDS_MAX, "{1},{2}", (const char *const[]){ panel_count(head, count / 1000), tail }, 2);
}

/* "3 of 5,012"; of what a search finds "2 of 17, 5,012 in all". */
static void
draw_count(struct panel_pen *n, int x, int y, int w)
{
    const struct panel_list *l = &n->p->list;
    char text[PANEL_WORDS_MAX], at[PANEL_WORDS_MAX], total[PANEL_WORDS_MAX], all[PANEL_WORDS_MAX];
    count_text(n, at, l->runners.total > 0 ? l->at + 1 : 0);
    count_text(n, total, l->runners.total);
    if (l->search[0])
        PANEL_FILL(n, text, "{1} of {2}, {3} in all", at, total, count_text(n, all, l->runners.n_all));
    else
        PANEL_FILL(n, text, "{1} of {2}", at, total);
    widget_text(&n->w, x, y, w, TEXT_RIGHT, WIDGET_SMALL, false, n->w.theme->label, text);
}

/* The field to search, with what is typed, and beside it the count. Returns the y below. */
static int
draw_search(struct panel_pen *n, int y)
{
    const bool is_typing = n->p->context == PANEL_IN_SEARCH, is_on = n->p->list.search[0] != '\0';
    const int w = n->body.w_px * 9 / 20, h = n->u * 9 / 4, line = widget_line_px(&n->w, WIDGET_BODY);
    const struct paint_rect field = { n->body.x_px, y, w, h };
    char text[PANEL_CODE_MAX + 8];
    paint_fill(n->w.picture, field, n->w.theme->panel, 1);
    widget_frame(&n->w, field, is_typing ? 2 : 1, is_typing ? n->w.theme->stripe_edge : n->w.theme->rule);
    snprintf(text, sizeof text, "%s%s", n->p->list.search, is_typing ? "|" : "");
    if (is_typing || is_on)
        widget_text(&n->w, field.x_px + n->u / 2, y + (h - line) / 2, w - n->u, TEXT_LEFT, WIDGET_BODY, true, n->w.theme->figure,
                    text);
    else
        panel_text(n, field.x_px + n->u / 2, y + (h - line) / 2, w - n->u, panel_ink(WIDGET_BODY, n->w.theme->label),
                   "Search by code");
    panel_spot(n, field, PANEL_DO_SEARCH, 0);
    draw_count(n, n->body.x_px + w + n->u, y + (h - widget_line_px(&n->w, WIDGET_SMALL)) / 2, n->body.w_px - w - n->u);
    return y + h + n->u / 2;
}

/* One that is not held yet is there all the same. */
static void
draw_row(struct panel_pen *n, int i, int y, int row_px)
{
    const struct panel_runner *r = panel_row(n->p, i);
    const struct paint_rect row = { n->body.x_px, y, n->body.w_px, row_px };
    const char *cell[N_COLUMNS] = { "\xE2\x80\xA6", "", "", "", "", "", "", "" };
    char visits[24], mass[24], leg[24], shoe_foot[24], limit[24];
    if (r) {
        const char *const of_runner[N_COLUMNS] = { r->code,
                                                   panel_count(visits, r->n_visits),
                                                   r->last[0] ? r->last : PANEL_DASH,
                                                   panel_number(n, mass, r->body_mass_kg, 1, ""),
                                                   panel_number(n, leg, r->leg_length_mm, 0, ""),
                                                   panel_number(n, shoe_foot, r->foot_length_mm, 0, ""),
                                                   panel_number(n, limit, r->pain_limit, 0, ""),
                                                   r->shoe };
        memcpy(cell, of_runner, sizeof cell);
    }
    widget_row(&n->w, row, i == n->p->list.at);
    draw_cells(n, y + n->u / 2, cell, WIDGET_BODY, false, n->w.theme->figure);
    panel_spot(n, row, PANEL_DO_CHOOSE, i);
}

static void
draw_buttons(struct panel_pen *n)
{
    const int by = n->body.y_px + n->body.h_px - 3 * n->u, bw = n->body.w_px / 5 - n->u;
    const struct {
        enum panel_action action;
        int number;
        const char *label;
    } buttons[] = { { PANEL_DO_OPEN, 0, N_("Visit") },
                    { PANEL_DO_PAGE, PANEL_COURSE, N_("Course") },
                    { PANEL_DO_ADD, 0, N_("Add") },
                    { PANEL_DO_EDIT, 0, N_("Edit") },
                    { PANEL_DO_FORGET, 0, N_("Forget\xE2\x80\xA6") } };
    for (int i = 0; i < 5; i++)
        panel_button(n, (struct paint_rect){ n->body.x_px + i * (bw + n->u * 5 / 4), by, bw, n->u * 5 / 2 },
                     buttons[i].action, buttons[i].number, buttons[i].label, i == 0);
}

static void
draw_none(struct panel_pen *n)
{
    const bool is_read = n->p->list.has_runners;
    const int y = n->body.y_px;
    panel_text(n, n->body.x_px, y, n->body.w_px, panel_ink(WIDGET_TITLE, n->w.theme->figure),
               is_read ? "No runner yet." : "Reading the store\xE2\x80\xA6");
    if (is_read)
        panel_button(n, (struct paint_rect){ n->body.x_px, y + 4 * n->u, 16 * n->u, 3 * n->u }, PANEL_DO_ADD, 0, N_("Add a runner"),
                     true);
}

void
panel_draw_runners(struct panel_pen *n)
{
    struct panel *p = n->p;
    const char *head[N_COLUMNS];
    const int row_px = n->u * 9 / 4, foot = 7 * n->u / 2;
    if (p->list.runners.n_all == 0 && !p->list.search[0] && p->context != PANEL_IN_SEARCH) {
        draw_none(n);
        return;
    }
    int y = draw_search(n, n->body.y_px);
    for (int i = 0; i < N_COLUMNS; i++)
        head[i] = panel_word(n, COLUMNS[i].label);
    draw_cells(n, y, head, WIDGET_SMALL, false, n->w.theme->label);
    y += widget_line_px(&n->w, WIDGET_SMALL) + n->u / 4;
    const int n_fit = (n->body.y_px + n->body.h_px - foot - y) / row_px;
    const int from = panel_list_show(p, n_fit);
    for (int i = from; i < p->list.runners.total && i < from + n_fit; i++, y += row_px)
        draw_row(n, i, y, row_px);
    if (p->list.runners.total == 0)
        panel_text(n, n->body.x_px + n->u / 2, y + n->u / 2, n->body.w_px - n->u, panel_ink(WIDGET_BODY, n->w.theme->figure),
                   "No code has this in it.");
    draw_buttons(n);
}
