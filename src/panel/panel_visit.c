/* panel_visit.c - a visit's way on the panel: sensor, cautions, pain, the run, pain and effort after, notes,
 * saved. */
#include "panel/panel.h"

#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void
to_page(struct panel *p, enum panel_page page)
{
    p->page = page;
    p->context = (enum panel_context) page;
}

static void
ask_number(struct panel *p, bool is_effort)
{
    p->is_effort_asked = is_effort;
    p->number = -1;
    p->context = PANEL_ASK_NUMBER;
}

static void
ticks_text(const struct panel *p, char *out, size_t cap)
{
    tally_ticks_to_text(p->ticks, out, cap);
}

static void
begin(struct panel *p)
{
    const struct visit_flow_config config = { .pain_limit = p->kase.runner.pain_limit };
    visit_flow_init(&p->flow, &config);
    memset(&p->verdict, 0, sizeof p->verdict);
    p->has_visit = true;
    p->is_end_told = p->has_watch = p->is_calibrating = false;
    p->target_version = 0;
    p->n_told = 0;
    p->is_untold = false;
    p->n_marks = 0;
    p->feedback = COMMAND_FEEDBACK_BY_PLAN;
    panel_set_sensor(p, PANEL_SENSOR_OPENING, "");
    struct panel_request *r = panel_want(p, PANEL_WANTS_SENSOR);
    r->plan = p->at_plan;
    r->command = target_edit_command(&p->edit);
}

void
panel_sensor_again(struct panel *p)
{
    begin(p);
}

void
panel_visit_go_on(struct panel *p)
{
    char why[VISIT_FLOW_TEXT_MAX];
    if (!p->has_visit) {
        begin(p);
        return;
    }
    if (p->flow.phase == VISIT_FLOW_CHECK && p->sensor == PANEL_SENSOR_REFUSED) { /* once more */
        begin(p);
        return;
    }
    if (p->flow.phase == VISIT_FLOW_CHECK && p->sensor == PANEL_SENSOR_OPENING) {
        panel_say(p, "Looking for the sensor still.");
        return;
    }
    const enum visit_flow_phase was = p->flow.phase;
    if (was == VISIT_FLOW_PAIN_BEFORE && !p->flow.is_answered) { /* the question was left */
        ask_number(p, false);
        return;
    }
    if (!visit_flow_next(&p->flow, why)) {
        panel_say(p, why);
        return;
    }
    if (p->flow.phase == VISIT_FLOW_PAIN_BEFORE)
        ask_number(p, false);
    if (was == VISIT_FLOW_PAIN_BEFORE && p->flow.phase == VISIT_FLOW_RUN) {
        struct panel_request *r = panel_want(p, PANEL_WANTS_RUN);
        ticks_text(p, r->text, sizeof r->text);
        r->plan = p->at_plan;
        r->command = target_edit_command(&p->edit);
        to_page(p, PANEL_LIVE);
    }
    panel_visit_sync(p);
}

void
panel_visit_sync(struct panel *p)
{
    struct command command;
    struct visit_flow_pain pain;
    if (!p->has_visit)
        return;
    while (visit_flow_take_command(&p->flow, &command))
        panel_want(p, PANEL_WANTS_COMMAND)->command = command;
    while (visit_flow_take_pain(&p->flow, &pain))
        panel_want(p, PANEL_WANTS_PAIN)->pain = pain;
    if (p->flow.phase == VISIT_FLOW_AFTER && !p->is_end_told) {
        p->is_end_told = true;
        p->is_loading = true;
        panel_want(p, PANEL_WANTS_END);
        p->page = PANEL_SUMMARY;
        if (p->context != PANEL_IN_NOTE) /* a note that is being written stays */
            ask_number(p, false);
    }
}

static void
close_visit(struct panel *p)
{
    panel_want(p, PANEL_WANTS_CLOSE);
    p->has_visit = false;
    panel_set_sensor(p, PANEL_SENSOR_CLOSED, "");
}

bool
panel_is_withheld(const struct panel *p)
{
    return p->is_over_screen && !p->is_peeking && p->has_visit && p->flow.phase == VISIT_FLOW_RUN &&
           !p->verdict.is_feedback_shown;
}

int64_t
panel_age_us(const struct panel *p)
{
    return p->verdict.last_value_at.us > 0 ? units_host_since_us(p->now, p->verdict.last_value_at) : -1;
}

bool
panel_is_stale(const struct panel *p)
{
    const struct verdict *v = &p->verdict;
    return v->sensor != VERDICT_SENSOR_LIVE || panel_age_us(p) > PANEL_STALE_US ||
           (v->gait != STEP_GAIT_RUNNING && v->gait != STEP_GAIT_UNKNOWN);
}

void
panel_visit_refused(struct panel *p)
{
    if (!p->has_visit)
        return;
    close_visit(p);
    to_page(p, PANEL_VISIT);
}

