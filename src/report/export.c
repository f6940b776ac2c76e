#include "report/export.h"

#include "report/csv.h"
#include "report/fhir.h"
#include "report/visit_json.h"
#include "report/visit_said.h"
#include "report/visit_sensor.h"
#include "store/names.h"

#include <math.h>

struct csv {
    FILE *f;
    const struct course_visit *v;
    int n; /* rows so far */
    char definitions[MEASURED_TEXT_MAX];
};

static bool
put_csv_step(void *context, const struct coached_step *s)
{
    struct csv *c = context;
    const int of = course_block_of(c->v, s->block);
    csv_fields(c->f, &s->step, 0);
    if (of >= 0)
        fprintf(c->f, ",%d,%s", of + 1, names_block(c->v->block[of].kind));
    else
        fputs(",,", c->f);
    fprintf(c->f, ",%s,", s->is_feedback_shown ? "shown" : "withheld");
    if (c->n++ == 0)
        csv_text(c->f, c->v->notes);
    fprintf(c->f, ",%s\n", c->definitions);
    return true;
}

enum err
export_csv(struct store *s, int64_t visit_id, FILE *f)
{
    struct course course;
    enum err err = course_of_visit(s, visit_id, &course);
    if (err != ERR_OK)
        return err;
    struct csv c = { .f = f, .v = &course.visit[course.n_visits - 1] };
    measured_definitions_word(&c.v->measurement.definitions, c.definitions);
    csv_names(f);
    fputs(",block,block_kind,feedback,notes,definitions\n", f);
    err = measurement_steps(s, &c.v->measurement, put_csv_step, &c);
    if (err == ERR_OK && c.n == 0 && c.v->notes) { /* a visit of words alone */
        csv_no_fields(f);
        fputs(",,,,", f);
        csv_text(f, c.v->notes);
        fprintf(f, ",%s\n", c.definitions);
    }
    course_destroy(&course);
    return err;
}

static void
put_figure(struct json *j, const char *name, const struct course_figure *f)
{
    json_open_object(j, name);
    json_int(j, "n", f->n);
    json_number(j, "mean", f->mean);
    json_number(j, "sd", f->sd);
    json_close(j);
}

static void
put_band(struct json *j, const struct course_band *b)
{
    json_open_object(j, "target");
    json_number(j, "low", b->low);
    json_number(j, "high", b->high);
    json_number(j, "baseline", b->baseline);
    visit_json_in_band(j, b->n_shown, b->shown_pct, b->n_withheld, b->withheld_pct);
    json_close(j);
}

/* What changed inside the block: each piece with its belt speed and its targets. */
static void
put_pieces(struct json *j, const struct course_visit *v, int of)
{
    json_open_array(j, "pieces");
    for (int i = 0; i < v->n_pieces; i++) {
        const struct piece *p = &v->piece[i];
        if (p->of != of)
            continue;
        json_open_object(j, NULL);
        json_number(j, "start_s", units_s_from_us(p->row.start.us));
        json_number(j, "end_s", units_s_from_us(p->row.end.us));
        json_number(j, "belt_speed_m_s", p->row.belt_speed_m_s);
        json_open_object(j, "targets");
        for (int k = 0; k < p->targets.n; k++) {
            const struct store_target *t = &p->targets.target[k];
            json_open_object(j, metric_info(t->metric)->name);
            json_number(j, "low", t->low);
            json_number(j, "high", t->high);
            json_close(j);
        }
        json_close(j);
        json_close(j);
    }
    json_close(j);
}

static void
put_block(struct json *j, const struct course_visit *v, int i)
{
    const struct course_block *b = &v->block[i];
    json_open_object(j, NULL);
    visit_said_json_block(j, v, i);
    put_pieces(j, v, i);
    for (int m = 0; m < METRIC_COUNT; m++) {
        json_open_object(j, metric_info((enum metric) m)->name);
        put_figure(j, "all", &b->figure[m]);
        if (b->band[m].has_target)
            put_band(j, &b->band[m]);
        json_close(j);
    }
    json_close(j);
}

static void
put_change(struct json *j, const char *name, const struct course_change *c)
{
    json_open_object(j, name);
    json_number(j, "by", c->by);
    json_number(j, "pct", c->pct);
    json_bool(j, "is_real", c->is_real);
    json_bool(j, "is_other_speed", c->is_other_speed);
    json_bool(j, "is_other_definition", c->is_other_definition);
    json_close(j);
}

