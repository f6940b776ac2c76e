/* page_visit.c - the page of one visit. */
#include "report/page.h"
#include "report/page_parts.h"

#include "base/str.h"
#include "report/local_time.h"
#include "report/visit_said.h"
#include "report/visit_sensor.h"
#include "store/names.h"

#include <math.h>
#include <string.h>

#define RIGHT_PT (PAGE_WIDTH_PT - PAGE_MARGIN_PT)
#define NOTES_IN_PT  48                    /* of the notes behind their label */
#define NOTES_END_PT (PAGE_HEIGHT_PT - 50) /* their last line's base: what is below has its place */
#define INNER_PT (PAGE_WIDTH_PT - 2 * PAGE_MARGIN_PT)

static double
draw_head(cairo_t *cr, const struct course *c, const struct course_visit *v)
{
    char line[256], time[LOCAL_TIME_MAX];
    page_ink(cr, PAGE_INK_TEXT);
    snprintf(line, sizeof line, "%s, visit of %s", c->runner.code,
             local_time_short(time, v->visit.started_utc_ms, v->visit.zone_offset_min));
    page_text(cr, PAGE_MARGIN_PT, 58, 17, PAGE_LEFT, INNER_PT, line);
    page_ink(cr, PAGE_INK_FAINT);
    snprintf(line, sizeof line, "visit %lld, %s", (long long) v->visit.id, names_visit_end(&v->visit));
    if (v->visit.plan[0]) {
        char plan[128];
        snprintf(plan, sizeof plan, "; plan %s, its visit %d", v->visit.plan, v->visit.course_visit);
        str_append(line, sizeof line, plan);
    }
    page_text(cr, PAGE_MARGIN_PT, 74, 9, PAGE_LEFT, INNER_PT, line);
    char sensor[VISIT_SENSOR_MAX + 16] = "Sensor: ";
    visit_sensor_text(&v->visit, sensor + strlen(sensor), VISIT_SENSOR_MAX);
    return page_lines(cr, PAGE_MARGIN_PT, 86, 9, INNER_PT, 8, sensor) + 4;
}

/* Low and high of what the trend has to show. */
static void
trend_range(const struct course_visit *v, double *low, double *high)
{
    const struct course_band *band = &v->band[v->leads];
    *low = (double) INFINITY;
    *high = -(double) INFINITY;
    for (int i = 0; i < v->n_trend; i++)
        if (v->trend[i].n > 0) {
            *low = fmin(*low, v->trend[i].mean);
            *high = fmax(*high, v->trend[i].mean);
        }
    if (band->has_target) {
        *low = fmin(*low, band->low); /* fmin passes NAN over */
        *high = fmax(*high, band->high);
    }
    if (!(*low < *high)) {
        *low = isfinite(*low) ? *low - 1 : 0;
        *high = *low + 2;
    }
    const double room = 0.08 * (*high - *low);
    *low -= room;
    *high += room;
}

static double
plot_x(const struct course_visit *v, const struct page_plot *p, double length_s, struct dev_time at)
{
    return p->x + p->width * fmin(1, units_s_from_us(at.us - v->begin.us) / length_s);
}

static void
draw_target(cairo_t *cr, const struct course_visit *v, const struct page_plot *p, const struct piece *piece,
            double length_s)
{
    const struct store_target *t = piece_target(piece, v->leads);
    if (!t)
        return;
    const double y1 = isnan(t->high) ? p->y : page_plot_y(p, t->high);
    const double y0 = isnan(t->low) ? p->y + p->height : page_plot_y(p, t->low);
    const double x0 = plot_x(v, p, length_s, piece->row.start);
    page_ink(cr, PAGE_INK_BAND);
    cairo_rectangle(cr, x0, y1, plot_x(v, p, length_s, piece->row.end) - x0, y0 - y1);
    cairo_fill(cr);
}