void
panel_visit_number(struct panel *p, bool is_passed)
{
    if (!is_passed && p->number < 0) {
        panel_say(p, "Say a number from 0 to 10, or pass it over.");
        return;
    }
    const double value = is_passed ? (double) NAN : p->number;
    to_page(p, p->page);
    if (!p->has_visit)
        return;
    if (p->is_effort_asked)
        visit_flow_effort(&p->flow, value);
    else
        visit_flow_pain(&p->flow, value);
    panel_visit_sync(p);
    if (p->flow.phase == VISIT_FLOW_PAIN_BEFORE)
        panel_visit_go_on(p);
    else if (p->flow.phase == VISIT_FLOW_AFTER && !p->is_effort_asked && isnan(p->flow.effort))
        ask_number(p, true);
}

static void
next_plan(struct panel *p, int to)
{
    if (p->has_visit) {
        panel_say(p, "The plan of a visit that is under way stays.");
        return;
    }
    p->at_plan = to >= p->kase.n_plans ? -1 : to;
}

static void
tick(struct panel *p, int sign)
{
    if (sign < 0 || sign >= TALLY_COUNT || !tally_row((enum tally_sign) sign)->is_ticked)
        return;
    enum tally_state *t = &p->ticks[sign];
    if (p->page == PANEL_SUMMARY && p->at_visit < p->kase.n_visits)
        t = &p->kase.visit[p->at_visit].tally.sign[sign];
    *t = *t == TALLY_UNKNOWN ? TALLY_PRESENT : *t == TALLY_PRESENT ? TALLY_ABSENT : TALLY_UNKNOWN;
    const bool is_running = p->has_visit && p->flow.has_run;
    if (p->page == PANEL_SUMMARY && p->at_visit < p->kase.n_visits) {
        struct panel_visit *v = &p->kase.visit[p->at_visit];
        struct panel_request *r = panel_want(p, PANEL_WANTS_TICKS);
        tally_ticks_to_text(v->tally.sign, r->text, sizeof r->text);
        r->visit_id = v->id;
        v->tally.n_known = v->tally.n_present = 0;
        for (int i = 0; i < TALLY_COUNT; i++) {
            v->tally.n_known += v->tally.sign[i] != TALLY_UNKNOWN;
            v->tally.n_present += v->tally.sign[i] == TALLY_PRESENT;
        }
    } else if (is_running) {
        struct panel_request *r = panel_want(p, PANEL_WANTS_TICKS);
        ticks_text(p, r->text, sizeof r->text);
    }
}

static void
save(struct panel *p)
{
    char why[VISIT_FLOW_TEXT_MAX];
    if (!p->has_visit || p->flow.phase < VISIT_FLOW_AFTER) {
        panel_say(p, "Notes and ticks are kept as they are made; there is nothing more to save.");
        return;
    }
    while (p->flow.phase != VISIT_FLOW_SAVED && visit_flow_next(&p->flow, why))
        continue;
    if (p->at_visit < p->kase.n_visits) {
        p->kase.visit[p->at_visit].pain_after = p->flow.pain_after;
        p->kase.visit[p->at_visit].effort = p->flow.effort;
    }
    panel_visit_sync(p);
    close_visit(p);
    panel_want(p, PANEL_WANTS_RUNNERS);
    panel_want(p, PANEL_WANTS_CASE);
    panel_say(p, "The visit is saved.");
}

static void
stop(struct panel *p, bool is_sure)
{
    if (!p->has_visit) {
        to_page(p, PANEL_RUNNERS);
        return;
    }
    if (!is_sure) {
        p->context = PANEL_ASK_STOP;
        return;
    }
    const bool has_run = p->flow.has_run;
    visit_flow_stop(&p->flow);
    panel_visit_sync(p);
    if (!has_run) {
        close_visit(p);
        panel_say(p, "The visit was given up before the run; nothing of it is kept.");
    }
}

static void
run_do(struct panel *p, enum panel_action action, int number)
{
    const double speed_m_s = p->verdict.belt_speed_m_s;
    switch ((int) action) {
    case PANEL_DO_PAUSE:
        if (p->verdict.is_paused || p->flow.is_stop_asked)
            visit_flow_resume(&p->flow);
        else
            visit_flow_pause(&p->flow);
        break;
    case PANEL_DO_SKIP:
        if (number)
            visit_flow_skip(&p->flow);
        else
            p->context = PANEL_ASK_SKIP;
        break;
    case PANEL_DO_EXTEND:
        visit_flow_extend(&p->flow, 60);
        panel_say(p, "One minute more.");
        break;
    case PANEL_DO_FEEDBACK:
        p->feedback = (enum command_feedback)((p->feedback + 1) % 3);
        visit_flow_feedback(&p->flow, p->feedback);
        break;
    case PANEL_DO_FASTER:
    case PANEL_DO_SLOWER: {
        if (p->verdict.is_speed_measured) {
            panel_say(p, "The belt's speed is measured by the mat.");
            break;
        }
        const double from = isnan(speed_m_s) ? p->kase.usual_speed_m_s : speed_m_s;
        const double to =
            0.1 * round(10 * (isnan(from) ? 2.5 : from)) + (action == PANEL_DO_FASTER ? 0.1 : -0.1);
        if (!visit_flow_belt_speed(&p->flow, to))
            panel_say(p, "The belt's speed lies between 0.1 and 12 m/s.");
        break;
    }
    case PANEL_DO_PEEK:
        if (!p->is_over_screen)
            panel_say(p, "The runner does not see this: nothing is withheld here.");
        p->is_peeking = p->is_over_screen && !p->is_peeking;
        break;
    case PANEL_DO_PAIN:
        ask_number(p, false);
        break;
    case PANEL_DO_MARK: {
        struct panel_request *r = panel_want(p, PANEL_WANTS_NOTE);
        str_copy(r->text, sizeof r->text, "mark");
        r->number = 1;
        p->n_marks++;
        panel_say(p, "Marked.");
        break;
    }
    case PANEL_DO_ACCEPT:
        visit_flow_accept_baseline(&p->flow);
        break;
    default:
        break;
    }
    panel_visit_sync(p);
}

