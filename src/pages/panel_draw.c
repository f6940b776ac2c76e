#include "pages/panel_draw.h"

#include "pages/panel_parts.h"
#include "runner/figure.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

void
panel_draw_init(struct panel_draw *d, struct canvas *canvas, enum theme_kind theme)
{
    *d = (struct panel_draw){ .canvas = canvas, .theme = theme_of(theme) };
}

static int
unit_px(const struct canvas *c)
{
    const bool is_narrow = c->picture.width_px * 5 < c->picture.height_px * 6;
    const int by_height = c->picture.height_px / 40, by_width = c->picture.width_px / (is_narrow ? 44 : 62);
    const int u = by_height < by_width ? by_height : by_width;
    return u < 12 ? 12 : u;
}

void
panel_draw_preload(struct panel_draw *d)
{
    static const char signs[] = " !\"#$%&'()*+,-./0123456789:;<=>?@ABCDEFGHIJKLMNOPQRSTUVWXYZ[\\]^_`"
                                "abcdefghijklmnopqrstuvwxyz{|}~\xE2\x80\x93\xE2\x88\x92\xE2\x80\xA6"
                                "\xE2\x86\x90\xE2\x86\x91\xE2\x86\x92\xE2\x86\x93\xC2\xB1\xC2\xB7";
    const struct widget_pen w = { .unit_px = unit_px(d->canvas) };
    for (int size = WIDGET_SMALL; size <= WIDGET_FIGURE; size++)
        for (int weight = 0; weight < TEXT_N_WEIGHTS; weight++)
            text_preload(&d->canvas->text, widget_px(&w, (enum widget_size) size), (enum text_weight) weight,
                         signs);
    for (uint32_t i = 0; d->words && catalogue_at(&d->words->catalogue, i); i++)
        for (int size = WIDGET_SMALL; size <= WIDGET_TITLE; size++)
            for (int weight = 0; weight < TEXT_N_WEIGHTS; weight++)
                text_preload(&d->canvas->text, widget_px(&w, (enum widget_size) size), (enum text_weight) weight,
                             catalogue_at(&d->words->catalogue, i));
}

/* ---------------------------------------------------------------- header, help strip */

static int
draw_header(struct panel_pen *n, int width)
{
    const struct theme *t = n->w.theme;
    const int u = n->u, h = 3 * u, pad = u;
    const bool is_narrow = width < 48 * u;
    int x;
    if (n->p->page != PANEL_RUNNERS && (n->p->open.has_case || n->p->open.is_loading)) {
        const char *code =
            n->p->open.has_case ? n->p->open.kase.runner.code : panel_chosen(n->p) ? panel_chosen(n->p)->code : "";
        widget_text(&n->w, pad, u * 2 / 3, is_narrow ? 7 * u : 12 * u, TEXT_LEFT, WIDGET_TITLE, true, t->figure, code);
    } else
        panel_text(n, pad, u * 2 / 3, is_narrow ? 7 * u : 12 * u, panel_bold(WIDGET_TITLE, t->figure), "Underfoot");
    const int step = (width - (is_narrow ? 8 * u : 16 * u)) / PANEL_N_PAGES;
    x = width - pad - step * PANEL_N_PAGES;
    for (int i = 0; i < PANEL_N_PAGES; i++, x += step) {
        const bool is_here = i == (int) n->p->page;
        const char *cap = panel_keys_cap(PANEL_ON_VISIT, PANEL_DO_PAGE, i);
        int at = x + u / 2;
        if (!is_narrow)
            at += widget_cap(&n->w, at, u * 3 / 4, cap) + u / 2;
        panel_text(n, at, u * 4 / 5, x + step - at,
                   (struct panel_ink){ is_narrow ? WIDGET_SMALL : WIDGET_BODY, is_here ? t->figure : t->label, is_here, TEXT_LEFT },
                   panel_page_name((enum panel_page) i));
        if (is_here)
            paint_fill(n->w.picture, (struct paint_rect){ x + u / 2, h - u / 4, step - u, u / 4 },
                       t->stripe_edge, 1);
        panel_spot(n, (struct paint_rect){ x, 0, step, h }, PANEL_DO_PAGE, i);
    }
    paint_fill(n->w.picture, (struct paint_rect){ 0, h, width, 1 }, t->rule, 1);
    return h + 1;
}

