/* course_text.c - a visit and a course as plain text for a terminal. */
#include "report/course.h"

#include "report/metric_words.h"
#include "report/visit_said.h"
#include "report/visit_sensor.h"

#include <math.h>
#include <string.h>

enum { LABEL = 20, WIDE = 10, FIGURE = 18, TITLE = 34 };

/* What all of it is printed with. */
struct sheet {
    FILE *f;
    const struct catalogue *w;
    const struct course *c;
};

/* In width columns, its mark behind it. */
static void
put_change(const struct sheet *s, int width, enum metric m, const struct course_change *c)
{
    phrase_put_number(s->f, s->w, width - 2, c->by * course_scale(m), course_digits(m));
    fputs(c->is_real ? " *" : c->is_other_speed ? " ~" : "  ", s->f);
}

static void
put_value(const struct sheet *s, int width, enum metric m, double value)
{
    phrase_put_number(s->f, s->w, width, value * course_scale(m), course_digits(m));
}

/* "168.1 +-2.3", or a dash. */
static void
put_figure(const struct sheet *s, int width, enum metric m, const struct course_figure *x)
{
    char mean[NUMBER_MAX], sd[NUMBER_MAX], text[2 * NUMBER_MAX + 4] = "-";
    const double scale = course_scale(m);
    if (x->n > 0)
        snprintf(text, sizeof text, "%s%s%s", phrase_number(s->w, mean, x->mean * scale, course_digits(m)), x->n > 1 ? " +-" : "",
                 x->n > 1 ? phrase_number(s->w, sd, x->sd * scale, course_digits(m)) : "");
    phrase_put(s->f, -width, text);
}

/* A label, if it has one, and a line. */
static void
put_line(const struct sheet *s, int width, const char *label, const char *text)
{
    if (width > 0)
        phrase_put(s->f, width, label);
    fprintf(s->f, "%s\n", text);
}

/* Why there are dashes, for each figure that has some for that reason. */
static void
print_left_out(const struct sheet *s, enum metric m, int label)
{
    char visits[COURSE_VISITS_TEXT_MAX], number[NUMBER_MAX], text[PHRASE_MAX];
    if (course_other_definitions(s->c, m, visits)[0])
        put_line(s, label, metric_words_label(s->w, m),
                 PHRASE(s->w, text, N_("visits {1} have it by another definition than the newest ({2}): not like with like, and left out"), visits,
                        phrase_int(number, s->c->visit[s->c->n_visits - 1].measurement.definitions.of[m])));
}

/* Each block: how long, how much of it with feedback, the leading figures and the first target's share in band. */
static void
print_blocks(const struct sheet *s, const struct course_visit *v, const enum metric *metrics, int n)
{
    const char *heads[9] = { N_("min"), N_("steps"), "m/s", N_("shown %"), N_("in, shown"), N_("in, withheld") };
    int wide[9] = { WIDE, WIDE, WIDE, WIDE, WIDE, WIDE + 3, FIGURE, FIGURE, FIGURE }, n_heads = 6;
    char text[PHRASE_MAX], number[NUMBER_MAX];
    for (int k = 0; k < n && k < 3; k++)
        heads[n_heads++] = metric_words_label(s->w, metrics[k]); /* looked up already: no other text has those words */
    fputc('\n', s->f);
    phrase_put(s->f, LABEL + 4, phrase(s->w, N_("block")));
    phrase_put_heads(s->f, s->w, heads, wide, n_heads);
    for (int i = 0; i < v->n_blocks; i++) {
        const struct course_block *b = &v->block[i];
        if (b->kind == VERDICT_BLOCK_ENDED)
            continue;
        fprintf(s->f, "%2d ", i + 1);
        phrase_put(s->f, LABEL + 1, visit_said_block(s->w, b->kind));
        phrase_put_number(s->f, s->w, wide[0], b->length_s / 60, 1);
        phrase_put(s->f, -wide[1], phrase_int(number, b->n_steps));
        phrase_put_number(s->f, s->w, wide[2], b->belt_speed_m_s, 2);
        phrase_put_number(s->f, s->w, wide[3], course_shown_pct(b), 0);
        phrase_put_number(s->f, s->w, wide[4], b->band[v->leads].shown_pct, 0);
        phrase_put_number(s->f, s->w, wide[5], b->band[v->leads].withheld_pct, 0);
        for (int k = 6; k < n_heads; k++)
            put_figure(s, wide[k], metrics[k - 6], &b->figure[metrics[k - 6]]);
        fputc('\n', s->f);
    }
    put_line(s, 0, "",
             PHRASE(s->w, text, N_("shown %: of its steps, with feedback on offer. in: share of steps in the band of {1}, in per cent."),
                    metric_words_label(s->w, v->leads)));
}

