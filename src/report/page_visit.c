/* page_visit.c - the page of one visit. */
#include "report/page.h"
#include "report/page_parts.h"

#include "base/str.h"
#include "report/visit_said.h"
#include "report/visit_sensor.h"

#include <math.h>
#include <string.h>

#define AXIS_PT 24.0 /* of a plot's marks, at its left */
#define TREND_PT 88.0
#define GAP_PT 4.0

static void
draw_head(struct paper *p, const struct course *c, const struct course_visit *v)
{
    char line[PHRASE_MAX], time[PHRASE_TIME_MAX], sensor[PHRASE_MAX];
    struct paper_type faint = PAPER_BODY;
    faint.ink = PAPER_INK_FAINT;
    PHRASE(p->words, line, N_("{1}, visit of {2}"), c->runner.code,
           phrase_time(p->words, time, v->visit.started_utc_ms, v->visit.zone_offset_min));
    paper_begin(p, line, phrase(p->words, PAGE_FOOT));
    paper_say(p, &faint, visit_said_which(p->words, &v->visit, line));
    visit_sensor_text(p->words, &v->visit, sensor);
    paper_say(p, &faint, PHRASE(p->words, line, N_("Sensor: {1}"), sensor));
    p->y += GAP_PT;
}

/* ---------------------------------------------------------------- the leading figure over time */

struct trend {
    const struct course_visit *v;
    struct page_plot plot;
    double length_s;
};

static void
find_range(struct trend *t)
{
    const struct course_visit *v = t->v;
    const struct course_band *band = &v->band[v->leads];
    double low = (double) INFINITY, high = -(double) INFINITY;
    for (int i = 0; i < v->n_trend; i++)
        if (v->trend[i].n > 0) {
            low = fmin(low, v->trend[i].mean);
            high = fmax(high, v->trend[i].mean);
        }
    if (band->has_target) {
        low = fmin(low, band->low); /* fmin passes NAN over */
        high = fmax(high, band->high);
    }
    page_plot_range(&t->plot, low, high);
}

static double
x_of(const struct trend *t, struct dev_time at)
{
    return t->plot.x + t->plot.width * fmin(1, units_s_from_us(at.us - t->v->begin.us) / t->length_s);
}

/* Every second block on pale ground, each piece's target as a stripe. */
static void
draw_pieces(struct paper *p, const struct trend *t)
{
    for (int i = 0; i < t->v->n_pieces; i++) {
        const struct piece *piece = &t->v->piece[i];
        const double x0 = x_of(t, piece->row.start), x1 = x_of(t, piece->row.end);
        const struct store_target *target = piece_is_held(piece->row.kind) ? piece_target(piece, t->v->leads) : NULL;
        if (piece->row.kind == VERDICT_BLOCK_ENDED)
            continue;
        paper_ink(p->cr, PAPER_INK_PALE);
        if (piece->of % 2 == 0) {
            cairo_rectangle(p->cr, x0, t->plot.y, x1 - x0, t->plot.height);
            cairo_fill(p->cr);
        }
        if (target)
            page_plot_stripe(p, &t->plot, x0, x1 - x0, target->low, target->high);
    }
}

/* Over each block its name; where that has no room its number, by which it stands in the table. */
static void
draw_names(struct paper *p, const struct trend *t)
{
    for (int i = 0; i < t->v->n_blocks; i++) {
        const struct course_block *b = &t->v->block[i];
        const double x0 = x_of(t, b->start), x1 = x_of(t, b->end), middle = 0.5 * (x0 + x1);
        char number[NUMBER_MAX];
        if (b->kind == VERDICT_BLOCK_ENDED || b->kind == VERDICT_BLOCK_PAUSED || x1 - x0 < 0.5)
            continue;
        const char *name = visit_said_block(p->words, b->kind);
        const bool fits = 7 * 0.62 * phrase_columns(name) < x1 - x0;
        page_mark(p, middle, t->plot.y - 6, PAPER_CENTRE, fits ? name : phrase_int(number, i + 1));
    }
}