/* The keys of a context, from the table, in rows from top_px on; top_px < 0: only counted. Returns the rows.
 */
static int
draw_key_rows(struct panel_pen *n, enum panel_context context, int width, int top_px, int row_px)
{
    const int u = n->u, pad = u;
    int x = pad, row = 0;
    for (const struct panel_key_row *k = panel_keys(context); k->key; k++) {
        if (!k->words || (k->action == PANEL_DO_HIDE && !n->p->is_over_screen))
            continue;
        const int need = widget_cap_width_px(&n->w, k->cap) + u / 3 +
                         text_width_px(n->w.text, widget_px(&n->w, WIDGET_SMALL), TEXT_REGULAR, panel_word(n, k->words));
        if (x > pad && x + need > width - pad) {
            x = pad;
            row++;
        }
        if (top_px >= 0) {
            const int y = top_px + row * row_px, cap = widget_cap(&n->w, x, y + u / 8, k->cap);
            panel_text(n, x + cap + u / 3, y + u / 5, need, panel_ink(WIDGET_SMALL, n->w.theme->label), k->words);
            panel_spot(n, (struct paint_rect){ x, y, need, row_px }, k->action, k->number);
        }
        x += need + u * 5 / 4;
    }
    return row + 1;
}

/* As high as the page's own keys need, so that the page stays where it is while something is asked. Returns its top. */
static int
draw_help(struct panel_pen *n, int width, int height)
{
    const int u = n->u, row_px = u * 19 / 10;
    const int of_page = draw_key_rows(n, (enum panel_context) n->p->page, width, -1, row_px);
    const int of_context = draw_key_rows(n, n->p->context, width, -1, row_px);
    const int top = height - (of_page > of_context ? of_page : of_context) * row_px - u / 2;
    paint_fill(n->w.picture, (struct paint_rect){ 0, top - u / 4, width, height - top + u / 4 },
               n->w.theme->panel, 1);
    draw_key_rows(n, n->p->context, width, top, row_px);
    return top - u / 4;
}

bool
panel_draw(struct panel_draw *d, struct panel *p)
{
    struct canvas *c = d->canvas;
    if (d->drawn == p->n_changes && d->generation == c->generation)
        return false;
    d->drawn = p->n_changes;
    d->generation = c->generation;
    const int width = c->picture.width_px, height = c->picture.height_px, u = unit_px(c);
    struct panel_pen n = { .w = { &c->picture, &c->text, &d->theme, u, d->log }, .p = p, .words = d->words, .u = u };
    const struct paint_rect all = { 0, 0, width, height };
    paint_set_clip(&c->picture, all);
    paint_fill(&c->picture, all, d->theme.ground, 1);
    p->spots.n = 0;
    if (d->log)
        d->log->n = 0;
    const int top = draw_header(&n, width), help = draw_help(&n, width, height);
    d->strip = (struct paint_rect){ 0, help, width, height - help };
    d->n_header = d->log ? d->log->n : 0;
    const int message = help - widget_line_px(&n.w, WIDGET_BODY) - u / 2;
    n.body = (struct paint_rect){ u, top + u, width - 2 * u, message - top - u - u / 4 };
    if (!message_is_none(&p->out.message) && ((int) p->context < (int) PANEL_N_PAGES || p->context == PANEL_IN_SEARCH)) { /* below a sheet it would be dim */
        paint_disc(&c->picture, (struct paint_point){ u * 1.4, message + u * 0.75 }, u * 0.3, d->theme.alert, 1);
        char told[PANEL_TOLD_MAX];
        panel_text(&n, u * 2 + u / 4, message, width - 3 * u, panel_ink(WIDGET_BODY, d->theme.figure),
                   panel_told(&n, &p->out.message, told));
    }
    if (p->page == PANEL_RUNNERS)
        panel_draw_runners(&n);
    else if (p->page == PANEL_VISIT)
        panel_draw_visit(&n);
    else if (p->page == PANEL_LIVE)
        panel_draw_live(&n);
    else if (p->page == PANEL_SUMMARY)
        panel_draw_summary(&n);
    else
        panel_draw_course(&n);
    d->n_sheet = d->log ? d->log->n : 0;
    if ((int) p->context >= (int) PANEL_N_PAGES)
        panel_draw_question(&n);
    canvas_dirty(c, all);
    return true;
}