static void
put_metrics(struct json *j, const struct course *c, const struct course_visit *v)
{
    json_open_object(j, "metrics");
    for (int m = 0; m < METRIC_COUNT; m++) {
        json_open_object(j, metric_info((enum metric) m)->name);
        json_text(j, "unit", metric_info((enum metric) m)->unit);
        json_int(j, "definition", v->measurement.definitions.of[m]);
        put_figure(j, "baseline", &v->baseline[m]);
        put_figure(j, "held", &v->held[m]);
        put_change(j, "held_from_first_baseline", &v->held_from_first[m]);
        put_change(j, "baseline_from_first_baseline", &v->baseline_from_first[m]);
        put_change(j, "held_from_last_visit", &v->held_from_last[m]);
        json_number(j, "mdc95", c->mdc[m]);
        if (v->band[m].has_target)
            put_band(j, &v->band[m]);
        json_close(j);
    }
    json_close(j);
}

static void
put_head(struct json *j, const struct course *c, const struct course_visit *v)
{
    char note[PHRASE_MAX];
    const struct store_visit *row = &v->visit;
    json_int(j, "visit", row->id);
    visit_json_when(j, row);
    json_bool(j, "is_cut_short", row->is_cut_short);
    json_text(j, "plan", row->plan[0] ? row->plan : NULL);
    json_int(j, "course_visit", row->course_visit);
    visit_sensor_json(j, row);
    json_number(j, "belt_speed_m_s", isnan(row->belt_speed_m_s) ? v->held[METRIC_BELT_SPEED_M_S].mean : row->belt_speed_m_s);
    json_int(j, "target_sets", v->n_target_sets);
    json_text(j, "software", row->software);
    measured_json(j, &v->measurement, row->zone_offset_min);
    json_open_object(j, "runner");
    json_text(j, "code", c->runner.code);
    json_number(j, "body_mass_kg", c->runner.body_mass_kg);
    json_number(j, "leg_length_mm", c->runner.leg_length_mm);
    json_number(j, "foot_length_mm", c->runner.foot_length_mm);
    json_number(j, "pain_limit", c->runner.pain_limit);
    json_text(j, "shoe_note", c->runner.shoe_note);
    json_close(j);
    json_open_object(j, "dose");
    json_int(j, "steps", v->dose.n_steps);
    json_int(j, "fore_steps_at_least", v->dose.n_fore_least);
    json_int(j, "fore_steps_at_most", v->dose.n_fore_most);
    json_number(j, "minutes", v->dose.minutes);
    json_text(j, "note", v->dose_grew ? visit_said_growth(NULL, v, note) : NULL);
    json_close(j);
    visit_said_json(j, v);
}

struct json_steps {
    struct json *json;
    const struct course_visit *v;
};

static bool
put_json_step(void *context, const struct coached_step *s)
{
    const struct json_steps *w = context;
    struct json *j = w->json;
    const int of = course_block_of(w->v, s->block);
    char words[NAMES_FLAGS_MAX];
    json_open_object(j, NULL);
    json_int(j, "step", s->step.number);
    json_text(j, "side", names_foot(s->step.foot));
    json_text(j, "gait", names_gait(s->step.gait));
    json_text(j, "strike_zone", names_zone(s->step.zone));
    json_number(j, "touchdown_s", units_s_from_us(s->step.touchdown.us));
    json_number(j, "toeoff_s", units_s_from_us(s->step.toe_off.us));
    json_number(j, "block", of < 0 ? (double) NAN : of + 1);
    json_bool(j, "is_feedback_shown", s->is_feedback_shown);
    names_flags(s->step.flags, words);
    json_text(j, "flags", words);
    for (int m = 0; m < METRIC_COUNT; m++)
        json_number(j, metric_info((enum metric) m)->name,
                    s->step.standing[m] == METRIC_MISSING ? (double) NAN : s->step.value[m]);
    json_close(j);
    return true;
}

enum err
export_json(struct store *s, int64_t visit_id, bool has_steps, FILE *f)
{
    struct course c;
    struct json j;
    enum err err = course_of_visit(s, visit_id, &c);
    if (err != ERR_OK)
        return err;
    const struct course_visit *v = &c.visit[c.n_visits - 1];
    json_init(&j, f);
    json_open_object(&j, NULL);
    put_head(&j, &c, v);
    put_metrics(&j, &c, v);
    json_open_array(&j, "blocks");
    for (int i = 0; i < v->n_blocks; i++)
        put_block(&j, v, i);
    json_close(&j);
    if (has_steps) {
        json_open_array(&j, "step_records");
        struct json_steps w = { &j, v };
        err = measurement_steps(s, &v->measurement, put_json_step, &w);
        json_close(&j);
    }
    json_close(&j);
    course_destroy(&c);
    return err;
}

enum err
export_fhir(struct store *s, int64_t visit_id, FILE *f)
{
    struct course c;
    const enum err err = course_of_visit(s, visit_id, &c);
    if (err != ERR_OK)
        return err;
    fhir_print(f, &c);
    course_destroy(&c);
    return ERR_OK;
}