/* Means of ten seconds: dots with feedback, rings without; marks are ticks that stand on the axis of time. */
static void
draw_dots(struct paper *p, const struct trend *t)
{
    const struct page_plot *plot = &t->plot;
    cairo_set_line_width(p->cr, 0.8);
    for (int i = 0; i < t->v->n_trend; i++)
        if (t->v->trend[i].n > 0)
            page_plot_dot(p, plot, plot->x + plot->width * (i + 0.5) * COURSE_TREND_S / t->length_s, t->v->trend[i].mean, 1.7,
                          !t->v->trend[i].is_shown);
    paper_ink(p->cr, PAPER_INK_TEXT);
    cairo_set_line_width(p->cr, 1);
    for (int i = 0; i < t->v->n_mark_times; i++) {
        const double x = fmax(plot->x, x_of(t, t->v->mark[i]));
        cairo_move_to(p->cr, x, plot->y + plot->height);
        cairo_line_to(p->cr, x, plot->y + plot->height - 8);
        cairo_stroke(p->cr);
    }
}

static void
draw_trend(struct paper *p, const struct course_visit *v)
{
    char title[METRIC_WORDS_TITLE_MAX], number[NUMBER_MAX];
    struct trend t = { .v = v, .length_s = fmax(60, v->n_trend * COURSE_TREND_S) };
    if (v->n_trend == 0)
        return;
    paper_room(p, TREND_PT + 64);
    paper_say(p, &PAPER_HEADING, metric_words_title(p->words, v->leads, title));
    paper_say(p, &PAPER_SMALL,
              phrase(p->words, v->n_mark_times > 0 ? N_("Dots: with feedback. Rings: without. Stripe: target. Ticks: marks.")
                                                   : N_("Dots: with feedback. Rings: without. Stripe: target.")));
    paper_figure_begin(p, TREND_PT + 38);
    t.plot = (struct page_plot){ PAPER_MARGIN_PT + AXIS_PT, p->y + 12, PAPER_INNER_PT - AXIS_PT, TREND_PT, 0, 0 };
    find_range(&t);
    draw_pieces(p, &t);
    draw_names(p, &t);
    page_plot_frame(p, &t.plot);
    draw_dots(p, &t);
    const double step_min = t.length_s > 1800 ? 10 : t.length_s > 600 ? 5 : 1, below = t.plot.y + t.plot.height + 6;
    for (double min = 0; min * 60 <= t.length_s; min += step_min)
        page_mark(p, t.plot.x + t.plot.width * min * 60 / t.length_s, below, PAPER_CENTRE, phrase_number(p->words, number, min, 0));
    page_mark(p, PAPER_RIGHT_PT, below + 9, PAPER_RIGHT, phrase(p->words, N_("minutes")));
    paper_figure_end(p);
    p->y = below + 18;
}

/* ---------------------------------------------------------------- the figures */

/* "* 4.1" where it is real, "~ 4.1" where it is not like with like. */
static const char *
change_text(const struct catalogue *w, enum metric m, const struct course_change *c, char out[NUMBER_MAX])
{
    char number[NUMBER_MAX];
    snprintf(out, NUMBER_MAX, "%s%.40s", c->is_real ? "* " : c->is_other_speed ? "~ " : "", metric_words_value(w, number, m, c->by));
    return out;
}

