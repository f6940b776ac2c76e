/* panel_visit.c - a visit's way on the panel: sensor, cautions, pain, the run, pain and effort after, notes,
 * saved. */
#include "panel/panel_parts.h"

#include "base/mark.h"
#include "base/str.h"
#include "base/utf8.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void
ticks_text(const struct panel *p, char *out, size_t cap)
{
    tally_ticks_to_text(p->open.ticks, out, cap);
}

void
panel_visit_go_on(struct panel *p)
{
    struct message why;
    if (!p->visit.is_on) {
        panel_visit_begin(p);
        return;
    }
    if (p->visit.flow.phase == VISIT_FLOW_CHECK && p->visit.sensor == PANEL_SENSOR_REFUSED) { /* once more */
        panel_visit_begin(p);
        return;
    }
    if (p->visit.flow.phase == VISIT_FLOW_CHECK && p->visit.sensor == PANEL_SENSOR_OPENING) {
        panel_say(p, N_("Looking for the sensor still."));
        return;
    }
    const enum visit_flow_phase was = p->visit.flow.phase;
    if (was == VISIT_FLOW_PAIN_BEFORE && !p->visit.flow.is_answered) { /* the question was left */
        panel_visit_ask(p, false);
        return;
    }
    if (was == VISIT_FLOW_PAIN_BEFORE && !p->visit.are_warnings_read && target_edit_is_warned(&p->aim.edit)) {
        p->context = PANEL_ASK_WARNED;
        return;
    }
    if (!visit_flow_next(&p->visit.flow, &why)) {
        panel_tell(p, &why);
        return;
    }
    if (p->visit.flow.phase == VISIT_FLOW_PAIN_BEFORE)
        panel_visit_ask(p, false);
    if (was == VISIT_FLOW_PAIN_BEFORE && p->visit.flow.phase == VISIT_FLOW_RUN) {
        struct panel_request *r = panel_want(p, PANEL_WANTS_RUN);
        ticks_text(p, r->text, sizeof r->text);
        r->plan = p->open.at_plan;
        r->command = target_edit_command(&p->aim.edit);
        r->value = p->open.is_speed_entered && !panel_speed_is_measured(p) ? p->open.speed_m_s : (double) NAN;
        panel_speed_begin_run(p);
        panel_to_page(p, PANEL_LIVE);
    }
    panel_visit_sync(p);
}

void
panel_visit_show_said(struct panel *p)
{
    const struct panel_case *k = &p->open.kase;
    if (!p->visit.is_on || p->visit.flow.phase < VISIT_FLOW_AFTER || !p->visit.flow.has_run || !p->open.has_case ||
        p->open.is_loading || k->n_visits == 0 || k->n_newer_visits > 0)
        return;
    struct panel_visit *v = &p->open.kase.visit[k->n_visits - 1]; /* the newest: that was just run */
    v->pain_after = isnan(p->visit.kept_pain_after) ? v->pain_after : p->visit.kept_pain_after;
    v->effort = isnan(p->visit.kept_effort) ? v->effort : p->visit.kept_effort;
}

void
panel_set_kept(struct panel *p, const struct panel_kept *k)
{
    if (p->visit.is_on && !isnan(k->pain_after))
        p->visit.kept_pain_after = k->pain_after;
    if (p->visit.is_on && !isnan(k->effort))
        p->visit.kept_effort = k->effort;
    panel_visit_show_said(p);
    for (int i = 0; k->visit_id != 0 && p->open.has_case && i < p->open.kase.n_visits; i++) {
        struct panel_visit *v = &p->open.kase.visit[i];
        char joined[2 * PANEL_NOTE_MAX];
        if (v->id != k->visit_id)
            continue;
        snprintf(joined, sizeof joined, "%s%s%s", v->notes, v->notes[0] ? "\n" : "", k->note);
        utf8_show(v->notes, sizeof v->notes, joined);
    }
    p->n_changes++;
}

void
panel_visit_number(struct panel *p, bool is_passed)
{
    if (!is_passed && p->ask.number < 0) {
        panel_say(p, N_("Say a number from 0 to 10, or pass it over."));
        return;
    }
    const double value = is_passed ? (double) NAN : p->ask.number;
    panel_to_page(p, p->page);
    if (!p->visit.is_on)
        return;
    if (p->ask.is_effort)
        visit_flow_effort(&p->visit.flow, value);
    else
        visit_flow_pain(&p->visit.flow, value);
    panel_visit_sync(p);
    if (p->visit.flow.phase == VISIT_FLOW_PAIN_BEFORE)
        panel_visit_go_on(p);
    else if (p->visit.flow.phase == VISIT_FLOW_AFTER && !p->ask.is_effort && isnan(p->visit.flow.effort))
        panel_visit_ask(p, true);
}

