/* panel_draw_blocks.c - the summary's table of blocks: how long, how fast, the leading figure, its share in the band. */
#include "base/mark.h"
#include "pages/panel_parts.h"

#include <math.h>
#include <stdio.h>

enum { N_COLUMNS = 6 };

static const double SHARE[N_COLUMNS] = { 0.24, 0.12, 0.14, 0.28, 0.11, 0.11 };

static void
draw_row(struct panel_pen *n, int x, int y, int w, char cell[N_COLUMNS][48], enum widget_size size, uint32_t rgb)
{
    for (int i = 0; i < N_COLUMNS; i++) {
        const int cw = (int) (SHARE[i] * w);
        widget_text(&n->w, x, y, cw, i == 0 ? TEXT_LEFT : TEXT_RIGHT, size, false, rgb, cell[i]);
        x += cw;
    }
}

static void
fill_row(struct panel_pen *n, const struct panel_block *b, enum metric leads, char cell[N_COLUMNS][48])
{
    char a[24], s[24];
    snprintf(cell[0], sizeof cell[0], "%s", panel_word(n, panel_block_name(b->kind)));
    snprintf(cell[1], sizeof cell[1], "%s", panel_number(n, a, b->minutes, 1, ""));
    snprintf(cell[2], sizeof cell[2], "%s", panel_number(n, a, b->speed_m_s, 1, ""));
    snprintf(cell[3], sizeof cell[3], "%s%s%s", panel_value(n, a, leads, b->mean), isnan(b->sd) ? "" : " \xC2\xB1 ",
             isnan(b->sd) ? "" : panel_value(n, s, leads, b->sd));
    snprintf(cell[4], sizeof cell[4], "%s", panel_number(n, a, b->shown_pct, 0, " %"));
    snprintf(cell[5], sizeof cell[5], "%s", panel_number(n, a, b->withheld_pct, 0, " %"));
}

int
panel_blocks_px(struct panel_pen *n, const struct panel_visit *v)
{
    const int small = widget_line_px(&n->w, WIDGET_SMALL);
    return v->n_blocks == 0 ? 0 : (v->n_blocks + 1 + (v->n_more_blocks > 0)) * small + 3 * n->u;
}

int
panel_draw_blocks(struct panel_pen *n, int x, int y, int w, int bottom_px, const struct panel_visit *v)
{
    const int small = widget_line_px(&n->w, WIDGET_SMALL);
    char cell[N_COLUMNS][48], a[24], text[PANEL_WORDS_MAX];
    if (v->n_blocks == 0 || y + 4 * small > bottom_px)
        return y;
    y = panel_heading(n, x, y, w, "Blocks");
    const char *const heads[N_COLUMNS] = { "", N_("min"), N_("m/s"), panel_metric_label(v->leads), N_("shown"), N_("withheld") };
    for (int i = 0; i < N_COLUMNS; i++)
        snprintf(cell[i], sizeof cell[i], "%s", panel_word(n, heads[i]));
    draw_row(n, x, y, w, cell, WIDGET_SMALL, n->w.theme->label);
    y += small;
    int n_left = v->n_blocks + v->n_more_blocks;
    for (int i = 0; i < v->n_blocks && y + (n_left > 1 ? 2 : 1) * small <= bottom_px; i++, n_left--) {
        fill_row(n, &v->block[i], v->leads, cell);
        draw_row(n, x, y, w, cell, WIDGET_SMALL, n->w.theme->figure);
        y += small;
    }
    if (n_left > 0) {
        PANEL_FILL(n, text, "{1} more\xE2\x80\xA6", panel_count(a, n_left));
        widget_text(&n->w, x, y, w, TEXT_LEFT, WIDGET_SMALL, false, n->w.theme->label, text);
        y += small;
    }
    return y + n->u;
}
