/* page_course.c - the page of a course: its visits on one axis, one picture a metric. */
#include "report/page.h"
#include "report/page_parts.h"

#include "base/str.h"
#include "report/local_time.h"

#include <math.h>

#define INNER_PT (PAGE_WIDTH_PT - 2 * PAGE_MARGIN_PT)
#define GAP_PT 34.0
#define PLOT_WIDTH_PT ((INNER_PT - GAP_PT) / 2 - 24)
#define PLOT_HEIGHT_PT 88.0
#define ROW_PT 136.0
#define N_METRICS_MAX 6

/* One visit's values in a picture; NAN = not there. */
struct mark {
    double dot, spread, ring, low, high;
};

struct picture {
    struct page_plot plot;
    const struct course *course;
};

static double
x_of(const struct picture *p, int visit)
{
    return p->plot.x + p->plot.width * (visit + 0.5) / p->course->n_visits;
}

static void
draw_visit_numbers(cairo_t *cr, const struct picture *p)
{
    char text[48];
    const int n = p->course->n_visits, every = n > 12 ? 2 : 1;
    page_ink(cr, PAGE_INK_FAINT);
    for (int i = 0; i < n; i += every) {
        const struct store_visit *v = &p->course->visit[i].visit;
        page_number(text, course_visit_number(p->course, i), 0);
        if (!v->is_finished || v->is_cut_short)
            str_append(text, sizeof text, "x");
        page_text(cr, x_of(p, i), p->plot.y + p->plot.height + 9, 7, PAGE_CENTRE, 0, text);
    }
}

static struct page_plot
place(int i)
{
    return (struct page_plot){ .x = PAGE_MARGIN_PT + 24 + (i % 2) * (PLOT_WIDTH_PT + 24 + GAP_PT),
                               .y = 118 + (i / 2) * ROW_PT,
                               .width = PLOT_WIDTH_PT,
                               .height = PLOT_HEIGHT_PT };
}

static void
title(cairo_t *cr, const struct page_plot *p, const char *text)
{
    page_ink(cr, PAGE_INK_TEXT);
    page_text(cr, p->x - 24, p->y - 8, 9, PAGE_LEFT, p->width + 24, text);
}

static struct mark
mark_of(const struct course_visit *v, enum metric m)
{
    const double s = page_metric_scale(m);
    const struct course_band *b = &v->band[m];
    return (struct mark){ .dot = v->held[m].mean * s,
                          /* A yes or no has no spread that says anything. */
                          .spread = s > 1 ? (double) NAN : v->held[m].sd,
                          .ring = v->baseline[m].mean * s,
                          .low = b->has_target ? b->low * s : (double) NAN,
                          .high = b->has_target ? b->high * s : (double) NAN };
}

static void
find_range(const struct course *c, enum metric m, double *low, double *high)
{
    *low = (double) INFINITY;
    *high = -(double) INFINITY;
    for (int i = 0; i < c->n_visits; i++) {
        const struct mark k = mark_of(&c->visit[i], m);
        const double spread = isnan(k.spread) ? 0 : k.spread;
        *low = fmin(fmin(*low, k.ring), fmin(k.dot - spread, k.low)); /* fmin passes NAN over */
        *high = fmax(fmax(*high, k.ring), fmax(k.dot + spread, k.high));
    }
    if (page_metric_scale(m) > 1) { /* a share: the whole of it */
        *low = 0;
        *high = 100;
    }
    if (!(*low < *high)) {
        *low = isfinite(*low) ? *low - 1 : 0;
        *high = *low + 2;
    }
    const double room = 0.08 * (*high - *low);
    *low -= room;
    *high += room;
}

static void
draw_stripe(cairo_t *cr, const struct picture *p, int i, const struct mark *k)
{
    if (isnan(k->low) && isnan(k->high))
        return;
    const double half = 0.5 * p->plot.width / p->course->n_visits;
    const double top = isnan(k->high) ? p->plot.y : page_plot_y(&p->plot, k->high);
    const double bottom = isnan(k->low) ? p->plot.y + p->plot.height : page_plot_y(&p->plot, k->low);
    page_ink(cr, PAGE_INK_BAND);
    cairo_set_antialias(cr, CAIRO_ANTIALIAS_NONE); /* no seams between the visits */
    cairo_rectangle(cr, x_of(p, i) - half, top, 2 * half, bottom - top);
    cairo_fill(cr);
    cairo_set_antialias(cr, CAIRO_ANTIALIAS_DEFAULT);
}

