/* summary_text.c - the summary as plain text for a terminal of 80 columns. */
#include "report/summary.h"

#include "report/metric_words.h"
#include "report/visit_said.h"
#include "report/visit_sensor.h"

#include <math.h>
#include <string.h>

enum { LABEL = 20, NUMBER = 10, UNIT = 11 };

static void
put_label(FILE *f, const struct catalogue *w, const char *english)
{
    phrase_put(f, LABEL, phrase(w, english));
}

/* A label and what belongs to it; a dash for nothing. */
static void
put_line(FILE *f, const struct catalogue *w, const char *english, const char *text)
{
    put_label(f, w, english);
    fprintf(f, "%s\n", text && text[0] ? text : "-");
}

static const char *
length_text(const struct catalogue *w, char out[64], double length_s)
{
    char minutes[NUMBER_MAX], seconds[NUMBER_MAX];
    const long s = isnan(length_s) ? 0 : lround(length_s);
    if (isnan(length_s))
        return "-";
    snprintf(seconds, sizeof seconds, "%02ld", s % 60);
    return phrase_fill(out, 64, phrase(w, N_("{1} min {2} s")), phrase_int(minutes, s / 60), seconds, (char *) NULL);
}

/* A value with its unit, and how it came about; a dash when it is not known. */
static void
put_value(FILE *f, const struct catalogue *w, const char *english, const char *words, double value, int digits)
{
    char text[160], number[NUMBER_MAX];
    put_line(f, w, english, isnan(value) ? "-" : phrase_fill(text, sizeof text, phrase(w, words), phrase_number(w, number, value, digits), (char *) NULL));
}

static void
put_count(FILE *f, const struct catalogue *w, const char *english, long long n)
{
    char number[NUMBER_MAX];
    if (n > 0)
        put_line(f, w, english, phrase_int(number, n));
}

static void
print_visit(FILE *f, const struct catalogue *w, const struct summary *s, const struct store_visit *v)
{
    /* The belt's speed as entered; else the mean of what a mat measured. */
    const bool is_measured = isnan(v->belt_speed_m_s);
    char text[PHRASE_MAX], more[PHRASE_MAX], number[NUMBER_MAX], time[PHRASE_TIME_MAX];
    PHRASE(w, text, N_("{1}, {2}"), phrase_int(number, v->id), visit_said_end(w, v));
    put_line(f, w, N_("visit"), text);
    put_line(f, w, N_("runner"), v->runner_code);
    put_line(f, w, N_("started"), phrase_time(w, time, v->started_utc_ms, v->zone_offset_min));
    put_line(f, w, N_("length"), length_text(w, time, v->length_s));
    text[0] = '\0';
    phrase_list(w, text, sizeof text, v->sensor_kind[0] ? visit_sensor_kind(w, v->sensor_kind) : "-");
    if (v->sensor_name[0])
        phrase_list(w, text, sizeof text, v->sensor_name);
    put_line(f, w, N_("sensor"), text);
    if (v->check_utc_ms != 0)
        put_line(f, w, N_("sensor check"),
                 PHRASE(w, more, N_("{1}, {2}"), phrase(w, v->check_grade), phrase_time(w, time, v->check_utc_ms, v->zone_offset_min)));
    if (v->calibration[0])
        put_line(f, w, N_("calibration"), v->calibration);
    if (!isnan(v->gain_drift_pct))
        put_line(f, w, N_("gain drift"), PHRASE(w, more, N_("{1} %"), phrase_signed(w, number, v->gain_drift_pct, 1)));
    put_value(f, w, N_("belt speed"), is_measured ? N_("{1} m/s (measured)") : N_("{1} m/s"),
              is_measured ? s->metric[METRIC_BELT_SPEED_M_S].all.mean : v->belt_speed_m_s, 2);
    if (v->plan[0])
        put_line(f, w, N_("plan"), PHRASE(w, more, N_("{1}, its visit {2}"), v->plan, phrase_int(number, v->course_visit)));
    if (v->n_dropped > 0)
        put_line(f, w, N_("records lost"),
                 PHRASE(w, more, N_("{1}: the disc could not keep up, or refused them"), phrase_int(number, v->n_dropped)));
    put_count(f, w, N_("packets lost"), v->n_lost_packets);
}

/* By enum store_weight_from. */
static const char *
weight_from(const struct catalogue *w, enum store_weight_from from)
{
    static const char *const words[] = { NC_("weight", "unknown"), NC_("weight", "entered"), NC_("weight", "standing"),
                                         NC_("weight", "momentum balance") };
    return phrase_in(w, "weight", words[from]);
}

