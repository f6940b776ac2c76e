/* summary_json.c - the summary as one JSON object; names and places of members are a promise. */
#include "report/summary.h"

#include "report/visit_json.h"
#include "report/visit_sensor.h"
#include "store/names.h"

#include <math.h>

static void
put_visit(struct json *j, const struct store_visit *v)
{
    json_open_object(j, "visit");
    json_int(j, "id", v->id);
    json_text(j, "runner", v->runner_code);
    visit_json_when(j, v);
    visit_sensor_json(j, v);
    json_number(j, "belt_speed_m_s", v->belt_speed_m_s);
    json_text(j, "plan", v->plan[0] == '\0' ? NULL : v->plan);
    json_int(j, "course_visit", v->course_visit);
    json_bool(j, "is_cut_short", v->is_cut_short);
    json_text(j, "software", v->software);
    json_close(j);
}

static void
put_stat(struct json *j, const struct summary_stat *s)
{
    json_int(j, "n", s->n);
    json_number(j, "mean", s->mean);
    json_number(j, "sd", s->sd);
    json_number(j, "median", s->median);
}

static void
put_foot(struct json *j, const char *name, const struct summary_stat *s)
{
    json_open_object(j, name);
    put_stat(j, s);
    json_close(j);
}

static void
put_band(struct json *j, const struct summary_band *b)
{
    json_open_object(j, "target");
    json_number(j, "low", b->low);
    json_number(j, "high", b->high);
    visit_json_in_band(j, b->n_shown, b->shown_pct, b->n_withheld, b->withheld_pct);
    json_close(j);
}

void
summary_put_json(struct json *j, const struct summary *s, const struct store_visit *v)
{
    json_int(j, "steps", s->n_steps);
    json_text(j, "gait", names_gait(s->gait));
    json_number(j, "body_weight_n", s->body_weight_n);
    json_text(j, "body_weight_from", names_weight_from(s->body_weight_from));
    json_number(j, "rate_hz", s->rate_hz);
    json_number(j, "duration_s", s->duration_s);
    if (v != NULL)
        put_visit(j, v);
    if (v != NULL)
        measured_json(j, &s->measurement, v->zone_offset_min);
    json_open_object(j, "steps_by_gait");
    for (int g = STEP_GAIT_OFF; g <= STEP_GAIT_RUNNING; g++)
        json_int(j, names_gait((enum step_gait) g), s->n_by_gait[g]);
    json_close(j);
    json_open_object(j, "steps_by_zone");
    for (int z = STEP_ZONE_REAR; z < STEP_ZONE_COUNT; z++)
        json_int(j, names_zone((enum step_zone) z), s->n_by_zone[z]);
    json_close(j);
    for (int m = 0; m < METRIC_COUNT; m++) {
        const struct summary_metric *metric = &s->metric[m];
        json_open_object(j, metric_info((enum metric) m)->name);
        put_stat(j, &metric->all);
        json_number(j, "asymmetry_pct", metric->asymmetry_pct);
        json_int(j, "n_estimated", metric->n_estimated);
        json_int(j, "definition", s->definitions.of[m]);
        if (m == METRIC_LANDING_AHEAD_MM && s->landing_foot != NULL)
            json_text(j, "foot_length", s->landing_foot);
        put_foot(j, "left", &metric->left);
        put_foot(j, "right", &metric->right);
        if (metric->band.has_target)
            put_band(j, &metric->band);
        json_close(j);
    }
}

void
summary_print_json(FILE *f, const struct summary *s, const struct store_visit *v)
{
    struct json j;

    json_init(&j, f);
    json_open_object(&j, NULL);
    summary_put_json(&j, s, v);
    json_close(&j);
}
