#include "report/page_parts.h"

#include "base/fileio.h"
#include "base/str.h"
#include "report/number.h"

#include <cairo-pdf.h>
#include <math.h>
#include <string.h>

#define PNG_PIXELS_PER_PT 2.0 /* 144 dots an inch */

void
page_ink(cairo_t *cr, enum page_ink ink)
{
    static const double rgb[][3] = {
        [PAGE_INK_TEXT] = { 0.10, 0.11, 0.13 }, [PAGE_INK_FAINT] = { 0.38, 0.41, 0.45 },
        [PAGE_INK_BAND] = { 0.78, 0.91, 0.84 }, [PAGE_INK_RUN] = { 0.00, 0.35, 0.60 },
        [PAGE_INK_OTHER] = { 0.75, 0.33, 0.00 }, [PAGE_INK_PALE] = { 0.92, 0.93, 0.94 },
    };
    cairo_set_source_rgb(cr, rgb[ink][0], rgb[ink][1], rgb[ink][2]);
}

static double
width_of(cairo_t *cr, const char *text)
{
    cairo_text_extents_t e;
    cairo_text_extents(cr, text, &e);
    return e.x_advance;
}

/* Takes a whole UTF-8 character off the end. */
static void
drop_last(char *text)
{
    size_t n = strlen(text);
    while (n > 0 && ((unsigned char) text[n - 1] & 0xc0) == 0x80)
        n--;
    text[n > 0 ? n - 1 : 0] = '\0';
}

void
page_text(cairo_t *cr, double x, double y, double size_pt, enum page_align align, double width_pt, const char *text)
{
    char shown[PAGE_LINE_MAX + 4];
    cairo_set_font_size(cr, size_pt);
    str_copy(shown, sizeof shown - 4, text);
    if (width_pt > 0 && width_of(cr, shown) > width_pt) {
        while (shown[0] && width_of(cr, shown) > width_pt - width_of(cr, "..."))
            drop_last(shown);
        str_append(shown, sizeof shown, "...");
    }
    const double share = align == PAGE_LEFT ? 0 : align == PAGE_CENTRE ? 0.5 : 1;
    cairo_move_to(cr, x - share * width_of(cr, shown), y);
    cairo_show_text(cr, shown);
}

/* Bytes of the letter at text, whatever it is. */
static size_t
letter_len(const char *text)
{
    size_t n = 1;
    while (((unsigned char) text[n] & 0xc0) == 0x80)
        n++;
    return n;
}

/* Whether line, of len bytes, goes on by n bytes of text within the width. */
static bool
fits(cairo_t *cr, double width_pt, char line[PAGE_LINE_MAX], size_t len, const char *text, size_t n)
{
    if (len + n >= PAGE_LINE_MAX)
        return false;
    memcpy(line + len, text, n);
    line[len + n] = '\0';
    if (width_of(cr, line) <= width_pt)
        return true;
    line[len] = '\0';
    return false;
}

const char *
page_take_line(cairo_t *cr, double width_pt, const char *text, char line[PAGE_LINE_MAX])
{
    const char *at = text;
    line[0] = '\0';
    while (*at != '\0' && *at != '\n') {
        const size_t blanks = strspn(at, " "), n = blanks + strcspn(at + blanks, " \n");
        if (!fits(cr, width_pt, line, (size_t) (at - text), at, n))
            break;
        at += n;
    }
    if (at == text) /* a word alone is wider than the line */
        while (*at != '\0' && *at != ' ' && *at != '\n' &&
               (fits(cr, width_pt, line, (size_t) (at - text), at, letter_len(at)) || at == text))
            at += letter_len(at);
    if (*at == '\n')
        return at + 1;
    return at + strspn(at, " ");
}

double
page_lines(cairo_t *cr, double x, double y, double size_pt, double width_pt, int n_lines, const char *text)
{
    char line[PAGE_LINE_MAX];
    for (const char *rest = text; *rest && n_lines > 0; n_lines--) {
        cairo_set_font_size(cr, size_pt);
        rest = page_take_line(cr, width_pt, rest, line);
        if (*rest && n_lines == 1)
            str_append(line, sizeof line, " ...");
        page_text(cr, x, y, size_pt, PAGE_LEFT, width_pt, line);
        y += PAGE_LEADING * size_pt;
    }
    return y;
}

