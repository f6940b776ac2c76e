/* page_course.c - the page of a course: its visits on one axis, one picture a metric. */
#include "report/page.h"
#include "report/page_parts.h"

#include "base/str.h"

#include <math.h>

#define GAP_PT 34.0
#define AXIS_PT 24.0 /* of a picture's marks, at its left */
#define PLOT_WIDTH_PT ((PAPER_INNER_PT - GAP_PT) / 2 - AXIS_PT)
#define PLOT_HEIGHT_PT 82.0
#define BELOW_PT 20.0  /* of the visits' numbers */
#define N_FIRST 6      /* metrics that stand before shares, pain and dose; the others come behind */

/* One visit's values in a picture; NAN = not there. */
struct mark {
    double dot, spread, ring, low, high;
};

/* Pictures stand two in a row, under titles that take what lines they need. */
struct picture {
    struct paper *paper;
    const struct course *course;
    struct page_plot plot;
};

/* What one picture shows. */
typedef void picture_draw(struct picture *p, enum metric m);
struct cell {
    char title[256];
    enum metric m;
    picture_draw *draw;
};

static double
x_of(const struct picture *p, int visit)
{
    return p->plot.x + p->plot.width * (visit + 0.5) / p->course->n_visits;
}

static void
draw_visit_numbers(struct picture *p)
{
    char text[NUMBER_MAX];
    const int n = p->course->n_visits, every = n > 12 ? 2 : 1;
    for (int i = 0; i < n; i += every) {
        const struct store_visit *v = &p->course->visit[i].visit;
        phrase_int(text, course_visit_number(p->course, i));
        if (!v->is_finished || v->is_cut_short)
            str_append(text, sizeof text, "x");
        page_mark(p->paper, x_of(p, i), p->plot.y + p->plot.height + 7, PAPER_CENTRE, text);
    }
}

static struct mark
mark_of(const struct course_visit *v, enum metric m)
{
    const double s = course_scale(m);
    const struct course_band *b = &v->band[m];
    return (struct mark){ .dot = v->held[m].mean * s,
                          /* A yes or no has no spread that says anything. */
                          .spread = s > 1 ? (double) NAN : v->held[m].sd,
                          .ring = v->baseline[m].mean * s,
                          .low = b->has_target ? b->low * s : (double) NAN,
                          .high = b->has_target ? b->high * s : (double) NAN };
}

static void
find_range(struct picture *p, enum metric m)
{
    double low = (double) INFINITY, high = -(double) INFINITY;
    for (int i = 0; i < p->course->n_visits; i++) {
        const struct mark k = mark_of(&p->course->visit[i], m);
        const double spread = isnan(k.spread) ? 0 : k.spread;
        low = fmin(fmin(low, k.ring), fmin(k.dot - spread, k.low)); /* fmin passes NAN over */
        high = fmax(fmax(high, k.ring), fmax(k.dot + spread, k.high));
    }
    if (course_scale(m) > 1) { /* a share: the whole of it */
        low = 0;
        high = 100;
    }
    page_plot_range(&p->plot, low, high);
}

static void
draw_mark(struct picture *p, int i, const struct mark *k)
{
    cairo_t *cr = p->paper->cr;
    const double x = x_of(p, i);
    cairo_set_line_width(cr, 1);
    if (isfinite(k->ring))
        page_plot_dot(p->paper, &p->plot, x, k->ring, 3, true);
    if (!isfinite(k->dot))
        return;
    paper_ink(cr, PAPER_INK_RUN);
    if (isfinite(k->spread)) {
        cairo_move_to(cr, x, page_plot_y(&p->plot, k->dot - k->spread));
        cairo_line_to(cr, x, page_plot_y(&p->plot, k->dot + k->spread));
        cairo_stroke(cr);
    }
    page_plot_dot(p->paper, &p->plot, x, k->dot, 2.8, false);
}

/* The smallest change that is real, as a length beside the frame. */
static void
draw_real(struct picture *p, double mdc)
{
    cairo_t *cr = p->paper->cr;
    const double span = p->plot.high - p->plot.low;
    if (!isfinite(mdc) || mdc > span)
        return;
    const double x = p->plot.x + p->plot.width + 5, length = p->plot.height * mdc / span;
    const double y = p->plot.y + p->plot.height;
    paper_ink(cr, PAPER_INK_TEXT);
    cairo_set_line_width(cr, 1);
    cairo_move_to(cr, x - 2, y);
    cairo_line_to(cr, x + 2, y);
    cairo_move_to(cr, x, y);
    cairo_line_to(cr, x, y - length);
    cairo_move_to(cr, x - 2, y - length);
    cairo_line_to(cr, x + 2, y - length);
    cairo_stroke(cr);
}