static void
print_metrics(const struct sheet *s, const struct course_visit *v, const enum metric *metrics, int n)
{
    static const char *const heads[] = { N_("baseline"), N_("run"), N_("spread"), N_("change"), N_("from last"), N_("real from") };
    int wide[] = { WIDE, WIDE, WIDE, WIDE + 2, WIDE + 2, WIDE };
    char title[METRIC_WORDS_TITLE_MAX];
    fputc('\n', s->f);
    phrase_put(s->f, TITLE, "");
    phrase_put_heads(s->f, s->w, heads, wide, 6);
    for (int k = 0; k < n; k++) {
        const enum metric m = metrics[k];
        phrase_put(s->f, TITLE, metric_words_title(s->w, m, title));
        put_value(s, wide[0], m, v->baseline[m].mean);
        put_value(s, wide[1], m, v->held[m].mean);
        put_value(s, wide[2], m, v->held[m].sd);
        put_change(s, wide[3], m, &v->held_from_first[m]);
        put_change(s, wide[4], m, &v->held_from_last[m]);
        put_value(s, wide[5], m, s->c->mdc[m]);
        fputc('\n', s->f);
    }
    put_line(s, 0, "", phrase(s->w, COURSE_REAL_NOTE));
    for (int k = 0; k < n; k++)
        print_left_out(s, metrics[k], TITLE);
}

static void
print_rest(const struct sheet *s, const struct course_visit *v)
{
    char text[PHRASE_MAX], a[NUMBER_MAX], b[NUMBER_MAX];
    for (int i = 0; i < v->targets.n; i++) {
        const enum metric m = v->targets.target[i].metric;
        const char *words = phrase(s->w, course_is_judged(v, m) ? N_("in band: with feedback {1} %, without {2} %")
                                                             : N_("in band: with feedback {1} %, without {2} %: the targets are of another definition"));
        put_line(s, TITLE, metric_words_label(s->w, m),
                 phrase_fill(text, sizeof text, words, phrase_number(s->w, a, v->band[m].shown_pct, 0),
                             phrase_number(s->w, b, v->band[m].withheld_pct, 0), (char *) NULL));
    }
    if (v->n_target_sets > 1)
        put_line(s, TITLE, "",
                 PHRASE_COUNT(s->w, text, v->n_target_sets - 1,
                              NP_("The targets were changed {1} time: each step is judged by those in force.",
                                  "The targets were changed {1} times: each step is judged by those in force."),
                              phrase_int(a, v->n_target_sets - 1)));
    fputc('\n', s->f);
    put_line(s, LABEL, phrase(s->w, N_("dose")), visit_said_dose(s->w, v, text));
    visit_said_print(s->f, s->w, v);
}

void
course_print_visit(FILE *f, const struct catalogue *w, const struct course *c)
{
    enum metric metrics[METRIC_COUNT];
    const struct sheet s = { f, w, c };
    const struct course_visit *v = &c->visit[c->n_visits - 1];
    const int n = course_metrics(c, metrics);
    char text[PHRASE_MAX], time[PHRASE_TIME_MAX];
    put_line(&s, 0, "",
             PHRASE(w, text, N_("{1}, visit of {2}"), c->runner.code, phrase_time(w, time, v->visit.started_utc_ms, v->visit.zone_offset_min)));
    put_line(&s, 0, "", visit_said_which(w, &v->visit, text));
    put_line(&s, LABEL, phrase(w, N_("sensor")), visit_sensor_text(w, &v->visit, text));
    put_line(&s, LABEL, phrase(w, N_("measured")), measured_text(w, &v->measurement, v->visit.zone_offset_min, text));
    print_blocks(&s, v, metrics, n);
    print_metrics(&s, v, metrics, n);
    fputc('\n', f);
    print_rest(&s, v);
}

