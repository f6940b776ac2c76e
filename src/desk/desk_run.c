#include "desk/desk_run.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/str.h"
#include "report/check_report.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* The reading thread asks: it ends before the visit does. */
static void
watch_store(struct desk_run *r)
{
    struct store_told told;
    if (!store_watch_look(&r->store_watch, &r->visit, monotime_now()))
        return;
    told.is_bad = r->store_watch.is_bad;
    str_copy(told.says, sizeof told.says, told.is_bad ? r->store_watch.says : "This visit is saved again.");
    log_note("%s", told.says);
    mailbox_put(&r->to_main, &told);
}

bool
desk_run_take_told(struct desk_run *r, struct store_told *out)
{
    return mailbox_take(&r->to_main, out);
}

static void
put_step(void *context, const struct coached_step *step)
{
    struct desk_run *r = context;
    if (!atomic_load(&r->is_keeping))
        return;
    visit_put_step(&r->visit, step);
    watch_store(r);
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
    if (q->plan >= 0 && q->plan < k->n_plans && !k->plan[q->plan].why[0]) {
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
    p->on_frame = desk_watch_feed;
    p->on_frame_context = &r->watch;
    if (r->profile[0] == '\0')
        return;
    p->profile = &r->calibration.profile;
    s->profile_path = r->profile;
    calib_state_text(&r->calibration.state, s->calibration, sizeof s->calibration);
    calibration_says(&r->calibration, r->visit_config.calibration, sizeof r->visit_config.calibration);
}

static void
say_sensor(struct desk_run *r)
{
    const struct visit_config *v = &r->visit_config;
    snprintf(r->says, sizeof r->says, "%s at %.60s, %.0f Hz.", v->sensor_kind, v->sensor_name, v->rate_hz);
}

enum err
desk_run_open(struct desk_run *r, const struct panel_request *request, const struct panel_case *kase)
{
    struct session_config session;
    r->has_check = false;
    memset(&r->store_watch, 0, sizeof r->store_watch);
    mailbox_init(&r->to_main, r->slots, sizeof r->slots[0]);
    set_up(r, request, kase, &session);
    desk_watch_init(&r->watch, &r->session);
    session_init(&r->session, &session);
    atomic_store(&r->is_keeping, false);
    enum err err = reader_open(&r->reader, r->config->path, &r->config->source, &r->session);
    if (err == ERR_OK)
        err = reader_wait_ready(&r->reader, APP_READY_MS);
    if (err == ERR_OK) {
        r->visit_config.sensor_kind = pipeline_kind_name(&r->session.pipeline);
        if (r->profile[0] == '\0')
            r->kind = r->visit_config.sensor_kind;
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

/* A check that can't be kept is none; the visit goes on. */
static void
keep_check(struct desk_run *r)
{
    const struct sense_profile *p = &r->session.pipeline.sense.profile;
    if (!r->has_check)
        return;
    r->has_check = false; /* once */
    if (!check_report_row(&r->check, p, r->sensor_name, &r->check_row))
        log_note("the check is not kept: no memory for it");
    else if (check_report_keep(&r->check_row, r->visit_config.store_path, r->why) != ERR_OK)
        log_note("the check is not kept: %s", r->why);
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
    v->belt_speed_m_s = known(request->value, v->belt_speed_m_s);
    keep_check(r); /* first, so that the visit's row finds it */
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
