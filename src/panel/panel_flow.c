/* panel_flow.c - the visit that is under way: begun, followed through its phases, closed; and whether what it shows is live.
 * It knows no key and no page but where a phase leads to. */
#include "panel/panel_parts.h"

#include "base/str.h"

#include <math.h>
#include <string.h>

bool
panel_is_withheld(const struct panel *p)
{
    return p->is_over_screen && !p->visit.is_peeking && p->visit.is_on && p->visit.flow.phase == VISIT_FLOW_RUN &&
           !p->visit.verdict.is_feedback_shown;
}

int64_t
panel_age_us(const struct panel *p)
{
    return p->visit.verdict.last_value_at.us > 0 ? units_host_since_us(p->now, p->visit.verdict.last_value_at) : -1;
}

bool
panel_is_stale(const struct panel *p)
{
    const struct verdict *v = &p->visit.verdict;
    return v->sensor != VERDICT_SENSOR_LIVE || panel_age_us(p) > PANEL_STALE_US ||
           (v->gait != STEP_GAIT_RUNNING && v->gait != STEP_GAIT_UNKNOWN);
}

bool
panel_sensor_is_seen(const struct panel *p)
{
    return p->visit.is_on && p->visit.flow.phase == VISIT_FLOW_CHECK && p->visit.sensor == PANEL_SENSOR_OPEN;
}

bool
panel_sensor_is_live(const struct panel *p)
{
    return p->visit.has_watch && p->visit.verdict.sensor == VERDICT_SENSOR_LIVE;
}

bool
panel_speed_is_measured(const struct panel *p)
{
    return p->visit.is_on && (p->visit.verdict.is_speed_measured || (p->visit.has_watch && p->visit.watch.elements.kind == FRAME_KIND_MAT));
}

void
panel_set_sensor(struct panel *p, enum panel_sensor sensor, const struct message *told)
{
    p->visit.sensor = sensor;
    if (told)
        p->visit.sensor_told = *told;
    else
        message_init(&p->visit.sensor_told, MESSAGE_NONE);
    p->n_changes++;
}

void
panel_set_watch(struct panel *p, const struct panel_watch *w)
{
    p->visit.watch = *w;
    p->visit.has_watch = true;
    p->n_changes++;
}

/* Told often, and seldom new. */
void
panel_set_recording(struct panel *p, const struct panel_recording *r)
{
    struct panel_recording *was = &p->visit.recording;
    const bool is_same_rate = was->mb_per_min == r->mb_per_min || (isnan(was->mb_per_min) && isnan(r->mb_per_min));
    const bool is_same_room = was->room_h == r->room_h || (isnan(was->room_h) && isnan(r->room_h));
    if (was->is_kept == r->is_kept && was->has_ended_early == r->has_ended_early && is_same_rate && is_same_room)
        return;
    *was = *r;
    p->n_changes++;
}

void
panel_visit_ask(struct panel *p, bool is_effort)
{
    p->ask.is_effort = is_effort;
    p->ask.number = -1;
    p->context = PANEL_ASK_NUMBER;
}

void
panel_visit_begin(struct panel *p)
{
    const struct visit_flow_config config = { .pain_limit = p->open.kase.runner.pain_limit };
    visit_flow_init(&p->visit.flow, &config);
    memset(&p->visit.verdict, 0, sizeof p->visit.verdict);
    p->visit.is_on = true;
    p->visit.is_end_told = p->visit.has_watch = p->calib.is_on = false;
    p->aim.version = 0;
    p->aim.n_told = 0;
    p->aim.is_untold = p->visit.are_warnings_read = false;
    p->visit.n_marks = 0;
    p->visit.kept_pain_after = p->visit.kept_effort = (double) NAN;
    p->visit.feedback = COMMAND_FEEDBACK_BY_PLAN;
    panel_set_sensor(p, PANEL_SENSOR_OPENING, NULL);
    struct panel_request *r = panel_want(p, PANEL_WANTS_SENSOR);
    r->plan = p->open.at_plan;
    r->command = target_edit_command(&p->aim.edit);
}

void
panel_visit_sync(struct panel *p)
{
    struct command command;
    struct visit_flow_pain pain;
    if (!p->visit.is_on)
        return;
    while (visit_flow_take_command(&p->visit.flow, &command))
        panel_want(p, PANEL_WANTS_COMMAND)->command = command;
    while (visit_flow_take_pain(&p->visit.flow, &pain))
        panel_want(p, PANEL_WANTS_PAIN)->pain = pain;
    if (p->visit.flow.phase == VISIT_FLOW_AFTER && !p->visit.is_end_told) {
        p->visit.is_end_told = true;
        p->open.is_loading = true;
        panel_want(p, PANEL_WANTS_END);
        p->page = PANEL_SUMMARY;
        if (p->context != PANEL_IN_NOTE) /* a note that is being written stays */
            panel_visit_ask(p, false);
    }
}

void
panel_visit_close(struct panel *p)
{
    panel_want(p, PANEL_WANTS_CLOSE);
    p->visit.is_on = false;
    panel_set_sensor(p, PANEL_SENSOR_CLOSED, NULL);
}

void
panel_visit_refused(struct panel *p)
{
    if (!p->visit.is_on)
        return;
    panel_visit_close(p);
    panel_to_page(p, PANEL_VISIT);
}