/* How many of the visits were measured again, and the definitions that all figures have. */
static void
print_newest(const struct sheet *s)
{
    char definitions[MEASURED_TEXT_MAX], text[PHRASE_MAX], number[NUMBER_MAX];
    int n_again = 0;
    for (int i = 0; i < s->c->n_visits; i++)
        n_again += s->c->visit[i].measurement.id != 0;
    measured_definitions_text(s->w, &s->c->visit[s->c->n_visits - 1].measurement.definitions, definitions);
    if (n_again == 0)
        PHRASE(s->w, text, N_("measured at the visits; {1}"), definitions);
    else
        PHRASE_COUNT(s->w, text, n_again,
                     NP_("measured again from the recording of {1} of them; {2}", "measured again from the recordings of {1} of them; {2}"),
                     phrase_int(number, n_again), definitions);
    put_line(s, 0, "", text);
}

/* One figure through all visits. */
static void
print_metric(const struct sheet *s, enum metric m)
{
    static const char *const heads[] = { N_("baseline"), N_("run"), N_("change"), N_("shown %"), N_("withheld %"), N_("steps") };
    int wide[] = { WIDE, WIDE, WIDE + 2, WIDE, WIDE + 2, WIDE };
    char text[PHRASE_MAX], title[METRIC_WORDS_TITLE_MAX], number[NUMBER_MAX], time[PHRASE_TIME_MAX];
    fputc('\n', s->f);
    put_line(s, 0, "",
             PHRASE(s->w, text, N_("{1}; real from {2}"), metric_words_title(s->w, m, title),
                    phrase_number(s->w, number, s->c->mdc[m] * course_scale(m), course_digits(m))));
    phrase_put(s->f, -6, phrase(s->w, N_("visit")));
    fputs("  ", s->f);
    phrase_put(s->f, LABEL, phrase(s->w, N_("started")));
    phrase_put_heads(s->f, s->w, heads, wide, 6);
    for (int i = 0; i < s->c->n_visits; i++) {
        const struct course_visit *v = &s->c->visit[i];
        const bool is_whole = v->visit.is_finished && !v->visit.is_cut_short;
        fprintf(s->f, "%6d  ", course_visit_number(s->c, i));
        phrase_put(s->f, LABEL, phrase_time(s->w, time, v->visit.started_utc_ms, v->visit.zone_offset_min));
        put_value(s, wide[0], m, v->baseline[m].mean);
        put_value(s, wide[1], m, v->held[m].mean);
        put_change(s, wide[2], m, &v->held_from_first[m]);
        phrase_put_number(s->f, s->w, wide[3], v->band[m].shown_pct, 0);
        phrase_put_number(s->f, s->w, wide[4], v->band[m].withheld_pct, 0);
        fprintf(s->f, "%*d%s%s\n", wide[5], v->dose.n_steps, is_whole ? "" : "  ", is_whole ? "" : visit_said_end(s->w, &v->visit));
    }
    print_left_out(s, m, 0);
}

void
course_print(FILE *f, const struct catalogue *w, const struct course *c)
{
    enum metric metrics[METRIC_COUNT];
    const struct sheet s = { f, w, c };
    const int n = course_metrics(c, metrics);
    char text[PHRASE_MAX], number[NUMBER_MAX], braking[COURSE_BRAKING_MAX];
    put_line(&s, 0, "",
             PHRASE_COUNT(w, text, c->n_visits, NP_("{1}, course of {2} visit", "{1}, course of {2} visits"), c->runner.code,
                          phrase_int(number, c->n_visits)));
    if (c->plan[0])
        put_line(&s, 0, "", PHRASE(w, text, N_("Plan {1}."), c->plan));
    if (c->n_others > 0)
        put_line(&s, 0, "",
                 PHRASE_COUNT(w, text, c->n_others,
                              NP_("{1} more by another plan, or none: --plan NAME, or --plan all",
                                  "{1} more by other plans, or none: --plan NAME, or --plan all"),
                              phrase_int(number, c->n_others)));
    print_newest(&s);
    for (int k = 0; k < n; k++)
        print_metric(&s, metrics[k]);
    if (course_braking_text(w, c, braking)[0])
        fprintf(f, "\n%s\n%s\n", braking, phrase(w, COURSE_BRAKING_NOTE));
}