static void
draw_mark(cairo_t *cr, const struct picture *p, int i, const struct mark *k)
{
    const double x = x_of(p, i);
    cairo_set_line_width(cr, 1);
    if (isfinite(k->ring)) {
        page_ink(cr, PAGE_INK_OTHER);
        cairo_new_sub_path(cr);
        cairo_arc(cr, x, page_plot_y(&p->plot, k->ring), 3, 0, PAGE_TURN);
        cairo_stroke(cr);
    }
    if (!isfinite(k->dot))
        return;
    page_ink(cr, PAGE_INK_RUN);
    if (isfinite(k->spread)) {
        cairo_move_to(cr, x, page_plot_y(&p->plot, k->dot - k->spread));
        cairo_line_to(cr, x, page_plot_y(&p->plot, k->dot + k->spread));
        cairo_stroke(cr);
    }
    cairo_new_sub_path(cr);
    cairo_arc(cr, x, page_plot_y(&p->plot, k->dot), 2.8, 0, PAGE_TURN);
    cairo_fill(cr);
}

/* The smallest change that is real, as a length beside the frame. */
static void
draw_real(cairo_t *cr, const struct picture *p, double mdc)
{
    const double span = p->plot.high - p->plot.low;
    if (!isfinite(mdc) || mdc > span)
        return;
    const double x = p->plot.x + p->plot.width + 5, length = p->plot.height * mdc / span;
    const double y = p->plot.y + p->plot.height;
    page_ink(cr, PAGE_INK_TEXT);
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
draw_metric(cairo_t *cr, const struct course *c, enum metric m, int at)
{
    char line[160], number[48];
    struct picture p = { place(at), c };
    find_range(c, m, &p.plot.low, &p.plot.high);
    snprintf(line, sizeof line, "%s, %s (real from %s)", page_metric_label(m), page_metric_unit(m),
             page_number(number, c->mdc[m] * page_metric_scale(m), page_metric_digits(m)));
    title(cr, &p.plot, line);
    for (int i = 0; i < c->n_visits; i++) {
        const struct mark k = mark_of(&c->visit[i], m);
        draw_stripe(cr, &p, i, &k);
    }
    page_plot_frame(cr, &p.plot);
    for (int i = 0; i < c->n_visits; i++) {
        const struct mark k = mark_of(&c->visit[i], m);
        draw_mark(cr, &p, i, &k);
    }
    draw_real(cr, &p, c->mdc[m] * page_metric_scale(m));
    draw_visit_numbers(cr, &p);
}

static void
draw_shares(cairo_t *cr, const struct course *c, int at)
{
    char line[160];
    struct picture p = { place(at), c };
    const enum metric m = c->visit[c->n_visits - 1].leads;
    p.plot.low = 0;
    p.plot.high = 100;
    snprintf(line, sizeof line, "In band, %%, %s: dots with feedback, rings without", page_metric_label(m));
    title(cr, &p.plot, line);
    page_plot_frame(cr, &p.plot);
    for (int i = 0; i < c->n_visits; i++) {
        const struct course_band *b = &c->visit[i].band[m];
        const struct mark k = { .dot = b->shown_pct, .spread = (double) NAN, .ring = b->withheld_pct };
        draw_mark(cr, &p, i, &k);
    }
    draw_visit_numbers(cr, &p);
}

static void
draw_pain(cairo_t *cr, const struct course *c, int at)
{
    struct picture p = { place(at), c };
    p.plot.low = 0;
    p.plot.high = 10;
    title(cr, &p.plot, "Pain, 0-10: ring before, dot worst in run or after");
    page_plot_frame(cr, &p.plot);
    for (int i = 0; i < c->n_visits; i++) {
        const struct course_visit *v = &c->visit[i];
        const struct mark k = { .dot = fmax(v->pain_worst, v->pain_after), .spread = (double) NAN, .ring = v->pain_before };
        draw_mark(cr, &p, i, &k);
    }
    draw_visit_numbers(cr, &p);
}

/* Minutes as bars; what of the steps landed on the forefoot as the filled part. */
static void
draw_dose(cairo_t *cr, const struct course *c, int at)
{
    struct picture p = { place(at), c };
    p.plot.high = 1;
    for (int i = 0; i < c->n_visits; i++)
        p.plot.high = fmax(p.plot.high, 1.1 * c->visit[i].dose.minutes);
    title(cr, &p.plot, "Dose, min of running; filled: mid- and forefoot steps");
    page_plot_frame(cr, &p.plot);
    for (int i = 0; i < c->n_visits; i++) {
        const struct dose *d = &c->visit[i].dose;
        const double half = 0.3 * p.plot.width / c->n_visits, bottom = p.plot.y + p.plot.height;
        const double top = page_plot_y(&p.plot, d->minutes);
        const double share = d->n_steps > 0 ? (double) d->n_fore_least / d->n_steps : 0;
        const double most = d->n_steps > 0 ? (double) d->n_fore_most / d->n_steps : 0;
        page_ink(cr, PAGE_INK_RUN);
        cairo_set_line_width(cr, 1);
        cairo_rectangle(cr, x_of(&p, i) - half, top, 2 * half, bottom - top);
        cairo_stroke(cr);
        cairo_rectangle(cr, x_of(&p, i) - half, bottom - share * (bottom - top), 2 * half, share * (bottom - top));
        cairo_fill(cr);
        cairo_rectangle(cr, x_of(&p, i) - half, bottom - most * (bottom - top), 2 * half, (most - share) * (bottom - top));
        cairo_stroke(cr);
        if (c->visit[i].dose_note[0]) {
            page_ink(cr, PAGE_INK_OTHER);
            page_text(cr, x_of(&p, i), top - 2, 8, PAGE_CENTRE, 0, "!");
        }
    }
    draw_visit_numbers(cr, &p);
}

/* In the place of a picture: what went with less braking. */
static void
draw_braking(cairo_t *cr, const struct course *c, int at)
{
    char text[COURSE_BRAKING_MAX];
    const struct page_plot p = place(at);
    if (!course_braking_text(c, text)[0])
        return;
    title(cr, &p, "Braking");
    const double y = page_lines(cr, p.x - 24, p.y + 6, 8, p.width + 24, 6, text);
    page_ink(cr, PAGE_INK_FAINT);
    page_lines(cr, p.x - 24, y + 2, 7.5, p.width + 24, 3, COURSE_BRAKING_NOTE);
}

static const char *
draw(cairo_t *cr, const struct course *c, const char *rest)
{
    (void) rest; /* all of it has room on one page */
    char line[256], from[LOCAL_TIME_MAX], to[LOCAL_TIME_MAX];
    enum metric metrics[METRIC_COUNT];
    const struct store_visit *first = &c->visit[0].visit, *last = &c->visit[c->n_visits - 1].visit;
    page_ink(cr, PAGE_INK_TEXT);
    snprintf(line, sizeof line, "%s, course of %d visit%s", c->runner.code, c->n_visits, c->n_visits == 1 ? "" : "s");
    page_text(cr, PAGE_MARGIN_PT, 58, 17, PAGE_LEFT, INNER_PT, line);
    snprintf(line, sizeof line, "%s%s%s to %s. Dots: means of the run, whisker one standard deviation; rings: silent baseline; "
             "stripe: target; x: cut short, or not ended",
             c->plan, c->plan[0] ? ", " : "", local_time_short(from, first->started_utc_ms, first->zone_offset_min),
             local_time_short(to, last->started_utc_ms, last->zone_offset_min));
    page_ink(cr, PAGE_INK_FAINT);
    page_lines(cr, PAGE_MARGIN_PT, 74, 9, INNER_PT, 2, line);
    int at = 0;
    const int n = course_metrics(c, metrics);
    for (int i = 0; i < n && i < N_METRICS_MAX; i++)
        draw_metric(cr, c, metrics[i], at++);
    draw_shares(cr, c, at++);
    draw_pain(cr, c, at++);
    draw_dose(cr, c, at++);
    draw_braking(cr, c, at++);
    page_definitions(cr, c, PAGE_HEIGHT_PT - 46);
    page_ink(cr, PAGE_INK_FAINT);
    page_lines(cr, PAGE_MARGIN_PT, PAGE_HEIGHT_PT - 34, 7.5, INNER_PT, 2,
               "The bar at the right of a picture is the smallest change that is more than this runner's own wandering within a "
               "visit (MDC95, Weir 2005), from two silent blocks of two minutes or more. Not a medical device, no diagnosis: "
               "the treating clinician decides.");
    return NULL;
}

enum err
page_course(const struct course *c, const char *path, char why[ERR_WHY_MAX])
{
    return page_write(path, draw, c, why);
}
