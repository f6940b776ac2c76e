#include "paper/paper.h"

#include "base/band_colour.h"
#include "base/fileio.h"
#include "base/str.h"
#include "paper/phrase.h"

#include <cairo-pdf.h>
#include <pango/pangocairo.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PNG_PIXELS_PER_PT 2.0 /* 144 dots an inch */
#define BOTTOM_PT (PAPER_HEIGHT_PT - 46) /* what is below is the foot's */
#define TOP_PT    36.0
#define FONTS     "B612, DejaVu Sans, IPAexGothic, sans-serif"
#define CELL_GAP_PT 6.0

const struct paper_type PAPER_TITLE = { 16, PAPER_INK_TEXT, PAPER_LEFT, false, "H1" };
const struct paper_type PAPER_HEADING = { 9.5, PAPER_INK_TEXT, PAPER_LEFT, true, "H2" };
const struct paper_type PAPER_BODY = { 8.5, PAPER_INK_TEXT, PAPER_LEFT, false, "P" };
const struct paper_type PAPER_SMALL = { 7.5, PAPER_INK_FAINT, PAPER_LEFT, false, "P" };
static const struct paper_type CELL = { 8.5, PAPER_INK_TEXT, PAPER_RIGHT, false, "TD" };
static const struct paper_type HEAD = { 8, PAPER_INK_FAINT, PAPER_RIGHT, false, "TH" };

void
paper_ink(cairo_t *cr, enum paper_ink ink)
{
    static const uint32_t rgb[] = {
        [PAPER_INK_TEXT] = 0x1A1C21, [PAPER_INK_FAINT] = 0x545B63, [PAPER_INK_BAND] = BAND_COLOUR_ON_LIGHT,
        [PAPER_INK_EDGE] = 0x7D93A8, [PAPER_INK_RUN] = 0x005999,   [PAPER_INK_OTHER] = 0xBF5400,
        [PAPER_INK_PALE] = 0xEDEFF1,
    };
    cairo_set_source_rgb(cr, (rgb[ink] >> 16) / 255.0, (rgb[ink] >> 8 & 0xFF) / 255.0, (rgb[ink] & 0xFF) / 255.0);
}

static const char *
language_of(const struct catalogue *words, char out[16])
{
    if (!words || !catalogue_head(words, "Language", out, 16))
        str_copy(out, 16, "en");
    return out;
}

/* ---------------------------------------------------------------- text */

static PangoLayout *
lay_out(struct paper *p, double width_pt, const struct paper_type *type, const char *text)
{
    char language[16];
    PangoLayout *layout = pango_cairo_create_layout(p->cr);
    PangoContext *context = pango_layout_get_context(layout);
    PangoFontDescription *font = pango_font_description_from_string(FONTS);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE); /* the same lines on paper and in a picture */
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(context, options);
    pango_context_set_round_glyph_positions(context, FALSE);
    pango_context_set_language(context, pango_language_from_string(language_of(p->words, language)));
    pango_font_description_set_absolute_size(font, type->size_pt * PANGO_SCALE);
    pango_font_description_set_weight(font, type->is_bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_context_changed(layout);
    pango_layout_set_font_description(layout, font);
    pango_layout_set_text(layout, text, -1);
    pango_layout_set_auto_dir(layout, FALSE);
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_alignment(layout, type->align == PAPER_LEFT ? PANGO_ALIGN_LEFT : type->align == PAPER_CENTRE ? PANGO_ALIGN_CENTER : PANGO_ALIGN_RIGHT);
    if (width_pt > 0)
        pango_layout_set_width(layout, (int) (width_pt * PANGO_SCALE));
    pango_font_description_free(font);
    cairo_font_options_destroy(options);
    return layout;
}

static void
tag_begin(struct paper *p, const char *tag)
{
    if (tag)
        cairo_tag_begin(p->cr, tag, NULL);
}

static void
tag_end(struct paper *p, const char *tag)
{
    if (tag)
        cairo_tag_end(p->cr, tag);
}

double
paper_set(struct paper *p, double x, double y, double width_pt, const struct paper_type *type, const char *text)
{
    PangoLayout *layout = lay_out(p, width_pt, type, text);
    PangoRectangle box;
    pango_layout_get_extents(layout, NULL, &box);
    const double share = type->align == PAPER_LEFT ? 0 : type->align == PAPER_CENTRE ? 0.5 : 1;
    const double wide_pt = width_pt > 0 ? width_pt : pango_units_to_double(box.width);
    p->n_signs_missing += pango_layout_get_unknown_glyphs_count(layout);
    tag_begin(p, type->tag);
    paper_ink(p->cr, type->ink);
    cairo_move_to(p->cr, x - share * wide_pt - (width_pt > 0 ? 0 : pango_units_to_double(box.x)), y);
    pango_cairo_show_layout(p->cr, layout);
    tag_end(p, type->tag);
    g_object_unref(layout);
    return pango_units_to_double(box.height);
}

