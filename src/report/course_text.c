/* course_text.c - a visit and a course as plain text for a terminal. */
#include "report/course.h"

#include "report/local_time.h"
#include "report/number.h"
#include "report/visit_said.h"
#include "report/visit_sensor.h"
#include "store/names.h"

#include <math.h>
#include <string.h>

enum { LABEL = 20, WIDE = 10 };

static void
put_change(FILE *f, enum metric m, const struct course_change *c)
{
    number_print(f, WIDE, c->by * course_scale(m), course_digits(m));
    fputs(c->is_real ? " *" : c->is_other_speed ? " ~" : "  ", f);
}

/* "168.1 ±2.3", or a dash. */
static void
put_figure(FILE *f, int width, enum metric m, const struct course_figure *x)
{
    char mean[NUMBER_MAX], sd[NUMBER_MAX], text[2 * NUMBER_MAX + 4] = "-";
    const double scale = course_scale(m);
    if (x->n > 0)
        snprintf(text, sizeof text, "%s%s%s", number_fixed(mean, x->mean * scale, course_digits(m)), x->n > 1 ? " +-" : "",
                 x->n > 1 ? number_fixed(sd, x->sd * scale, course_digits(m)) : "");
    fprintf(f, "%*s", width, text);
}

/* Why there are dashes, for each figure that has some for that reason. */
static void
print_left_out(FILE *f, const struct course *c, enum metric m, int label)
{
    char visits[COURSE_VISITS_TEXT_MAX];
    if (course_other_definitions(c, m, visits)[0])
        fprintf(f, "%-*svisits %s have it by another definition than the newest (%d): not like with like, and left out\n", label,
                label > 0 ? metric_info(m)->name : "", visits, c->visit[c->n_visits - 1].measurement.definitions.of[m]);
}

static void
print_measured(FILE *f, const struct course *c, int label)
{
    char text[MEASURED_TEXT_MAX];
    const struct course_visit *v = &c->visit[c->n_visits - 1];
    fprintf(f, "%-*s%s\n", label, "measured", measured_text(&v->measurement, v->visit.zone_offset_min, text));
}

/* Each block: how long, how much of it with feedback, the leading figures and the first target's share in band. */
static void
print_blocks(FILE *f, const struct course_visit *v, const enum metric *metrics, int n)
{
    enum { FIGURE = 18 };
    fprintf(f, "\n%-*s%*s%*s%*s%*s%*s%*s", LABEL, "block", WIDE, "min", WIDE, "steps", WIDE, "m/s", WIDE, "shown %", WIDE,
            "in, shown", WIDE + 3, "in, withheld");
    for (int k = 0; k < n && k < 3; k++)
        fprintf(f, "%*s", FIGURE, metric_info(metrics[k])->name);
    fputc('\n', f);
    for (int i = 0; i < v->n_blocks; i++) {
        const struct course_block *b = &v->block[i];
        if (b->kind == VERDICT_BLOCK_ENDED)
            continue;
        fprintf(f, "%2d %-*s", i + 1, LABEL - 3, names_block(b->kind));
        number_print(f, WIDE, b->length_s / 60, 1);
        fprintf(f, "%*d", WIDE, b->n_steps);
        number_print(f, WIDE, b->belt_speed_m_s, 2);
        number_print(f, WIDE, course_shown_pct(b), 0);
        number_print(f, WIDE, b->band[v->leads].shown_pct, 0);
        number_print(f, WIDE + 3, b->band[v->leads].withheld_pct, 0);
        for (int k = 0; k < n && k < 3; k++)
            put_figure(f, FIGURE, metrics[k], &b->figure[metrics[k]]);
        fputc('\n', f);
    }
    fprintf(f, "shown %%: of its steps, with feedback on offer. in: share of steps in the band of %s, in per cent.\n",
            metric_info(v->leads)->name);
}

static void
print_metrics(FILE *f, const struct course *c, const struct course_visit *v, const enum metric *metrics, int n)
{
    fprintf(f, "\n%-*s%*s%*s%*s%*s  %*s  %*s\n", LABEL, "", WIDE, "baseline", WIDE, "run", WIDE, "spread", WIDE, "change",
            WIDE, "from last", WIDE, "real from");
    for (int k = 0; k < n; k++) {
        const enum metric m = metrics[k];
        fprintf(f, "%-*s", LABEL, metric_info(m)->name);
        number_print(f, WIDE, v->baseline[m].mean * course_scale(m), course_digits(m));
        number_print(f, WIDE, v->held[m].mean * course_scale(m), course_digits(m));
        number_print(f, WIDE, v->held[m].sd * course_scale(m), course_digits(m));
        put_change(f, m, &v->held_from_first[m]);
        put_change(f, m, &v->held_from_last[m]);
        number_print(f, WIDE, c->mdc[m] * course_scale(m), course_digits(m));
        fputc('\n', f);
    }
    fputs("change: from the first baseline of the course. *: larger than this runner's own wandering within a visit\n"
          "(MDC95, Weir 2005); from day to day it is larger still. real from: of at least two silent or baseline blocks\n"
          "of two minutes; a dash until there are so many. ~: at another belt speed, not like with like.\n", f);
    for (int k = 0; k < n; k++)
        print_left_out(f, c, metrics[k], LABEL);
}