static void
print_counts(FILE *f, const struct catalogue *w, const struct summary *s)
{
    static const char *const gaits[] = { NULL, NC_("steps", "off"), NC_("steps", "standing"), NC_("steps", "walking"),
                                         NC_("steps", "running") };
    char text[PHRASE_MAX], part[160], a[NUMBER_MAX], b[NUMBER_MAX], c[NUMBER_MAX], d[NUMBER_MAX];
    PHRASE(w, text, N_("{1} (left {2}, right {3})"), phrase_int(a, s->n_steps), phrase_int(b, s->n_by_foot[STEP_FOOT_LEFT]),
           phrase_int(c, s->n_by_foot[STEP_FOOT_RIGHT]));
    for (int g = STEP_GAIT_OFF; g <= STEP_GAIT_RUNNING; g++)
        if (s->n_by_gait[g] > 0)
            phrase_list(w, text, sizeof text, PHRASE(w, part, N_("{1} {2}"), phrase_in(w, "steps", gaits[g]), phrase_int(a, s->n_by_gait[g])));
    put_line(f, w, N_("steps"), text);
    put_line(f, w, N_("strike zone"),
             s->n_by_zone[STEP_ZONE_UNKNOWN] == s->n_steps
                 ? "-"
                 : PHRASE(w, text, N_("rear {1}, mid {2}, fore {3}, border {4}"), phrase_int(a, s->n_by_zone[STEP_ZONE_REAR]),
                          phrase_int(b, s->n_by_zone[STEP_ZONE_MID]), phrase_int(c, s->n_by_zone[STEP_ZONE_FORE]),
                          phrase_int(d, s->n_by_zone[STEP_ZONE_BORDER])));
    put_line(f, w, N_("time measured"), length_text(w, part, s->duration_s));
    PHRASE(w, text, N_("{1} N, {2}"), phrase_number(w, a, s->body_weight_n, 1), weight_from(w, s->body_weight_from));
    put_line(f, w, N_("body weight"), isfinite(s->body_weight_n) ? text : "-");
    put_value(f, w, N_("rate"), N_("{1} Hz"), s->rate_hz, 0);
}

/* By their names in the tables. A metric that no step has gets no line, so that what a sensor can't tell does not fill the page. */
static void
print_metrics(FILE *f, const struct catalogue *w, const struct summary *s)
{
    static const char *const heads[] = { N_("unit"), N_("n"), N_("mean"), N_("sd"), N_("median"), N_("asym. %") };
    int wide[] = { NUMBER, NUMBER, NUMBER, NUMBER };
    fputc('\n', f);
    put_label(f, w, N_("metric"));
    phrase_put(f, UNIT, phrase(w, heads[0]));
    phrase_put(f, -6, phrase(w, heads[1]));
    phrase_put_heads(f, w, heads + 2, wide, 4);
    for (int i = 0; i < METRIC_COUNT; i++) {
        const struct summary_metric *m = &s->metric[i];
        const struct metric_info *info = metric_info((enum metric) i);
        const bool is_share = course_scale((enum metric) i) > 1;
        if (m->all.n == 0)
            continue;
        phrase_put(f, LABEL, info->name);
        phrase_put(f, UNIT, metric_words_unit(w, (enum metric) i));
        fprintf(f, "%6d", m->all.n);
        phrase_put_number(f, w, wide[0], course_scale((enum metric) i) * m->all.mean, is_share ? 1 : info->digits);
        phrase_put_number(f, w, wide[1], is_share ? (double) NAN : m->all.sd, info->digits);
        phrase_put_number(f, w, wide[2], is_share ? (double) NAN : m->all.median, info->digits);
        phrase_put_number(f, w, wide[3], m->asymmetry_pct, 1);
        fprintf(f, "%s%s\n", 2 * m->n_estimated > m->all.n ? "  " : "", 2 * m->n_estimated > m->all.n ? phrase(w, N_("estimated")) : "");
    }
    fprintf(f, "%s\n", phrase(w, N_("asym. %: right minus left, of their mean")));
}

static void
print_bands(FILE *f, const struct catalogue *w, const struct summary *s)
{
    static const char *const heads[] = { N_("low"), N_("high"), N_("shown %"), N_("withheld %") };
    int wide[] = { NUMBER, NUMBER, 16, 16 };
    bool has_any = false;
    for (int i = 0; i < METRIC_COUNT; i++) {
        const struct summary_band *b = &s->metric[i].band;
        const struct metric_info *info = metric_info((enum metric) i);
        if (!b->has_target)
            continue;
        if (!has_any) {
            fputc('\n', f);
            put_label(f, w, N_("in the target band"));
            phrase_put_heads(f, w, heads, wide, 4);
        }
        has_any = true;
        phrase_put(f, LABEL, info->name);
        phrase_put_number(f, w, wide[0], b->low, info->digits);
        phrase_put_number(f, w, wide[1], b->high, info->digits);
        phrase_put_number(f, w, wide[2], b->shown_pct, 1);
        phrase_put_number(f, w, wide[3], b->withheld_pct, 1);
        fputc('\n', f);
    }
}

void
summary_print_figures(FILE *f, const struct catalogue *w, const struct summary *s, const struct store_visit *v)
{
    char text[MEASURED_TEXT_MAX];
    if (v != NULL)
        print_visit(f, w, s, v);
    print_counts(f, w, s);
    put_line(f, w, N_("measured"),
             v != NULL ? measured_text(w, &s->measurement, v->zone_offset_min, text) : measured_definitions_text(w, &s->definitions, text));
    print_metrics(f, w, s);
    print_bands(f, w, s);
}

void
summary_print(FILE *f, const struct catalogue *w, const struct summary *s, const struct store_visit *v)
{
    summary_print_figures(f, w, s, v);
    if (v != NULL)
        fprintf(f, "\n%s\n", phrase(w, SUMMARY_CAUTION));
}
