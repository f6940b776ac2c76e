#include "desk/desk_run.h"

#include "base/log.h"
#include "base/str.h"
#include "report/check_report.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static double
known(double first, double second)
{
    return isnan(first) ? second : first;
}

static void
set_up(struct desk_run *r, const struct panel_request *q, const struct panel_case *k, struct run_config *run)
{
    struct session_config *s = &run->session;
    struct visit_config *v = &run->visit;
    struct pipeline_config *p = &s->pipeline;
    *run = (struct run_config){ .session = r->config->session, .visit = r->config->visit, .is_stored = true };
    p->body_mass_kg = known(k->runner.body_mass_kg, p->body_mass_kg);
    p->foot_length_mm = known(k->runner.foot_length_mm, p->foot_length_mm);
    p->leg_length_mm = known(k->runner.leg_length_mm, p->leg_length_mm);
    p->belt_speed_m_s = known(p->belt_speed_m_s, k->usual_speed_m_s);
    if (q->plan >= 0 && q->plan < k->n_plans && message_is_none(&k->plan[q->plan].why)) {
        const struct panel_plan *plan = &k->plan[q->plan];
        p->coach.plan = plan->plan;
        p->coach.cadence_rule = plan->rule;
        str_copy(v->plan, sizeof v->plan, plan->id);
        v->course_visit = plan->visit > 0 ? plan->visit : plan->n_visits;
    }
    p->coach.is_waiting = true;
    p->coach.n_targets = q->command.n_targets;
    p->coach.focus = q->command.focus;
    memcpy(p->coach.target, q->command.target, sizeof p->coach.target);
    str_copy(r->code, sizeof r->code, k->runner.code);
    v->runner_code = r->code;
    v->belt_speed_m_s = p->belt_speed_m_s;
    s->is_early_dropped = true;
    p->on_frame = desk_watch_feed;
    p->on_frame_context = &r->watch;
    if (r->profile[0] == '\0')
        return;
    p->profile = &r->calibration.profile;
    s->profile_path = r->profile;
    calib_state_text(&r->calibration.state, s->calibration, sizeof s->calibration);
    struct message says;
    calibration_tell(&r->calibration, &says);
    str_copy(v->calibration, sizeof v->calibration, message_english(&says)); /* the store has it in English */
}

enum err
desk_run_open(struct desk_run *r, const struct panel_request *request, const struct panel_case *kase)
{
    struct run_config config;
    r->has_check = false;
    set_up(r, request, kase, &config);
    desk_watch_init(&r->watch, &r->run.session);
    run_init(&r->run, &config);
    const enum err err = run_open(&r->run, r->config->path, &r->config->source);
    if (err != ERR_OK) {
        r->why = r->run.why;
        return err;
    }
    const struct visit_config *v = &r->run.config.visit;
    if (r->profile[0] == '\0')
        r->kind = v->sensor_kind;
    message_tell(&r->says, MESSAGE_DESK_SENSOR_IS, message_word(v->sensor_kind), message_path(v->sensor_name),
                 message_real(v->rate_hz, 0, MESSAGE_UNIT_HZ));
    return ERR_OK;
}

/* A check that can't be kept is none; the visit goes on. */
static void
keep_check(struct desk_run *r)
{
    const struct sense_profile *p = &r->run.session.pipeline.sense.profile;
    if (!r->has_check)
        return;
    r->has_check = false; /* once */
    struct message m;
    message_init(&m, MESSAGE_NONE);
    if (!check_report_row(&r->check, p, r->run.sensor_name, &r->check_row))
        message_init(&m, MESSAGE_VISIT_CHECK_NO_MEMORY);
    else if (check_report_keep(&r->check_row, r->run.config.visit.store_path, &r->why) != ERR_OK)
        message_tell(&m, MESSAGE_VISIT_CHECK_NOT_KEPT, message_of(&r->why));
    log_tell(&m);
}

enum err
desk_run_begin(struct desk_run *r, const struct panel_request *request, double pain_before)
{
    struct visit_config *v = &r->run.config.visit;
    memcpy(r->targets, request->command.target, sizeof r->targets);
    v->n_targets = request->command.n_targets;
    v->targets = r->targets;
    v->focus = request->command.focus;
    v->pain_before = pain_before;
    v->belt_speed_m_s = known(request->value, v->belt_speed_m_s);
    keep_check(r); /* first, so that the visit's row finds it */
    const enum err err = run_begin(&r->run);
    if (err != ERR_OK)
        r->why = r->run.why;
    return err;
}

enum err
desk_run_end(struct desk_run *r)
{
    const enum err err = run_end(&r->run, (double) NAN);
    if (err != ERR_OK)
        r->why = r->run.why;
    return err;
}

const char *
desk_run_where(struct desk_run *r, char out[STORE_PATH_MAX])
{
    struct writer_status status;
    const struct visit *v = &r->run.visit;
    if (!v->is_open)
        return v->aside[0] ? visit_where(v, out) : NULL;
    writer_get_status(&r->run.visit.writer, &status);
    if (!status.aside[0])
        return NULL;
    spill_store_path(status.aside, out);
    return out;
}