static void
draw_metric(struct picture *p, enum metric m)
{
    const double half = 0.5 * p->plot.width / p->course->n_visits;
    find_range(p, m);
    for (int i = 0; i < p->course->n_visits; i++) {
        const struct mark k = mark_of(&p->course->visit[i], m);
        page_plot_stripe(p->paper, &p->plot, x_of(p, i) - half, 2 * half, k.low, k.high);
    }
    page_plot_frame(p->paper, &p->plot);
    for (int i = 0; i < p->course->n_visits; i++) {
        const struct mark k = mark_of(&p->course->visit[i], m);
        draw_mark(p, i, &k);
    }
    draw_real(p, p->course->mdc[m] * course_scale(m));
}

static void
draw_shares(struct picture *p, enum metric m)
{
    p->plot.low = 0;
    p->plot.high = 100;
    page_plot_frame(p->paper, &p->plot);
    for (int i = 0; i < p->course->n_visits; i++) {
        const struct course_band *b = &p->course->visit[i].band[m];
        const struct mark k = { .dot = b->shown_pct, .spread = (double) NAN, .ring = b->withheld_pct };
        draw_mark(p, i, &k);
    }
}

static void
draw_pain(struct picture *p, enum metric m)
{
    (void) m;
    p->plot.low = 0;
    p->plot.high = 10;
    page_plot_frame(p->paper, &p->plot);
    for (int i = 0; i < p->course->n_visits; i++) {
        const struct course_visit *v = &p->course->visit[i];
        const struct mark k = { .dot = fmax(v->pain_worst, v->pain_after), .spread = (double) NAN, .ring = v->pain_before };
        draw_mark(p, i, &k);
    }
}

/* Minutes as bars; what of the steps landed on the forefoot as the filled part. */
static void
draw_dose(struct picture *p, enum metric m)
{
    cairo_t *cr = p->paper->cr;
    (void) m;
    p->plot.low = 0;
    p->plot.high = 1;
    for (int i = 0; i < p->course->n_visits; i++)
        p->plot.high = fmax(p->plot.high, 1.1 * p->course->visit[i].dose.minutes);
    page_plot_frame(p->paper, &p->plot);
    for (int i = 0; i < p->course->n_visits; i++) {
        const struct dose *d = &p->course->visit[i].dose;
        const double half = 0.3 * p->plot.width / p->course->n_visits, bottom = p->plot.y + p->plot.height;
        const double top = page_plot_y(&p->plot, d->minutes);
        const double share = d->n_steps > 0 ? (double) d->n_fore_least / d->n_steps : 0;
        const double most = d->n_steps > 0 ? (double) d->n_fore_most / d->n_steps : 0;
        paper_ink(cr, PAPER_INK_RUN);
        cairo_set_line_width(cr, 1);
        cairo_rectangle(cr, x_of(p, i) - half, top, 2 * half, bottom - top);
        cairo_stroke(cr);
        cairo_rectangle(cr, x_of(p, i) - half, bottom - share * (bottom - top), 2 * half, share * (bottom - top));
        cairo_fill(cr);
        cairo_rectangle(cr, x_of(p, i) - half, bottom - most * (bottom - top), 2 * half, (most - share) * (bottom - top));
        cairo_stroke(cr);
        if (p->course->visit[i].dose_grew != DOSE_IS_STEADY)
            page_mark(p->paper, x_of(p, i), top - 5, PAPER_CENTRE, "!");
    }
}

/* ---------------------------------------------------------------- all of them */

/* One or two pictures in a row; their titles stand on their frames. */
static void
draw_row(struct paper *p, const struct course *c, const struct cell *cell, int n)
{
    const struct paper_type title = { 8.5, PAPER_INK_TEXT, PAPER_LEFT, false, "Caption" };
    double above = 0;
    for (int i = 0; i < n; i++)
        above = fmax(above, paper_height(p, PLOT_WIDTH_PT + AXIS_PT, &title, cell[i].title));
    paper_room(p, above + PLOT_HEIGHT_PT + BELOW_PT + 6);
    for (int i = 0; i < n; i++) {
        const double x = PAPER_MARGIN_PT + i * (PLOT_WIDTH_PT + AXIS_PT + GAP_PT);
        const double height = paper_height(p, PLOT_WIDTH_PT + AXIS_PT, &title, cell[i].title);
        struct picture picture = { p, c, { x + AXIS_PT, p->y + above + 3, PLOT_WIDTH_PT, PLOT_HEIGHT_PT, 0, 1 } };
        paper_figure_begin(p, 0);
        paper_set(p, x, p->y + above - height, PLOT_WIDTH_PT + AXIS_PT, &title, cell[i].title);
        cell[i].draw(&picture, cell[i].m);
        draw_visit_numbers(&picture);
        paper_figure_end(p);
    }
    p->y += above + PLOT_HEIGHT_PT + BELOW_PT;
}

