/* page_blocks.c - the table of a visit's blocks, for its page. */
#include "report/page_parts.h"

#include "base/str.h"
#include "store/names.h"

#include <math.h>
#include <stdio.h>

enum { N_COLUMNS = 7, MAX_ROWS = 12 };

#define ROW_PT   12.0
#define INNER_PT (PAGE_WIDTH_PT - 2 * PAGE_MARGIN_PT)

static const double COLUMN_AT[N_COLUMNS] = { 0.34, 0.43, 0.53, 0.63, 0.75, 0.88, 1.0 };

static void
draw_row(cairo_t *cr, double y, const char *name, char cell[N_COLUMNS][64])
{
    page_text(cr, PAGE_MARGIN_PT, y, 8.5, PAGE_LEFT, 0.26 * INNER_PT, name);
    for (int k = 0; k < N_COLUMNS; k++)
        page_text(cr, PAGE_MARGIN_PT + COLUMN_AT[k] * INNER_PT, y, 8.5, PAGE_RIGHT, 0, cell[k]);
}

static void
fill_row(const struct course_block *b, enum metric leads, char cell[N_COLUMNS][64])
{
    const struct course_figure *f = &b->figure[leads];
    const double scale = page_metric_scale(leads);
    const double values[] = { b->length_s / 60, b->n_steps, b->belt_speed_m_s, course_shown_pct(b), f->n > 0 ? f->mean * scale : (double) NAN,
                              b->band[leads].shown_pct, b->band[leads].withheld_pct };
    const int digits[] = { 1, 0, 2, 0, page_metric_digits(leads), 0, 0 };
    char number[48];
    for (int k = 0; k < N_COLUMNS; k++)
        snprintf(cell[k], sizeof cell[k], "%s", page_number(number, values[k], digits[k]));
    if (f->n > 1) {
        str_append(cell[4], sizeof cell[4], " \xc2\xb1 ");
        str_append(cell[4], sizeof cell[4], page_number(number, f->sd * scale, page_metric_digits(leads)));
    }
}

const char *
page_block(char out[PAGE_BLOCK_MAX], enum verdict_block kind)
{
    str_copy(out, PAGE_BLOCK_MAX, names_block(kind));
    for (char *at = out; *at; at++)
        *at = *at == '_' ? ' ' : *at;
    return out;
}

double
page_blocks(cairo_t *cr, const struct course_visit *v, double y)
{
    char cell[N_COLUMNS][64] = { "min", "steps", "m/s", "shown %", "", "in, shown %", "in, withheld %" };
    char name[48];
    int n_rows = 0, n_more = 0;
    snprintf(cell[4], sizeof cell[4], "%s", page_metric_unit(v->leads));
    page_ink(cr, PAGE_INK_FAINT);
    snprintf(name, sizeof name, "Blocks; %s", page_metric_label(v->leads));
    draw_row(cr, y, name, cell);
    page_ink(cr, PAGE_INK_TEXT);
    for (int i = 0; i < v->n_blocks; i++) {
        if (v->block[i].kind == VERDICT_BLOCK_ENDED)
            continue;
        if (n_rows == MAX_ROWS) {
            n_more++;
            continue;
        }
        n_rows++;
        char kind[PAGE_BLOCK_MAX];
        snprintf(name, sizeof name, "%d  %s", i + 1, page_block(kind, v->block[i].kind));
        fill_row(&v->block[i], v->leads, cell);
        draw_row(cr, y += ROW_PT, name, cell);
    }
    page_ink(cr, PAGE_INK_FAINT);
    if (n_more > 0) {
        snprintf(name, sizeof name, "and %d more: `underfoot report --text`", n_more);
        page_text(cr, PAGE_MARGIN_PT, y += ROW_PT, 8, PAGE_LEFT, INNER_PT, name);
    }
    return y + 1.5 * ROW_PT;
}
