/* paper.h - pages that text is set on from the top down, as many as it takes; a PDF, or one picture.
 *
 * How: pango sets the text: it wraps, finds a font for what the first one lacks, and embeds what it took; nothing is cut. What
 *      has no room goes on on the next page, which repeats the title and, in a table, its heads. A PDF is tagged: title,
 *      headings, paragraphs, tables with their head cells, and figures; its title stands in its properties, its language in its
 *      catalog (paper_pdf.c). What the cairo of Debian 12 (1.16) can't write: another text for a figure, the scope of a head
 *      cell, and that page numbers and lines are ornaments ("artifacts"); so no page claims PDF/UA.
 * In:  one function that draws all of it.   Out: one file, written aside (base/fileio.h).
 * Memory: freed before return.   Errors: ERR_USAGE for another ending than .pdf or .png; ERR_OS; a sentence in why.
 */
#ifndef PAPER_PAPER_H
#define PAPER_PAPER_H

#include "base/catalogue.h"
#include "base/err.h"
#include "base/message.h"

#include <cairo.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* A4 in points. */
#define PAPER_WIDTH_PT  595.0
#define PAPER_HEIGHT_PT 842.0
#define PAPER_MARGIN_PT 40.0
#define PAPER_INNER_PT  (PAPER_WIDTH_PT - 2 * PAPER_MARGIN_PT)
#define PAPER_RIGHT_PT  (PAPER_WIDTH_PT - PAPER_MARGIN_PT)
#define PAPER_COLUMNS_MAX 8

enum paper_ink {
    PAPER_INK_TEXT,
    PAPER_INK_FAINT,  /* labels, axes */
    PAPER_INK_BAND,   /* the target stripe: base/band_colour.h */
    PAPER_INK_EDGE,   /* of the stripe */
    PAPER_INK_RUN,    /* means while targets were meant to be met */
    PAPER_INK_OTHER,  /* without feedback */
    PAPER_INK_PALE,   /* grounds of blocks */
};

enum paper_align { PAPER_LEFT, PAPER_CENTRE, PAPER_RIGHT };

/* How a text looks. */
struct paper_type {
    double size_pt;
    enum paper_ink ink;
    enum paper_align align;
    bool is_bold;
    const char *tag; /* of the PDF: "H1", "H2", "P"; NULL: inside of another */
};
extern const struct paper_type PAPER_TITLE, PAPER_HEADING, PAPER_BODY, PAPER_SMALL;

struct paper;
typedef void paper_draw(struct paper *p, const void *what);

struct paper {
    cairo_t *cr;
    const struct catalogue *words; /* NULL: English */
    double y;                      /* of what comes next */
    int n_pages;
    int n_signs_missing;           /* letters that no font of this computer has */
    bool is_picture;
    char title[256];
    const char *foot;              /* a sentence at the end of each page; in the language */
};

/* Draws what on fresh pages and writes them to path. */
enum err paper_write(const char *path, const struct catalogue *words, paper_draw *draw, const void *what, struct message *why);

void paper_ink(cairo_t *cr, enum paper_ink ink);

/* The title of all of it, drawn; and the foot of each page. */
void paper_begin(struct paper *p, const char *title, const char *foot);
/* Ends the last page: the foot, and what could not be shown. */
void paper_end(struct paper *p);

/* Makes room of that height, if need be on the next page; true when it turned. Whatever is higher than a page begins one. */
bool paper_room(struct paper *p, double height_pt);

/* Sets text at x from y down, in lines of that width (0: one line); x is the left, the middle or the right of them as it is
 * aligned. Returns its height. Turns no page. */
double paper_set(struct paper *p, double x, double y, double width_pt, const struct paper_type *type, const char *text);
/* The height it would have. */
double paper_height(struct paper *p, double width_pt, const struct paper_type *type, const char *text);

/* Text over the whole width at y, and on over the pages that it takes; y is below it afterwards. */
void paper_say(struct paper *p, const struct paper_type *type, const char *text);

/* Tables: columns by their right edges in shares of the width; the first is at the left, the others at the right. */
struct paper_table {
    int n;
    double right[PAPER_COLUMNS_MAX];
    const char *head[PAPER_COLUMNS_MAX];
};
void paper_table_begin(struct paper *p, const struct paper_table *t);
void paper_table_row(struct paper *p, const struct paper_table *t, const char *const *cell);
void paper_table_end(struct paper *p);

/* A figure of that height, kept together with what is drawn between. */
void paper_figure_begin(struct paper *p, double height_pt);
void paper_figure_end(struct paper *p);

/* paper_pdf.c: a whole PDF of cairo's into f, with its language ("de"). False: f refused. */
bool paper_pdf_put(FILE *f, const char *pdf, size_t len, const char *language);

#endif