/* Every second block on pale ground, each piece's target as a stripe, the block's name over it. */
static void
draw_blocks(cairo_t *cr, const struct course_visit *v, const struct page_plot *p, double length_s)
{
    for (int i = 0; i < v->n_pieces; i++) {
        const struct piece *piece = &v->piece[i];
        const enum verdict_block kind = piece->row.kind;
        const double x0 = plot_x(v, p, length_s, piece->row.start), x1 = plot_x(v, p, length_s, piece->row.end);
        if (kind == VERDICT_BLOCK_ENDED)
            continue;
        page_ink(cr, PAGE_INK_PALE);
        if (piece->of % 2 == 0) {
            cairo_rectangle(cr, x0, p->y, x1 - x0, p->height);
            cairo_fill(cr);
        }
        if (piece_is_held(kind))
            draw_target(cr, v, p, piece, length_s);
    }
    page_ink(cr, PAGE_INK_FAINT);
    for (int i = 0; i < v->n_blocks; i++) {
        const struct course_block *b = &v->block[i];
        const double x0 = plot_x(v, p, length_s, b->start), x1 = plot_x(v, p, length_s, b->end);
        if (b->kind == VERDICT_BLOCK_ENDED || b->kind == VERDICT_BLOCK_PAUSED || x1 - x0 < 0.5)
            continue;
        char name[PAGE_BLOCK_MAX];
        page_text(cr, 0.5 * (x0 + x1), p->y - 3, 7, PAGE_CENTRE, x1 - x0, page_block(name, b->kind));
    }
}

/* Means of ten seconds: dots with feedback, rings without. */
static void
draw_dots(cairo_t *cr, const struct course_visit *v, const struct page_plot *p, double length_s)
{
    cairo_set_line_width(cr, 0.8);
    for (int i = 0; i < v->n_trend; i++) {
        const struct course_trend *t = &v->trend[i];
        if (t->n == 0)
            continue;
        page_ink(cr, t->is_shown ? PAGE_INK_RUN : PAGE_INK_OTHER);
        cairo_new_sub_path(cr);
        cairo_arc(cr, p->x + p->width * (i + 0.5) * COURSE_TREND_S / length_s, page_plot_y(p, t->mean), 1.7, 0, PAGE_TURN);
        t->is_shown ? cairo_fill(cr) : cairo_stroke(cr);
    }
}

/* Small ticks that stand on the axis of time. */
static void
draw_marks(cairo_t *cr, const struct course_visit *v, const struct page_plot *p, double length_s)
{
    page_ink(cr, PAGE_INK_TEXT);
    cairo_set_line_width(cr, 1);
    for (int i = 0; i < v->n_mark_times; i++) {
        const double x = fmax(p->x, plot_x(v, p, length_s, v->mark[i]));
        cairo_move_to(cr, x, p->y + p->height);
        cairo_line_to(cr, x, p->y + p->height - 8);
        cairo_stroke(cr);
    }
}

static double
draw_trend(cairo_t *cr, const struct course_visit *v, double y)
{
    char line[128], number[48];
    double low, high;
    const double length_s = fmax(60, v->n_trend * COURSE_TREND_S);
    if (v->n_trend == 0)
        return y;
    trend_range(v, &low, &high);
    const struct page_plot p = { PAGE_MARGIN_PT + 24, y + 26, INNER_PT - 24, 120, low, high };
    page_ink(cr, PAGE_INK_TEXT);
    snprintf(line, sizeof line, "%s, %s. Dots: with feedback; rings: without; stripe: target%s", page_metric_label(v->leads),
             page_metric_unit(v->leads), v->n_mark_times > 0 ? "; ticks: marks" : "");
    page_text(cr, PAGE_MARGIN_PT, y + 8, 9, PAGE_LEFT, INNER_PT, line);
    draw_blocks(cr, v, &p, length_s);
    page_plot_frame(cr, &p);
    draw_dots(cr, v, &p, length_s);
    draw_marks(cr, v, &p, length_s);
    page_ink(cr, PAGE_INK_FAINT);
    const double step_min = length_s > 1800 ? 10 : length_s > 600 ? 5 : 1;
    for (double min = 0; min * 60 <= length_s; min += step_min)
        page_text(cr, p.x + p.width * min * 60 / length_s, p.y + p.height + 9, 7, PAGE_CENTRE, 0, page_number(number, min, 0));
    page_text(cr, RIGHT_PT, p.y + p.height + 18, 7, PAGE_RIGHT, 0, "minutes");
    return p.y + p.height + 34;
}