/* The one that is asked for, by a row; or the next one that is not wrong. */
static void
choose_plan(struct panel *p, int to, bool is_next)
{
    const struct panel_case *k = &p->open.kase;
    while (is_next && to < k->n_plans && !message_is_none(&k->plan[to].why))
        to++;
    if (p->visit.is_on)
        panel_say(p, N_("The plan of a visit that is under way stays."));
    else if (to < k->n_plans && !message_is_none(&k->plan[to].why))
        panel_tell(p, &k->plan[to].why);
    else
        p->open.at_plan = to >= k->n_plans ? -1 : to;
}

static void
tick(struct panel *p, int sign)
{
    if (sign < 0 || sign >= TALLY_COUNT || !tally_row((enum tally_sign) sign)->is_ticked)
        return;
    enum tally_state *t = &p->open.ticks[sign];
    if (p->page == PANEL_SUMMARY && p->open.at_visit < p->open.kase.n_visits)
        t = &p->open.kase.visit[p->open.at_visit].tally.sign[sign];
    *t = *t == TALLY_UNKNOWN ? TALLY_PRESENT : *t == TALLY_PRESENT ? TALLY_ABSENT : TALLY_UNKNOWN;
    const bool is_running = p->visit.is_on && p->visit.flow.has_run;
    if (p->page == PANEL_SUMMARY && p->open.at_visit < p->open.kase.n_visits) {
        struct panel_visit *v = &p->open.kase.visit[p->open.at_visit];
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
    struct message why;
    if (!p->visit.is_on || p->visit.flow.phase < VISIT_FLOW_AFTER) {
        panel_say(p, N_("Notes and ticks are kept as they are made; there is nothing more to save."));
        return;
    }
    while (p->visit.flow.phase != VISIT_FLOW_SAVED && visit_flow_next(&p->visit.flow, &why))
        continue;
    panel_visit_sync(p);
    panel_visit_close(p);
    panel_want(p, PANEL_WANTS_SAVED);
    panel_window_ask(p, p->open.kase.runner.code);
    panel_want(p, PANEL_WANTS_CASE);
    panel_say(p, N_("The visit is being saved."));
}

static void
stop(struct panel *p, bool is_sure)
{
    if (!p->visit.is_on) {
        panel_to_page(p, PANEL_RUNNERS);
        return;
    }
    if (!is_sure) {
        p->context = PANEL_ASK_STOP;
        return;
    }
    const bool has_run = p->visit.flow.has_run;
    visit_flow_stop(&p->visit.flow);
    panel_visit_sync(p);
    if (!has_run) {
        panel_visit_close(p);
        panel_say(p, N_("The visit was given up before the run; nothing of it is kept."));
    }
}

void
panel_visit_do(struct panel *p, enum panel_action action, int number)
{
    if ((p->page == PANEL_VISIT || p->page == PANEL_LIVE) && panel_run_is_of_targets(p, action))
        return;
    if (action == PANEL_DO_TICK) {
        tick(p, number);
        return;
    }
    if (action == PANEL_DO_STOP) {
        stop(p, number == 1);
        return;
    }
    if (action == PANEL_DO_FASTER || action == PANEL_DO_SLOWER || action == PANEL_DO_SPEED) {
        panel_speed_do(p, action);
        return;
    }
    if (p->page == PANEL_LIVE) {
        panel_run_do(p, action, number);
        return;
    }
    if (action == PANEL_DO_GO_ON && p->visit.is_on && p->visit.flow.phase == VISIT_FLOW_RUN)
        panel_to_page(p, PANEL_LIVE);
    else if (action == PANEL_DO_GO_ON && p->visit.is_on && p->visit.flow.phase > VISIT_FLOW_RUN)
        panel_to_page(p, PANEL_SUMMARY);
    else if (action == PANEL_DO_GO_ON)
        panel_visit_go_on(p);
    else if (action == PANEL_DO_CHECK || action == PANEL_DO_LOAD || action == PANEL_DO_CALIBRATE)
        panel_sensor_do(p, action);
    else if (action == PANEL_DO_COPY && p->visit.is_on) /* a new list of plans would move the chosen one */
        panel_say(p, N_("The plan of a visit that is under way stays."));
    else if (action == PANEL_DO_COPY && p->open.at_plan < 0)
        panel_say(p, N_("Choose a plan first."));
    else if (action == PANEL_DO_COPY) {
        p->ask.typed[0] = '\0';
        p->context = PANEL_IN_PLAN_NAME;
    } else if (action == PANEL_DO_PLAN)
        choose_plan(p, p->open.at_plan + 1, true);
    else if (action == PANEL_DO_PLAN_AT)
        choose_plan(p, number, false);
    else if (action == PANEL_DO_SAVE)
        save(p);
    else if ((action == PANEL_DO_PAIN || action == PANEL_DO_EFFORT) && p->visit.is_on &&
             p->visit.flow.phase == VISIT_FLOW_AFTER)
        panel_visit_ask(p, action == PANEL_DO_EFFORT);
    else if (action == PANEL_DO_PAIN || action == PANEL_DO_EFFORT)
        panel_say(p, N_("Pain and effort belong to the visit that was just run."));
}