static bool
is_target_action(struct panel *p, enum panel_action action)
{
    const int n = p->edit.now.n;
    if (n == 0 && (action == PANEL_DO_LEFT || action == PANEL_DO_RIGHT || action == PANEL_DO_NUDGE_UP ||
                   action == PANEL_DO_NUDGE_DOWN || action == PANEL_DO_EDGE || action == PANEL_DO_FOCUS)) {
        panel_say(p, "There is no target yet: it comes from the baseline.");
        return true;
    }
    switch ((int) action) {
    case PANEL_DO_LEFT:
    case PANEL_DO_RIGHT:
        p->at_target = (p->at_target + (action == PANEL_DO_RIGHT ? 1 : n - 1)) % n;
        return true;
    case PANEL_DO_NUDGE_UP:
    case PANEL_DO_NUDGE_DOWN:
        panel_targets_nudge(p, action == PANEL_DO_NUDGE_UP ? 1 : -1);
        return true;
    case PANEL_DO_EDGE:
        p->edge = (enum panel_edge)((p->edge + 1) % PANEL_EDGE_NONE);
        return true;
    case PANEL_DO_PROPOSE:
        panel_targets_propose(p);
        return true;
    case PANEL_DO_FOCUS:
        target_edit_focus(&p->edit, p->edit.now.target[p->at_target].metric);
        panel_targets_told(p);
        return true;
    case PANEL_DO_UNDO:
    case PANEL_DO_REDO: {
        const bool is_done =
            action == PANEL_DO_UNDO ? target_edit_undo(&p->edit) : target_edit_redo(&p->edit);
        if (is_done)
            panel_targets_told(p);
        else
            panel_say(p, action == PANEL_DO_UNDO ? "Nothing to undo." : "Nothing to do again.");
        return true;
    }
    default:
        return false;
    }
}

void
panel_visit_do(struct panel *p, enum panel_action action, int number)
{
    if ((p->page == PANEL_VISIT || p->page == PANEL_LIVE) && is_target_action(p, action))
        return;
    if (action == PANEL_DO_TICK) {
        tick(p, number);
        return;
    }
    if (action == PANEL_DO_STOP) {
        stop(p, number == 1);
        return;
    }
    if (p->page == PANEL_LIVE) {
        run_do(p, action, number);
        return;
    }
    if (action == PANEL_DO_GO_ON && p->has_visit && p->flow.phase == VISIT_FLOW_RUN)
        to_page(p, PANEL_LIVE);
    else if (action == PANEL_DO_GO_ON && p->has_visit && p->flow.phase > VISIT_FLOW_RUN)
        to_page(p, PANEL_SUMMARY);
    else if (action == PANEL_DO_GO_ON)
        panel_visit_go_on(p);
    else if (action == PANEL_DO_CHECK || action == PANEL_DO_LOAD || action == PANEL_DO_CALIBRATE)
        panel_sensor_do(p, action);
    else if (action == PANEL_DO_COPY && p->has_visit) /* a new list of plans would move the chosen one */
        panel_say(p, "The plan of a visit that is under way stays.");
    else if (action == PANEL_DO_COPY && p->at_plan < 0)
        panel_say(p, "Choose a plan first.");
    else if (action == PANEL_DO_COPY) {
        p->typed[0] = '\0';
        p->context = PANEL_IN_PLAN_NAME;
    } else if (action == PANEL_DO_PLAN)
        next_plan(p, p->at_plan + 1);
    else if (action == PANEL_DO_PLAN_AT)
        next_plan(p, number);
    else if (action == PANEL_DO_SAVE)
        save(p);
    else if ((action == PANEL_DO_PAIN || action == PANEL_DO_EFFORT) && p->has_visit &&
             p->flow.phase == VISIT_FLOW_AFTER)
        ask_number(p, action == PANEL_DO_EFFORT);
    else if (action == PANEL_DO_PAIN || action == PANEL_DO_EFFORT)
        panel_say(p, "Pain and effort belong to the visit that was just run.");
}
