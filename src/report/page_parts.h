/* page_parts.h - inside report/ only: paper, words and plots that the pages share. */
#ifndef REPORT_PAGE_PARTS_H
#define REPORT_PAGE_PARTS_H

#include "report/course.h"

#include <cairo.h>

/* A4 in points. */
#define PAGE_WIDTH_PT  595.0
#define PAGE_HEIGHT_PT 842.0
#define PAGE_MARGIN_PT 40.0
#define PAGE_TURN      6.28318530717958648 /* radians */

enum page_ink {
    PAGE_INK_TEXT,
    PAGE_INK_FAINT,  /* labels, axes */
    PAGE_INK_BAND,   /* the target stripe */
    PAGE_INK_RUN,    /* means while targets were meant to be met */
    PAGE_INK_OTHER,  /* without feedback */
    PAGE_INK_PALE,   /* grounds of blocks */
};

void page_ink(cairo_t *cr, enum page_ink ink);

enum page_align { PAGE_LEFT, PAGE_CENTRE, PAGE_RIGHT };

/* One line of text with its base line at y; cut with ... when wider than width_pt (0: never). */
void page_text(cairo_t *cr, double x, double y, double size_pt, enum page_align align, double width_pt, const char *text);

/* Takes one line off text into line: as much as fits into width_pt, broken at a space or newline, and a word that is wider
 * than a line at a letter. Returns the rest, "" at the end. The font's size is set. */
#define PAGE_LINE_MAX 1024
const char *page_take_line(cairo_t *cr, double width_pt, const char *text, char line[PAGE_LINE_MAX]);

/* The height of a line of page_lines(), in sizes of its letters. */
#define PAGE_LEADING 1.35

/* Text broken so; at most n_lines, the last of which ends with ... when there is more. Returns the y after it. */
double page_lines(cairo_t *cr, double x, double y, double size_pt, double width_pt, int n_lines, const char *text);

/* "12.3", or a dash. */
const char *page_number(char out[48], double value, int digits);

/* What a metric is called, its unit, its digits and its factor on paper (shares in per cent). */
const char *page_metric_label(enum metric m);
const char *page_metric_unit(enum metric m);
int page_metric_digits(enum metric m);
double page_metric_scale(enum metric m);

/* A frame with a value axis from low to high: rounded marks at the left. */
struct page_plot {
    double x, y, width, height; /* of the frame, points */
    double low, high;
};

void page_plot_frame(cairo_t *cr, const struct page_plot *p);
double page_plot_y(const struct page_plot *p, double value); /* clamped into the frame */

#define PAGE_BLOCK_MAX 32

/* What a block is called on paper: "warm up". Gives out. */
const char *page_block(char out[PAGE_BLOCK_MAX], enum verdict_block kind);

/* Which figures are left out and why (course_other_definitions()), and which visits were measured again; a line at y and no
 * more. Nothing where all figures are as they were measured at the visits, by one definition each. */
void page_definitions(cairo_t *cr, const struct course *c, double y);

/* page_blocks.c: the table of a visit's blocks, from y down. Returns the y after it. */
double page_blocks(cairo_t *cr, const struct course_visit *v, double y);

/* Draws one page. rest: NULL on the first; on each further one what the page before returned: the text that it had no room
 * for. Returns NULL when all is drawn. */
typedef const char *page_draw(cairo_t *cr, const struct course *c, const char *rest);

/* Runs draw on fresh pages until all is drawn and writes them to path: a PDF of several pages, a PNG of one below the
 * other. */
enum err page_write(const char *path, page_draw *draw, const struct course *c, char why[ERR_WHY_MAX]);

#endif
