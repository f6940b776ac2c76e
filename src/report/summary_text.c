/* summary_text.c - the summary as plain text for a terminal of 80 columns. */
#include "report/summary.h"

#include "report/local_time.h"
#include "report/number.h"
#include "store/names.h"

#include <math.h>
#include <string.h>

enum { LABEL_WIDTH = 20, NUMBER_WIDTH = 10 };

static const char *
or_dash(const char *word)
{
    return word == NULL || word[0] == '\0' ? "-" : word;
}

static void
put_label(FILE *f, const char *label)
{
    fprintf(f, "%-*s", LABEL_WIDTH, label);
}

static void
put_length(FILE *f, double length_s)
{
    if (isnan(length_s)) {
        fputs("-", f);
        return;
    }
    long seconds = lround(length_s);
    fprintf(f, "%ld min %02ld s", seconds / 60, seconds % 60);
}

/* As entered; else the mean of what a mat measured. */
static void
print_belt(FILE *f, const struct summary *s, const struct store_visit *v)
{
    const bool is_measured = isnan(v->belt_speed_m_s);
    const double speed_m_s = is_measured ? s->metric[METRIC_BELT_SPEED_M_S].all.mean : v->belt_speed_m_s;

    put_label(f, "belt speed");
    number_print(f, 0, speed_m_s, 2);
    fputs(isnan(speed_m_s) ? "\n" : is_measured ? " m/s (measured)\n" : " m/s\n", f);
}

static void
print_visit(FILE *f, const struct summary *s, const struct store_visit *v)
{
    char text[LOCAL_TIME_MAX], number[NUMBER_MAX];

    put_label(f, "visit");
    fprintf(f, "%lld, %s\n", (long long) v->id, names_visit_end(v));
    put_label(f, "runner");
    fprintf(f, "%s\n", v->runner_code);
    put_label(f, "started");
    fprintf(f, "%s\n", local_time_short(text, v->started_utc_ms, v->zone_offset_min));
    put_label(f, "length");
    put_length(f, v->length_s);
    fputc('\n', f);
    put_label(f, "sensor");
    fprintf(f, "%s%s%s\n", or_dash(v->sensor_kind), v->sensor_name[0] != '\0' ? ", " : "", v->sensor_name);
    if (v->check_utc_ms != 0) {
        put_label(f, "sensor check");
        fprintf(f, "%s, %s\n", v->check_grade, local_time_short(text, v->check_utc_ms, v->zone_offset_min));
    }
    if (v->calibration[0] != '\0') {
        put_label(f, "calibration");
        fprintf(f, "%s\n", v->calibration);
    }
    if (!isnan(v->gain_drift_pct)) {
        put_label(f, "gain drift");
        fprintf(f, "%s%s %%\n", v->gain_drift_pct > 0 ? "+" : "", number_fixed(number, v->gain_drift_pct, 1));
    }
    print_belt(f, s, v);
    if (v->plan[0] != '\0') {
        put_label(f, "plan");
        fprintf(f, "%s, its visit %d\n", v->plan, v->course_visit);
    }
    if (v->n_dropped > 0) {
        put_label(f, "records lost");
        fprintf(f, "%lld: the disc could not keep up, or refused them\n", (long long) v->n_dropped);
    }
    if (v->n_lost_packets > 0) {
        put_label(f, "packets lost");
        fprintf(f, "%lld\n", (long long) v->n_lost_packets);
    }
}