static void
draw_table(struct paper *p, const struct course *c, const struct course_visit *v)
{
    const struct catalogue *w = p->words;
    const struct paper_table table = { 7, { 0.34, 0.45, 0.55, 0.65, 0.77, 0.89, 1.0 },
                                       { phrase(w, N_("figure")), phrase(w, N_("baseline")), phrase(w, N_("run")),
                                         phrase(w, N_("spread")), phrase(w, N_("change")), phrase(w, N_("from last visit")),
                                         phrase(w, N_("real from")) } };
    enum metric metrics[METRIC_COUNT];
    const int n = course_metrics(c, metrics);
    if (n == 0)
        return;
    paper_room(p, 60);
    paper_say(p, &PAPER_HEADING, phrase(w, N_("Figures")));
    paper_table_begin(p, &table);
    for (int i = 0; i < n; i++) {
        const enum metric m = metrics[i];
        char cell[7][METRIC_WORDS_TITLE_MAX], *const text[] = { cell[0], cell[1], cell[2], cell[3], cell[4], cell[5], cell[6] };
        metric_words_title(w, m, text[0]);
        metric_words_value(w, text[1], m, v->baseline[m].mean);
        metric_words_value(w, text[2], m, v->held[m].mean);
        metric_words_value(w, text[3], m, v->held[m].sd);
        change_text(w, m, &v->held_from_first[m], text[4]);
        change_text(w, m, &v->held_from_last[m], text[5]);
        metric_words_value(w, text[6], m, c->mdc[m]);
        paper_table_row(p, &table, (const char *const *) text);
    }
    paper_table_end(p);
    paper_say(p, &PAPER_SMALL, phrase(w, COURSE_REAL_NOTE));
    p->y += GAP_PT;
}

/* A bar, filled or open, on its ground, and the share behind it. */
static void
draw_share(struct paper *p, double y, double share_pct, bool is_open)
{
    const double x = PAPER_MARGIN_PT + 0.34 * PAPER_INNER_PT, width = 0.54 * PAPER_INNER_PT;
    char number[NUMBER_MAX], text[NUMBER_MAX + 8];
    paper_ink(p->cr, PAPER_INK_PALE);
    cairo_rectangle(p->cr, x, y, width, 7);
    cairo_fill(p->cr);
    paper_ink(p->cr, is_open ? PAPER_INK_OTHER : PAPER_INK_RUN);
    if (isfinite(share_pct)) {
        cairo_set_line_width(p->cr, 1);
        cairo_rectangle(p->cr, x + 0.5, y + 0.5, fmax(0, width * share_pct / 100 - 1), 6);
        is_open ? cairo_stroke(p->cr) : cairo_fill(p->cr);
    }
    PHRASE(p->words, text, N_("{1} %"), phrase_number(p->words, number, share_pct, 0));
    page_mark(p, PAPER_RIGHT_PT, y + 3.5, PAPER_RIGHT, text);
}

/* Two bars a target: in the band with feedback, and without. */
static void
draw_shares(struct paper *p, const struct course_visit *v)
{
    char line[PHRASE_MAX], number[NUMBER_MAX];
    const double label_pt = 0.32 * PAPER_INNER_PT;
    if (v->targets.n == 0)
        return;
    paper_room(p, 60);
    paper_say(p, &PAPER_HEADING, phrase(p->words, N_("Steps in the target band")));
    str_copy(line, sizeof line, phrase(p->words, N_("Filled: with feedback. Open: without.")));
    if (v->n_target_sets > 1) {
        char more[256];
        phrase_sentence(line, sizeof line,
                        PHRASE_COUNT(p->words, more, v->n_target_sets - 1,
                                     NP_("The targets were changed {1} time: each step is judged by those in force.",
                                         "The targets were changed {1} times: each step is judged by those in force."),
                                     phrase_int(number, v->n_target_sets - 1)));
    }
    paper_say(p, &PAPER_SMALL, line);
    for (int i = 0; i < v->targets.n; i++) {
        const enum metric m = v->targets.target[i].metric;
        const char *label = metric_words_label(p->words, m);
        const double height = fmax(18, paper_height(p, label_pt, &PAPER_BODY, label) + 4);
        paper_room(p, height);
        paper_set(p, PAPER_MARGIN_PT, p->y + 2, label_pt, &PAPER_BODY, label);
        draw_share(p, p->y + 2, v->band[m].shown_pct, false);
        draw_share(p, p->y + 11, v->band[m].withheld_pct, true);
        p->y += height;
    }
    p->y += GAP_PT;
}