const char *
page_number(char out[48], double value, int digits)
{
    if (isfinite(value))
        return number_fixed(out, value, digits);
    str_copy(out, 48, "\xe2\x80\x93");
    return out;
}

const char *
page_metric_label(enum metric m)
{
    switch ((int) m) {
    case METRIC_CADENCE_SPM:
        return "Cadence";
    case METRIC_CONTACT_MS:
        return "Contact time";
    case METRIC_FLIGHT_MS:
        return "Flight time";
    case METRIC_LANDING_AHEAD_MM:
        return "Landing ahead";
    case METRIC_AHEAD_AT_LOAD_MM:
        return "Ahead at loading peak";
    case METRIC_LOAD_RATE_BW_S:
        return "Loading rate";
    case METRIC_IMPACT_TRANSIENT:
        return "Impact transient";
    case METRIC_STRIKE_INDEX_PCT:
        return "Strike index";
    case METRIC_PEAK_FORCE_BW:
        return "Peak force";
    case METRIC_COM_DROP_MM:
        return "Drop of the mass centre";
    case METRIC_STIFFNESS_KN_M:
        return "Vertical stiffness";
    case METRIC_HEEL_TO_FORE_MS:
        return "Heel to forefoot";
    case METRIC_STEP_WIDTH_MM:
        return "Step width";
    case METRIC_ASYM_CONTACT_PCT:
        return "Asymmetry of contact";
    case METRIC_STEP_VAR_PCT:
        return "Stride variability";
    case METRIC_BRAKING_IMPULSE_BW_S:
        return "Braking";
    case METRIC_PEAK_BRAKING_BW:
        return "Peak braking";
    case METRIC_BRAKING_END_PCT:
        return "Braking ends at";
    default:
        return metric_info(m)->name;
    }
}

static bool
is_share(enum metric m)
{
    return strcmp(metric_info(m)->unit, "yes/no") == 0;
}

const char *
page_metric_unit(enum metric m)
{
    return is_share(m) ? "% of steps" : metric_info(m)->unit;
}

int
page_metric_digits(enum metric m)
{
    const int digits = metric_info(m)->digits;
    return is_share(m) ? 0 : digits > 4 ? 4 : digits > 2 ? 2 : digits > 0 ? digits - 1 : 0;
}

double
page_metric_scale(enum metric m)
{
    return is_share(m) ? 100 : 1;
}

double
page_plot_y(const struct page_plot *p, double value)
{
    const double share = (value - p->low) / (p->high - p->low);
    return p->y + p->height * (1 - (share < 0 ? 0 : share > 1 ? 1 : share));
}

/* 1, 2 or 5 times a power of ten, so that about four marks fit. */
static double
mark_step(double span)
{
    const double raw = span / 4, ten = pow(10, floor(log10(raw)));
    return raw / ten >= 7 ? 10 * ten : raw / ten >= 3.5 ? 5 * ten : raw / ten >= 1.5 ? 2 * ten : ten;
}

void
page_plot_frame(cairo_t *cr, const struct page_plot *p)
{
    char text[48];
    const double step = mark_step(p->high - p->low);
    page_ink(cr, PAGE_INK_FAINT);
    cairo_set_line_width(cr, 0.5);
    cairo_rectangle(cr, p->x, p->y, p->width, p->height);
    cairo_stroke(cr);
    const int needed = step < 1 ? (int) ceil(-log10(step) - 1e-9) : 0;
    for (double v = ceil(p->low / step) * step; v <= p->high + 1e-9 * step; v += step) {
        const double y = page_plot_y(p, v);
        cairo_move_to(cr, p->x - 3, y);
        cairo_line_to(cr, p->x, y);
        cairo_stroke(cr);
        page_text(cr, p->x - 5, y + 2.5, 7, PAGE_RIGHT, 0, page_number(text, v, needed));
    }
}