double
paper_height(struct paper *p, double width_pt, const struct paper_type *type, const char *text)
{
    PangoLayout *layout = lay_out(p, width_pt, type, text);
    PangoRectangle box;
    pango_layout_get_extents(layout, NULL, &box);
    g_object_unref(layout);
    return pango_units_to_double(box.height);
}

void
paper_say(struct paper *p, const struct paper_type *type, const char *text)
{
    PangoLayout *layout = lay_out(p, PAPER_INNER_PT, type, text);
    PangoLayoutIter *at = pango_layout_get_iter(layout);
    const double lead_pt = 0.1 * type->size_pt;
    p->n_signs_missing += pango_layout_get_unknown_glyphs_count(layout);
    tag_begin(p, type->tag);
    do {
        PangoRectangle box;
        pango_layout_iter_get_line_extents(at, NULL, &box);
        const double height_pt = pango_units_to_double(box.height) + lead_pt;
        if (p->y + height_pt > BOTTOM_PT) {
            tag_end(p, type->tag);
            paper_room(p, height_pt);
            tag_begin(p, type->tag);
        }
        paper_ink(p->cr, type->ink);
        cairo_move_to(p->cr, PAPER_MARGIN_PT, p->y + pango_units_to_double(pango_layout_iter_get_baseline(at) - box.y));
        pango_cairo_show_layout_line(p->cr, pango_layout_iter_get_line_readonly(at));
        p->y += height_pt;
    } while (pango_layout_iter_next_line(at));
    tag_end(p, type->tag);
    pango_layout_iter_free(at);
    g_object_unref(layout);
}

/* ---------------------------------------------------------------- pages */

static void
draw_foot(struct paper *p)
{
    char number[NUMBER_MAX], page[64];
    struct paper_type right = PAPER_SMALL;
    right.align = PAPER_RIGHT;
    PHRASE(p->words, page, N_("page {1}"), phrase_int(number, p->n_pages));
    paper_set(p, PAPER_MARGIN_PT, BOTTOM_PT + 8, PAPER_INNER_PT - 60, &PAPER_SMALL, p->foot ? p->foot : "");
    paper_set(p, PAPER_RIGHT_PT, BOTTOM_PT + 8, 0, &right, page);
}

/* White paper; of a picture, below what there is. */
static void
new_page(struct paper *p)
{
    if (p->is_picture && p->n_pages > 0) {
        cairo_translate(p->cr, 0, PAPER_HEIGHT_PT);
    } else if (p->n_pages > 0)
        cairo_show_page(p->cr);
    p->n_pages++;
    p->y = TOP_PT;
    cairo_set_source_rgb(p->cr, 1, 1, 1);
    cairo_rectangle(p->cr, 0, 0, PAPER_WIDTH_PT, PAPER_HEIGHT_PT);
    cairo_fill(p->cr);
}

bool
paper_room(struct paper *p, double height_pt)
{
    char head[sizeof p->title + 64];
    if (p->y + height_pt <= BOTTOM_PT || p->y <= TOP_PT)
        return false;
    draw_foot(p);
    new_page(p);
    PHRASE(p->words, head, N_("{1}, continued"), p->title);
    p->y += 8 + paper_set(p, PAPER_MARGIN_PT, p->y, PAPER_INNER_PT, &PAPER_BODY, head);
    return true;
}

void
paper_begin(struct paper *p, const char *title, const char *foot)
{
    str_copy(p->title, sizeof p->title, title);
    p->foot = foot;
    paper_say(p, &PAPER_TITLE, title);
    p->y += 2;
}

void
paper_end(struct paper *p)
{
    char text[PHRASE_MAX], number[NUMBER_MAX];
    if (p->n_signs_missing > 0) {
        PHRASE_COUNT(p->words, text, p->n_signs_missing,
                     NP_("{1} letter of this page is in no font of this computer and shows as a box: install Debian's fonts-noto-cjk.",
                         "{1} letters of this page are in no font of this computer and show as boxes: install Debian's fonts-noto-cjk."),
                     phrase_int(number, p->n_signs_missing));
        paper_say(p, &PAPER_SMALL, text);
    }
    draw_foot(p);
}

/* ---------------------------------------------------------------- tables and figures */

static double
cell_width(const struct paper_table *t, int k)
{
    return (t->right[k] - (k > 0 ? t->right[k - 1] : 0)) * PAPER_INNER_PT - (k > 0 ? CELL_GAP_PT : 0);
}

/* A row's cells stand on one line at the top; heads at the bottom, so that they stand on their columns. */
static void
set_row(struct paper *p, const struct paper_table *t, const char *const *cell, const struct paper_type *type, double height_pt)
{
    tag_begin(p, "TR");
    for (int k = 0; k < t->n; k++) {
        struct paper_type one = *type;
        one.align = k == 0 ? PAPER_LEFT : PAPER_RIGHT;
        one.tag = k == 0 ? "TH" : type->tag;
        const double width = cell_width(t, k), x = k == 0 ? PAPER_MARGIN_PT : PAPER_MARGIN_PT + t->right[k] * PAPER_INNER_PT;
        const double down = type == &HEAD ? height_pt - paper_height(p, width, &one, cell[k]) : 0;
        paper_set(p, x, p->y + down, width, &one, cell[k]);
    }
    tag_end(p, "TR");
    p->y += height_pt + 0.5;
}

