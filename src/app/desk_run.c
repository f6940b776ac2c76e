#include "app/desk_run.h"

#include "app/check_report.h"
#include "app/desk_elements.h"
#include "app/stop.h"
#include "base/log.h"
#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void
put_step(void *context, const struct store_step *step)
{
    struct desk_run *r = context;
    if (atomic_load(&r->is_keeping))
        visit_put_step(&r->visit, step);
}

static void
put_block(void *context, const struct coach_block *block, struct dev_time now)
{
    struct desk_run *r = context;
    if (atomic_load(&r->is_keeping))
        visit_put_block(&r->visit, block, now);
}

static void
put_targets(void *context, const struct coach *coach)
{
    struct desk_run *r = context;
    if (atomic_load(&r->is_keeping))
        visit_put_targets(&r->visit, coach);
}

static double
known(double first, double second)
{
    return isnan(first) ? second : first;
}

static void
set_up(struct desk_run *r, const struct panel_request *q, const struct panel_case *k,
       struct session_config *s)
{
    struct pipeline_config *p = &s->pipeline;
    *s = r->config->session;
    p->body_mass_kg = known(k->runner.body_mass_kg, p->body_mass_kg);
    p->foot_length_mm = known(k->runner.foot_length_mm, p->foot_length_mm);
    p->leg_length_mm = known(k->runner.leg_length_mm, p->leg_length_mm);
    p->belt_speed_m_s = known(p->belt_speed_m_s, k->usual_speed_m_s);
    r->visit_config = r->config->visit;
    if (q->plan >= 0 && q->plan < k->n_plans) {
        const struct panel_plan *plan = &k->plan[q->plan];
        p->coach.plan = plan->plan;
        p->coach.cadence_rule = plan->rule;
        str_copy(r->visit_config.plan, sizeof r->visit_config.plan, plan->id);
        r->visit_config.course_visit = plan->visit > 0 ? plan->visit : plan->n_visits;
    }
    p->coach.is_waiting = true;
    p->coach.n_targets = q->command.n_targets;
    p->coach.focus = q->command.focus;
    memcpy(p->coach.target, q->command.target, sizeof p->coach.target);
    str_copy(r->code, sizeof r->code, k->runner.code);
    r->visit_config.runner_code = r->code;
    r->visit_config.belt_speed_m_s = p->belt_speed_m_s;
    s->on_step = put_step;
    s->on_block = put_block;
    s->on_targets = put_targets;
    s->context = r;
}

static void
say_sensor(struct desk_run *r)
{
    const struct visit_config *v = &r->visit_config;
    snprintf(r->says, sizeof r->says, "%s at %.60s, %.0f Hz.%s%.120s", v->sensor_kind, v->sensor_name,
             v->rate_hz, v->calibration[0] ? " Calibration: " : "", v->calibration);
}

struct desk_check {
    struct sensor_run run;
    struct check check;
    struct panel_elements elements;
    struct desk_run *of;
    struct dev_time shown;
    bool has_shown;
};

static void
take_frame(void *context, const struct packet *packet, const struct frame *frame)
{
    struct desk_check *c = context;
    check_feed(&c->check, packet, frame);
    if (!c->of->on_elements || (c->has_shown && frame->time.us - c->shown.us < UNITS_US_PER_S / DESK_RUN_LOOK_HZ))
        return;
    c->has_shown = true;
    c->shown = frame->time;
    desk_elements_fill(&c->elements, &c->run.sense.profile, packet, frame);
    c->of->on_elements(c->of->on_elements_context, &c->elements);
}

/* A few seconds of the sensor by itself. What it finds is for a person to weigh; a sensor that can't be read
 * is refused by the opening after it. */
static void
check_sensor(struct desk_run *r)
{
    struct desk_check *c = calloc(1, sizeof *c);
    r->has_check = false;
    r->check_row.report[0] = '\0';
    if (!c)
        return;
    c->of = r;
    if (sensor_run_open(&c->run, r->config->path, &r->config->source, r->config->session.pipeline.profile) ==
        ERR_OK) {
        check_init(&c->check, &c->run.sense.profile, sense_rate_hz(&c->run.sense));
        if (sensor_run_read(&c->run, DESK_RUN_CHECK_S, take_frame, c) == ERR_OK) {
            const struct check_line line = check_report_line(&c->run);
            check_judge(&c->check, &line, &r->check);
            r->has_check = true;
            if (!check_report_row(&r->check, &c->run.sense.profile, c->run.source.path, &r->check_row))
                r->check_row.report[0] = '\0';
        }
        sensor_run_close(&c->run);
    }
    free(c);
}

enum err
desk_run_open(struct desk_run *r, const struct panel_request *request, const struct panel_case *kase)
{
    struct session_config session;
    check_sensor(r);
    set_up(r, request, kase, &session);
    session_init(&r->session, &session);
    atomic_store(&r->is_keeping, false);
    enum err err = reader_open(&r->reader, r->config->path, &r->config->source, &r->session);
    if (err == ERR_OK)
        err = reader_wait_ready(&r->reader, APP_READY_MS);
    if (err == ERR_OK) {
        r->visit_config.sensor_kind = pipeline_kind_name(&r->session.pipeline);
        memcpy(r->sensor_name, r->reader.source.path, sizeof r->sensor_name);
        r->visit_config.sensor_name = r->sensor_name;
        r->visit_config.rate_hz = sense_rate_hz(&r->session.pipeline.sense);
        err = reader_start(&r->reader);
    }
    if (err != ERR_OK) {
        str_copy(r->why, sizeof r->why, r->reader.source.why);
        reader_stop(&r->reader);
        return err;
    }
    say_sensor(r);
    r->is_open = true;
    return ERR_OK;
}

enum err
desk_run_begin(struct desk_run *r, const struct panel_request *request, double pain_before)
{
    struct visit_config *v = &r->visit_config;
    memcpy(r->targets, request->command.target, sizeof r->targets);
    v->n_targets = request->command.n_targets;
    v->targets = r->targets;
    v->focus = request->command.focus;
    v->pain_before = pain_before;
    /* First the check, so that the visit's row finds it. A check that can't be kept is none; the visit goes on. */
    if (r->check_row.report[0] && check_report_keep(&r->check_row, v->store_path, r->why) != ERR_OK)
        log_note("the check is not kept: %s", r->why);
    r->check_row.report[0] = '\0'; /* once */
    const enum err err = visit_begin(&r->visit, v);
    if (err != ERR_OK) {
        str_copy(r->why, sizeof r->why, r->visit.why);
        return err;
    }
    atomic_store(&r->is_keeping, true);
    return ERR_OK;
}

enum err
desk_run_end(struct desk_run *r)
{
    enum err err = ERR_OK;
    if (!r->is_open)
        return ERR_OK;
    reader_stop(&r->reader);
    session_close(&r->session);
    if (r->visit.is_open)
        err = visit_end(&r->visit, &r->session.pipeline, (double) NAN);
    if (err != ERR_OK)
        str_copy(r->why, sizeof r->why, r->visit.why);
    atomic_store(&r->is_keeping, false);
    r->is_open = false;
    return err;
}