static double
draw_table(cairo_t *cr, const struct course *c, const struct course_visit *v, double y)
{
    static const char *const heads[] = { "baseline", "run", "spread", "change", "from last visit", "real from" };
    static const double at[] = { 0.42, 0.53, 0.63, 0.74, 0.88, 1.0 };
    enum metric metrics[METRIC_COUNT];
    const int n = course_metrics(c, metrics);
    char number[48];
    page_ink(cr, PAGE_INK_FAINT);
    for (int k = 0; k < 6; k++)
        page_text(cr, PAGE_MARGIN_PT + at[k] * INNER_PT, y, 8, PAGE_RIGHT, 0, heads[k]);
    for (int i = 0; i < n && i < 13; i++) {
        const enum metric m = metrics[i];
        const double s = page_metric_scale(m);
        const int digits = page_metric_digits(m);
        const struct course_change *a = &v->held_from_first[m], *b = &v->held_from_last[m];
        const double values[] = { v->baseline[m].mean, v->held[m].mean, v->held[m].sd, a->by, b->by, c->mdc[m] };
        y += 13;
        page_ink(cr, PAGE_INK_TEXT);
        char label[96];
        snprintf(label, sizeof label, "%s, %s", page_metric_label(m), page_metric_unit(m));
        page_text(cr, PAGE_MARGIN_PT, y, 9, PAGE_LEFT, 0.34 * INNER_PT, label);
        for (int k = 0; k < 6; k++) {
            page_text(cr, PAGE_MARGIN_PT + at[k] * INNER_PT, y, 9, PAGE_RIGHT, 0, page_number(number, values[k] * s, digits));
            const struct course_change *mark = k == 3 ? a : k == 4 ? b : NULL;
            if (mark && (mark->is_real || mark->is_other_speed))
                page_text(cr, PAGE_MARGIN_PT + at[k] * INNER_PT + 1, y, 9, PAGE_LEFT, 0, mark->is_real ? "*" : "~");
        }
    }
    page_ink(cr, PAGE_INK_FAINT);
    y = page_lines(cr, PAGE_MARGIN_PT, y + 14, 7.5, INNER_PT, 3,
                   "Change: of the run, from the first baseline of the course. *: larger than this runner's own wandering "
                   "within a visit (MDC95 = 1.96 \xc3\x97 \xe2\x88\x9a""2 \xc3\x97 SEM; Weir 2005), from two silent or baseline "
                   "blocks of two minutes or more; a dash before that. From day to day it is larger still. ~: at another belt "
                   "speed, not like with like.");
    return y + 8;
}

/* Two bars a target: in the band with feedback, and without. */
static double
draw_shares(cairo_t *cr, const struct course_visit *v, double y)
{
    const double x = PAGE_MARGIN_PT + 0.34 * INNER_PT, width = 0.52 * INNER_PT;
    char line[128], number[48];
    bool has_any = false;
    for (int i = 0; i < v->targets.n; i++) {
        const enum metric m = v->targets.target[i].metric;
        const struct course_band *b = &v->band[m];
        if (!has_any) {
            page_ink(cr, PAGE_INK_TEXT);
            if (v->n_target_sets > 1)
                snprintf(line, sizeof line,
                         "Steps in the target band: filled with feedback, open without. Changed %d times: each by its own",
                         v->n_target_sets - 1);
            else
                snprintf(line, sizeof line, "Steps in the target band: filled with feedback, open without");
            page_text(cr, PAGE_MARGIN_PT, y, 9, PAGE_LEFT, INNER_PT, line);
            y += 14;
        }
        has_any = true;
        snprintf(line, sizeof line, "%s", page_metric_label(m));
        page_ink(cr, PAGE_INK_TEXT);
        page_text(cr, PAGE_MARGIN_PT, y + 6, 9, PAGE_LEFT, 0.33 * INNER_PT, line);
        const double share[] = { b->shown_pct, b->withheld_pct };
        for (int k = 0; k < 2; k++) {
            page_ink(cr, PAGE_INK_PALE);
            cairo_rectangle(cr, x, y + 9 * k - 3, width, 7);
            cairo_fill(cr);
            page_ink(cr, k == 0 ? PAGE_INK_RUN : PAGE_INK_OTHER);
            if (isfinite(share[k])) {
                cairo_set_line_width(cr, 1);
                cairo_rectangle(cr, x + 0.5, y + 9 * k - 2.5, fmax(0, width * share[k] / 100 - 1), 6);
                k == 0 ? cairo_fill(cr) : cairo_stroke(cr);
            }
            page_ink(cr, PAGE_INK_TEXT);
            snprintf(line, sizeof line, "%s %%", page_number(number, share[k], 0));
            page_text(cr, RIGHT_PT, y + 9 * k + 3, 8, PAGE_RIGHT, 0, line);
        }
        y += 24;
    }
    return y;
}