static double
row_height(struct paper *p, const struct paper_table *t, const char *const *cell, const struct paper_type *type)
{
    double height_pt = 0;
    for (int k = 0; k < t->n; k++) {
        const double one = paper_height(p, cell_width(t, k), type, cell[k]);
        height_pt = one > height_pt ? one : height_pt;
    }
    return height_pt;
}

void
paper_table_begin(struct paper *p, const struct paper_table *t)
{
    const double height_pt = row_height(p, t, t->head, &HEAD);
    paper_room(p, 2 * height_pt + 4);
    tag_begin(p, "Table");
    set_row(p, t, t->head, &HEAD, height_pt);
}

void
paper_table_row(struct paper *p, const struct paper_table *t, const char *const *cell)
{
    const double height_pt = row_height(p, t, cell, &CELL);
    if (p->y + height_pt > BOTTOM_PT) {
        paper_table_end(p);
        paper_room(p, height_pt);
        paper_table_begin(p, t);
    }
    set_row(p, t, cell, &CELL, height_pt);
}

void
paper_table_end(struct paper *p)
{
    tag_end(p, "Table");
}

void
paper_figure_begin(struct paper *p, double height_pt)
{
    paper_room(p, height_pt);
    tag_begin(p, "Figure");
}

void
paper_figure_end(struct paper *p)
{
    tag_end(p, "Figure");
}

/* ---------------------------------------------------------------- the file */

static cairo_status_t
write_bytes(void *closure, const unsigned char *data, unsigned len)
{
    return fwrite(data, 1, len, closure) == len ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

/* All of it on the surface; p tells afterwards how many pages there were. */
static cairo_status_t
draw_all(struct paper *p, cairo_surface_t *surface, paper_draw *draw, const void *what)
{
    *p = (struct paper){ .words = p->words, .is_picture = p->is_picture, .cr = cairo_create(surface) };
    if (p->is_picture)
        cairo_scale(p->cr, PNG_PIXELS_PER_PT, PNG_PIXELS_PER_PT);
    new_page(p);
    tag_begin(p, "Document");
    draw(p, what);
    tag_end(p, "Document");
    if (!p->is_picture)
        cairo_show_page(p->cr);
    const cairo_status_t status = cairo_status(p->cr);
    cairo_destroy(p->cr);
    return status;
}

static cairo_status_t
write_png(FILE *f, struct paper *p, paper_draw *draw, const void *what)
{
    cairo_surface_t *trial = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1, 1);
    p->is_picture = true;
    cairo_status_t status = draw_all(p, trial, draw, what);
    cairo_surface_destroy(trial);
    if (status != CAIRO_STATUS_SUCCESS)
        return status;
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int) (PAPER_WIDTH_PT * PNG_PIXELS_PER_PT),
                                                          (int) (p->n_pages * PAPER_HEIGHT_PT * PNG_PIXELS_PER_PT));
    status = draw_all(p, surface, draw, what);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_write_to_png_stream(surface, write_bytes, f);
    cairo_surface_destroy(surface);
    return status;
}

static cairo_status_t
write_pdf(FILE *f, struct paper *p, paper_draw *draw, const void *what)
{
    char *pdf = NULL, language[16];
    size_t len = 0;
    FILE *whole = open_memstream(&pdf, &len);
    if (!whole)
        return CAIRO_STATUS_NO_MEMORY;
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(write_bytes, whole, PAPER_WIDTH_PT, PAPER_HEIGHT_PT);
    cairo_status_t status = draw_all(p, surface, draw, what);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, p->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Underfoot");
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    if (fclose(whole) != 0 && status == CAIRO_STATUS_SUCCESS)
        status = CAIRO_STATUS_NO_MEMORY;
    if (status == CAIRO_STATUS_SUCCESS && !paper_pdf_put(f, pdf, len, language_of(p->words, language)))
        status = CAIRO_STATUS_WRITE_ERROR;
    free(pdf);
    return status;
}

enum err
paper_write(const char *path, const struct catalogue *words, paper_draw *draw, const void *what, struct message *why)
{
    struct fileio_aside aside;
    struct paper p = { .words = words };
    const bool is_png = str_ends_with(path, ".png");
    if (!is_png && !str_ends_with(path, ".pdf")) {
        message_tell(why, MESSAGE_PAPER_NO_KIND, message_path(path));
        return ERR_USAGE;
    }
    const enum err err = fileio_aside_open(&aside, path, 0600, why);
    if (err != ERR_OK)
        return err;
    const cairo_status_t status = (is_png ? write_png : write_pdf)(aside.f, &p, draw, what);
    if (status == CAIRO_STATUS_SUCCESS)
        return fileio_aside_commit(&aside, why);
    fileio_aside_abandon(&aside);
    message_tell(why, MESSAGE_PAPER_NOT_DRAWN, message_path(path), cairo_status_to_string(status));
    return ERR_OS;
}