static struct cell
metric_cell(const struct paper *p, const struct course *c, enum metric m)
{
    struct cell cell = { .m = m, .draw = draw_metric };
    char title[METRIC_WORDS_TITLE_MAX], number[NUMBER_MAX];
    PHRASE(p->words, cell.title, N_("{1} (real from {2})"), metric_words_title(p->words, m, title),
           metric_words_value(p->words, number, m, c->mdc[m]));
    return cell;
}

static void
draw_pictures(struct paper *p, const struct course *c)
{
    enum metric metrics[METRIC_COUNT];
    struct cell cell[METRIC_COUNT + 3];
    const int n = course_metrics(c, metrics);
    const enum metric leads = c->visit[c->n_visits - 1].leads;
    int k = 0;
    for (int i = 0; i <= n; i++) {
        if (i == (n < N_FIRST ? n : N_FIRST)) {
            cell[k] = (struct cell){ .m = leads, .draw = draw_shares };
            PHRASE(p->words, cell[k].title, N_("In band, %, {1}: dots with feedback, rings without"), metric_words_label(p->words, leads));
            cell[++k] = (struct cell){ .m = leads, .draw = draw_pain };
            str_copy(cell[k].title, sizeof cell[k].title, phrase(p->words, N_("Pain, 0 to 10: ring before, dot worst in the run or after")));
            cell[++k] = (struct cell){ .m = leads, .draw = draw_dose };
            str_copy(cell[k++].title, sizeof cell[0].title,
                     phrase(p->words, N_("Dose, min of running; filled: mid- and forefoot steps; !: grew fast")));
        }
        if (i < n)
            cell[k++] = metric_cell(p, c, metrics[i]);
    }
    for (int i = 0; i < k; i += 2)
        draw_row(p, c, &cell[i], k - i < 2 ? k - i : 2);
}

static void
draw_head(struct paper *p, const struct course *c)
{
    char line[PHRASE_MAX], number[NUMBER_MAX], from[PHRASE_TIME_MAX], to[PHRASE_TIME_MAX];
    const struct store_visit *first = &c->visit[0].visit, *last = &c->visit[c->n_visits - 1].visit;
    struct paper_type faint = PAPER_BODY;
    faint.ink = PAPER_INK_FAINT;
    PHRASE_COUNT(p->words, line, c->n_visits, NP_("{1}, course of {2} visit", "{1}, course of {2} visits"), c->runner.code,
                 phrase_int(number, c->n_visits));
    paper_begin(p, line, phrase(p->words, PAGE_FOOT));
    phrase_time(p->words, from, first->started_utc_ms, first->zone_offset_min);
    phrase_time(p->words, to, last->started_utc_ms, last->zone_offset_min);
    if (c->plan[0])
        PHRASE(p->words, line, N_("Plan {1}, {2} to {3}."), c->plan, from, to);
    else
        PHRASE(p->words, line, N_("{1} to {2}."), from, to);
    paper_say(p, &faint, line);
    paper_say(p, &PAPER_SMALL,
              phrase(p->words, N_("Dots: means of the run, whisker one standard deviation. Rings: silent baseline. Stripe: target. "
                                  "x: cut short, or not ended.")));
    p->y += 4;
}

/* What went with less braking. */
static void
draw_braking(struct paper *p, const struct course *c)
{
    char text[COURSE_BRAKING_MAX];
    if (!course_braking_text(p->words, c, text)[0])
        return;
    paper_room(p, 30);
    paper_say(p, &PAPER_HEADING, metric_words_label(p->words, METRIC_BRAKING_IMPULSE_BW_S));
    paper_say(p, &PAPER_BODY, text);
    paper_say(p, &PAPER_SMALL, phrase(p->words, COURSE_BRAKING_NOTE));
}

static void
draw(struct paper *p, const void *what)
{
    const struct course *c = what;
    draw_head(p, c);
    draw_pictures(p, c);
    draw_braking(p, c);
    p->y += 4;
    paper_say(p, &PAPER_SMALL,
              phrase(p->words, N_("The bar at the right of a picture is the smallest change that is more than this runner's own wandering "
                                  "within a visit (MDC95, Weir 2005), from two silent blocks of two minutes or more.")));
    page_remarks(p, c);
    paper_end(p);
}

enum err
page_course(const struct course *c, const struct catalogue *w, const char *path, struct message *why)
{
    return paper_write(path, w, draw, c, why);
}