static cairo_status_t
write_bytes(void *closure, const unsigned char *data, unsigned len)
{
    return fwrite(data, 1, len, closure) == len ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

/* Draws all pages on surface. n_pages: how many there were; of a picture, they stand below each other. */
static cairo_status_t
draw_pages(cairo_surface_t *surface, double scale, page_draw *draw, const struct course *c, int *n_pages)
{
    const bool is_picture = scale > 0;
    const char *rest = NULL;
    *n_pages = 0;
    cairo_t *cr = cairo_create(surface);
    if (is_picture)
        cairo_scale(cr, scale, scale);
    do {
        cairo_set_source_rgb(cr, 1, 1, 1);
        cairo_paint(cr);
        cairo_select_font_face(cr, "B612", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
        rest = draw(cr, c, rest);
        (*n_pages)++;
        if (is_picture) {
            cairo_translate(cr, 0, PAGE_HEIGHT_PT);
            cairo_reset_clip(cr);
            cairo_rectangle(cr, 0, 0, PAGE_WIDTH_PT, PAGE_HEIGHT_PT); /* white goes no higher */
            cairo_clip(cr);
        } else
            cairo_show_page(cr);
    } while (rest && cairo_status(cr) == CAIRO_STATUS_SUCCESS);
    const cairo_status_t status = cairo_status(cr);
    cairo_destroy(cr);
    return status;
}

static cairo_status_t
write_png(FILE *f, page_draw *draw, const struct course *c)
{
    int n_pages = 0;
    cairo_surface_t *trial = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1, 1);
    cairo_status_t status = draw_pages(trial, PNG_PIXELS_PER_PT, draw, c, &n_pages);
    cairo_surface_destroy(trial);
    if (status != CAIRO_STATUS_SUCCESS)
        return status;
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int) (PAGE_WIDTH_PT * PNG_PIXELS_PER_PT),
                                                          (int) (n_pages * PAGE_HEIGHT_PT * PNG_PIXELS_PER_PT));
    status = draw_pages(surface, PNG_PIXELS_PER_PT, draw, c, &n_pages);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_write_to_png_stream(surface, write_bytes, f);
    cairo_surface_destroy(surface);
    return status;
}

static cairo_status_t
write_pdf(FILE *f, page_draw *draw, const struct course *c)
{
    int n_pages;
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(write_bytes, f, PAGE_WIDTH_PT, PAGE_HEIGHT_PT);
    cairo_status_t status = draw_pages(surface, 0, draw, c, &n_pages);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return status;
}

enum err
page_write(const char *path, page_draw *draw, const struct course *c, char why[ERR_WHY_MAX])
{
    struct fileio_aside aside;
    const bool is_png = str_ends_with(path, ".png");
    if (!is_png && !str_ends_with(path, ".pdf")) {
        snprintf(why, ERR_WHY_MAX, "%.300s ends neither in .pdf nor in .png", path);
        return ERR_USAGE;
    }
    const enum err err = fileio_aside_open(&aside, path, 0600, why);
    if (err != ERR_OK)
        return err;
    const cairo_status_t status = is_png ? write_png(aside.f, draw, c) : write_pdf(aside.f, draw, c);
    if (status == CAIRO_STATUS_SUCCESS)
        return fileio_aside_commit(&aside, why);
    fileio_aside_abandon(&aside);
    snprintf(why, ERR_WHY_MAX, "can't draw %.300s: %s", path, cairo_status_to_string(status));
    return ERR_OS;
}

void
page_definitions(cairo_t *cr, const struct course *c, double y)
{
    enum metric metrics[METRIC_COUNT];
    const int n = course_metrics(c, metrics);
    char line[600] = "", part[COURSE_VISITS_TEXT_MAX + 96], visits[COURSE_VISITS_TEXT_MAX];
    int n_again = 0;
    for (int i = 0; i < c->n_visits; i++)
        n_again += c->visit[i].measurement.id != 0;
    if (n_again > 0)
        snprintf(line, sizeof line, "Measured again from the recordings of %d visits. ", n_again);
    for (int i = 0, k = 0; i < n; i++) {
        if (!course_other_definitions(c, metrics[i], visits)[0])
            continue;
        snprintf(part, sizeof part, "%s%s of visits %s", k++ > 0 ? "; " : "Left out, for it is of another definition: ",
                 page_metric_label(metrics[i]), visits);
        str_append(line, sizeof line, part);
    }
    page_ink(cr, PAGE_INK_FAINT);
    if (line[0])
        page_text(cr, PAGE_MARGIN_PT, y, 7.5, PAGE_LEFT, PAGE_WIDTH_PT - 2 * PAGE_MARGIN_PT, line);
}