static void
draw_blocks(struct paper *p, const struct course_visit *v)
{
    const struct catalogue *w = p->words;
    const enum metric m = v->leads;
    char title[METRIC_WORDS_TITLE_MAX];
    const struct paper_table table = { 8, { 0.28, 0.36, 0.44, 0.52, 0.62, 0.78, 0.88, 1.0 },
                                       { phrase(w, N_("block")), phrase(w, N_("min")), phrase(w, N_("steps")), "m/s",
                                         phrase(w, N_("shown, %")), metric_words_title(w, m, title), phrase(w, N_("in, shown, %")),
                                         phrase(w, N_("in, withheld, %")) } };
    if (v->n_blocks == 0)
        return;
    paper_room(p, 60);
    paper_say(p, &PAPER_HEADING, phrase(w, N_("Blocks")));
    paper_table_begin(p, &table);
    for (int i = 0; i < v->n_blocks; i++) {
        const struct course_block *b = &v->block[i];
        const struct course_figure *f = &b->figure[m];
        char cell[8][128], number[NUMBER_MAX];
        const char *const text[] = { cell[0], cell[1], cell[2], cell[3], cell[4], cell[5], cell[6], cell[7] };
        if (b->kind == VERDICT_BLOCK_ENDED)
            continue;
        snprintf(cell[0], sizeof cell[0], "%d  %.100s", i + 1, visit_said_block(w, b->kind));
        phrase_number(w, cell[1], b->length_s / 60, 1);
        phrase_int(cell[2], b->n_steps);
        phrase_number(w, cell[3], b->belt_speed_m_s, 2);
        phrase_number(w, cell[4], course_shown_pct(b), 0);
        metric_words_value(w, cell[5], m, f->n > 0 ? f->mean : (double) NAN);
        if (f->n > 1) {
            str_append(cell[5], sizeof cell[5], " \xc2\xb1 ");
            str_append(cell[5], sizeof cell[5], metric_words_value(w, number, m, f->sd));
        }
        phrase_number(w, cell[6], b->band[m].shown_pct, 0);
        phrase_number(w, cell[7], b->band[m].withheld_pct, 0);
        paper_table_row(p, &table, text);
    }
    paper_table_end(p);
    p->y += GAP_PT;
}

/* ---------------------------------------------------------------- what was said */

static void
draw_section(struct paper *p, const char *heading, const char *text)
{
    paper_room(p, 30);
    paper_say(p, &PAPER_HEADING, heading);
    paper_say(p, &PAPER_BODY, text);
    p->y += GAP_PT;
}

static void
draw_said(struct paper *p, const struct course_visit *v)
{
    const struct catalogue *w = p->words;
    char line[PHRASE_MAX], marks[VISIT_SAID_MARKS_MAX];
    draw_section(p, phrase(w, N_("Dose")), visit_said_dose(w, v, line));
    draw_section(p, phrase(w, N_("Pain and effort, 0 to 10")), visit_said_pain(w, v, line));
    draw_section(p, phrase(w, N_("Signs")), visit_said_signs(w, &v->tally, line));
    p->y -= GAP_PT;
    paper_say(p, &PAPER_SMALL, phrase(w, TALLY_SENTENCE));
    if (tally_has_braking(&v->tally))
        paper_say(p, &PAPER_SMALL, phrase(w, COURSE_BRAKING_NOTE));
    p->y += GAP_PT;
    if (v->n_marks > 0)
        draw_section(p, phrase(w, N_("Marks, minutes and seconds")), visit_said_marks(v, marks));
    if (v->notes)
        draw_section(p, phrase(w, N_("Notes")), v->notes);
}

static void
draw(struct paper *p, const void *what)
{
    const struct course *c = what;
    const struct course_visit *v = &c->visit[c->n_visits - 1];
    draw_head(p, c, v);
    draw_trend(p, v);
    draw_table(p, c, v);
    draw_shares(p, v);
    draw_blocks(p, v);
    draw_said(p, v);
    page_remarks(p, c);
    paper_end(p);
}

enum err
page_visit(const struct course *c, const struct catalogue *w, const char *path, struct message *why)
{
    return paper_write(path, w, draw, c, why);
}