static void
print_counts(FILE *f, const struct summary *s)
{
    put_label(f, "steps");
    fprintf(f, "%d (left %d, right %d)", s->n_steps, s->n_by_foot[STEP_FOOT_LEFT],
            s->n_by_foot[STEP_FOOT_RIGHT]);
    for (int g = STEP_GAIT_OFF; g <= STEP_GAIT_RUNNING; g++)
        if (s->n_by_gait[g] > 0)
            fprintf(f, ", %s %d", names_gait((enum step_gait) g), s->n_by_gait[g]);
    fputc('\n', f);
    put_label(f, "strike zone");
    if (s->n_by_zone[STEP_ZONE_UNKNOWN] == s->n_steps)
        fputs("-\n", f);
    else
        fprintf(f, "rear %d, mid %d, fore %d, border %d\n", s->n_by_zone[STEP_ZONE_REAR], s->n_by_zone[STEP_ZONE_MID],
                s->n_by_zone[STEP_ZONE_FORE], s->n_by_zone[STEP_ZONE_BORDER]);
    put_label(f, "time measured");
    put_length(f, s->duration_s);
    fputc('\n', f);
    put_label(f, "body weight");
    number_print(f, 0, s->body_weight_n, 1);
    if (isfinite(s->body_weight_n))
        fprintf(f, " N, %s", store_weight_from_name(s->body_weight_from));
    fputc('\n', f);
    put_label(f, "rate");
    number_print(f, 0, s->rate_hz, 0);
    fputs(isnan(s->rate_hz) ? "\n" : " Hz\n", f);
}

static void
print_measured(FILE *f, const struct summary *s, const struct store_visit *v)
{
    char text[MEASURED_TEXT_MAX];

    put_label(f, "measured");
    fprintf(f, "%s\n", v != NULL ? measured_text(&s->measurement, v->zone_offset_min, text)
                                  : measured_definitions_text(&s->definitions, text));
}

/* A metric that no step has gets no line, so that what a sensor can't tell does not fill the page. */
static void
print_metrics(FILE *f, const struct summary *s)
{
    fprintf(f, "\n%-*s%-11s%6s%*s%*s%*s%*s\n", LABEL_WIDTH, "metric", "unit", "n", NUMBER_WIDTH, "mean",
            NUMBER_WIDTH, "sd", NUMBER_WIDTH, "median", NUMBER_WIDTH, "asym. %");
    for (int i = 0; i < METRIC_COUNT; i++) {
        const struct summary_metric *m = &s->metric[i];
        const struct metric_info *info = metric_info((enum metric) i);
        bool is_share = strcmp(info->unit, "yes/no") == 0;
        double scale = is_share ? 100 : 1;
        if (m->all.n == 0)
            continue;
        fprintf(f, "%-*s%-11s%6d", LABEL_WIDTH, info->name, is_share ? "% of steps" : info->unit, m->all.n);
        number_print(f, NUMBER_WIDTH, scale * m->all.mean, is_share ? 1 : info->digits);
        number_print(f, NUMBER_WIDTH, is_share ? (double) NAN : m->all.sd, info->digits);
        number_print(f, NUMBER_WIDTH, is_share ? (double) NAN : m->all.median, info->digits);
        number_print(f, NUMBER_WIDTH, m->asymmetry_pct, 1);
        fputs(2 * m->n_estimated > m->all.n ? "  estimated\n" : "\n", f);
    }
    fputs("asym. %: right minus left, of their mean\n", f);
}

static void
print_bands(FILE *f, const struct summary *s)
{
    bool has_any = false;

    for (int i = 0; i < METRIC_COUNT; i++) {
        const struct summary_band *b = &s->metric[i].band;
        const struct metric_info *info = metric_info((enum metric) i);
        if (!b->has_target)
            continue;
        if (!has_any)
            fprintf(f, "\n%-*s%*s%*s%16s%16s\n", LABEL_WIDTH, "in the target band", NUMBER_WIDTH, "low",
                    NUMBER_WIDTH, "high", "shown %", "withheld %");
        has_any = true;
        put_label(f, info->name);
        number_print(f, NUMBER_WIDTH, b->low, info->digits);
        number_print(f, NUMBER_WIDTH, b->high, info->digits);
        number_print(f, 16, b->shown_pct, 1);
        number_print(f, 16, b->withheld_pct, 1);
        fputc('\n', f);
    }
}

void
summary_print_figures(FILE *f, const struct summary *s, const struct store_visit *v)
{
    if (v != NULL)
        print_visit(f, s, v);
    print_counts(f, s);
    print_measured(f, s, v);
    print_metrics(f, s);
    print_bands(f, s);
}

void
summary_print(FILE *f, const struct summary *s, const struct store_visit *v)
{
    summary_print_figures(f, s, v);
    if (v != NULL)
        fprintf(f, "\n%s\n", SUMMARY_CAUTION);
}