static double
draw_rest(cairo_t *cr, const struct course_visit *v, double y)
{
    char line[800], a[48], b[48], d[48], e[48], fore[DOSE_COUNT_MAX];
    page_ink(cr, PAGE_INK_TEXT);
    dose_fore_text(&v->dose, fore);
    snprintf(line, sizeof line, "Dose: %d steps, %s of them on mid- or forefoot, %s min of running. %s", v->dose.n_steps,
             fore, page_number(a, v->dose.minutes, 1), v->dose_note);
    y = page_lines(cr, PAGE_MARGIN_PT, y, 9, INNER_PT, 3, line);
    snprintf(line, sizeof line, "Pain, 0 to 10: before %s, worst %s, after %s. Effort %s.",
             page_number(a, v->pain_before, 0), page_number(b, v->pain_worst, 0), page_number(d, v->pain_after, 0),
             page_number(e, v->effort, 0));
    y = page_lines(cr, PAGE_MARGIN_PT, y + 2, 9, INNER_PT, 1, line);
    tally_text(&v->tally, line, sizeof line);
    y = page_lines(cr, PAGE_MARGIN_PT, y + 2, 9, INNER_PT, 4, line);
    page_ink(cr, PAGE_INK_FAINT);
    y = page_lines(cr, PAGE_MARGIN_PT, y, 8, INNER_PT, 2, TALLY_SENTENCE);
    if (tally_has_braking(&v->tally))
        y = page_lines(cr, PAGE_MARGIN_PT, y, 8, INNER_PT, 2, COURSE_BRAKING_NOTE);
    if (v->n_marks > 0) {
        char marks[VISIT_SAID_MARKS_MAX];
        page_ink(cr, PAGE_INK_TEXT);
        snprintf(line, sizeof line, "Marks at %s.", visit_said_marks(v, marks));
        y = page_lines(cr, PAGE_MARGIN_PT, y + 2, 9, INNER_PT, 2, line);
    }
    return y;
}

/* As many lines of the notes as there is room for below y. Returns what has none; NULL: nothing. */
static const char *
draw_notes(cairo_t *cr, double y, const char *label, const char *notes)
{
    char line[PAGE_LINE_MAX];
    const char *rest = notes;
    page_ink(cr, PAGE_INK_TEXT);
    page_text(cr, PAGE_MARGIN_PT, y, 9, PAGE_LEFT, 0, label);
    for (; *rest && y <= NOTES_END_PT; y += PAGE_LEADING * 9) {
        cairo_set_font_size(cr, 9);
        rest = page_take_line(cr, INNER_PT - NOTES_IN_PT, rest, line);
        page_text(cr, PAGE_MARGIN_PT + NOTES_IN_PT, y, 9, PAGE_LEFT, 0, line);
    }
    return *rest ? rest : NULL;
}

static void
draw_foot(cairo_t *cr)
{
    page_ink(cr, PAGE_INK_FAINT);
    page_text(cr, PAGE_MARGIN_PT, PAGE_HEIGHT_PT - 26, 7.5, PAGE_LEFT, INNER_PT,
              "Measured against ranges that were set for this runner. Not a medical device, no diagnosis: the treating "
              "clinician decides.");
}

static const char *
draw(cairo_t *cr, const struct course *c, const char *rest)
{
    const struct course_visit *v = &c->visit[c->n_visits - 1];
    double y = draw_head(cr, c, v);
    if (rest) {
        rest = draw_notes(cr, y + 12, "Notes,", rest);
        page_text(cr, PAGE_MARGIN_PT, y + 12 + PAGE_LEADING * 9, 9, PAGE_LEFT, 0, "continued");
        draw_foot(cr);
        return rest;
    }
    y = draw_trend(cr, v, y);
    y = draw_table(cr, c, v, y);
    y = draw_shares(cr, v, y);
    y = page_blocks(cr, v, y + 4);
    y = draw_rest(cr, v, y + 2);
    if (v->notes)
        rest = draw_notes(cr, y + 4, "Notes", v->notes);
    page_definitions(cr, c, PAGE_HEIGHT_PT - 38);
    draw_foot(cr);
    return rest;
}

enum err
page_visit(const struct course *c, const char *path, char why[ERR_WHY_MAX])
{
    return page_write(path, draw, c, why);
}