static void
print_rest(FILE *f, const struct course_visit *v)
{
    for (int i = 0; i < v->targets.n; i++) {
        const enum metric m = v->targets.target[i].metric;
        const struct course_band *b = &v->band[m];
        fprintf(f, "%-*sin band: with feedback ", LABEL, metric_info(m)->name);
        number_print(f, 0, b->shown_pct, 0);
        fputs(" %, without ", f);
        number_print(f, 0, b->withheld_pct, 0);
        fputs(course_is_judged(v, m) ? " %\n" : " %: the targets are of another definition\n", f);
    }
    if (v->n_target_sets > 1)
        fprintf(f, "%-*sthe targets were changed %d times: each step is judged by those in force, the last are shown\n", LABEL, "",
                v->n_target_sets - 1);
    char fore[DOSE_COUNT_MAX];
    dose_fore_text(&v->dose, fore);
    fprintf(f, "\n%-*s%d steps, %s on mid- or forefoot, ", LABEL, "dose", v->dose.n_steps, fore);
    number_print(f, 0, v->dose.minutes, 1);
    fprintf(f, " min.%s%s\n", v->dose_note[0] ? " " : "", v->dose_note);
    visit_said_print(f, v);
}

static void
print_head(FILE *f, const struct course_visit *v)
{
    char time[LOCAL_TIME_MAX];
    fprintf(f, "visit %lld of %s, %s", (long long) v->visit.id, v->visit.runner_code,
            local_time_short(time, v->visit.started_utc_ms, v->visit.zone_offset_min));
    if (v->visit.plan[0])
        fprintf(f, ", %s visit %d", v->visit.plan, v->visit.course_visit);
    fprintf(f, ", %s\n", names_visit_end(&v->visit));
}

void
course_print_visit(FILE *f, const struct course *c)
{
    enum metric metrics[METRIC_COUNT];
    const struct course_visit *v = &c->visit[c->n_visits - 1];
    const int n = course_metrics(c, metrics);
    char sensor[VISIT_SENSOR_MAX];
    print_head(f, v);
    fprintf(f, "%-*s%s\n", LABEL, "sensor", visit_sensor_text(&v->visit, sensor, sizeof sensor));
    print_measured(f, c, LABEL);
    print_blocks(f, v, metrics, n);
    print_metrics(f, c, v, metrics, n);
    fputc('\n', f);
    print_rest(f, v);
}

/* How many of the visits were measured again, and the definitions that all figures have. */
static void
print_newest(FILE *f, const struct course *c)
{
    char text[MEASURED_TEXT_MAX];
    int n_again = 0;
    for (int i = 0; i < c->n_visits; i++)
        n_again += c->visit[i].measurement.id != 0;
    fprintf(f, "measured ");
    if (n_again == 0)
        fputs("at the visits; ", f);
    else
        fprintf(f, "again from the recordings of %d of them; ", n_again);
    fprintf(f, "%s\n", measured_definitions_text(&c->visit[c->n_visits - 1].measurement.definitions, text));
}

void
course_print(FILE *f, const struct course *c)
{
    enum metric metrics[METRIC_COUNT];
    const int n = course_metrics(c, metrics);
    fprintf(f, "%s%s%s, %d visits\n", c->runner.code, c->plan[0] ? ", " : "", c->plan, c->n_visits);
    if (c->n_others > 0)
        fprintf(f, "%d more by another plan, or none: --plan NAME, or --plan all\n", c->n_others);
    print_newest(f, c);
    for (int k = 0; k < n; k++) {
        const enum metric m = metrics[k];
        fprintf(f, "\n%s, %s; real from ", metric_info(m)->name, metric_info(m)->unit);
        number_print(f, 0, c->mdc[m] * course_scale(m), course_digits(m));
        fprintf(f, "\n%6s  %-16s%*s%*s%*s%12s%12s%*s\n", "visit", "started", WIDE, "baseline", WIDE, "run", WIDE, "change",
                "shown %", "withheld %", WIDE, "steps");
        for (int i = 0; i < c->n_visits; i++) {
            const struct course_visit *v = &c->visit[i];
            char time[LOCAL_TIME_MAX];
            fprintf(f, "%6d  %-16s", course_visit_number(c, i),
                    local_time_short(time, v->visit.started_utc_ms, v->visit.zone_offset_min));
            number_print(f, WIDE, v->baseline[m].mean * course_scale(m), course_digits(m));
            number_print(f, WIDE, v->held[m].mean * course_scale(m), course_digits(m));
            put_change(f, m, &v->held_from_first[m]);
            number_print(f, 10, v->band[m].shown_pct, 0);
            number_print(f, 12, v->band[m].withheld_pct, 0);
            fprintf(f, "%*d%s%s\n", WIDE, v->dose.n_steps, v->visit.is_finished && !v->visit.is_cut_short ? "" : "  ",
                    v->visit.is_finished && !v->visit.is_cut_short ? "" : names_visit_end(&v->visit));
        }
        print_left_out(f, c, m, 0);
    }
    char braking[COURSE_BRAKING_MAX];
    if (course_braking_text(c, braking)[0])
        fprintf(f, "\n%s\n%s\n", braking, COURSE_BRAKING_NOTE);
}
