#include "panel/panel_parts.h"

#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define WHEEL_ROWS 3 /* a step; common practice, no source */

void
panel_init(struct panel *p)
{
    memset(p, 0, sizeof *p);
    p->open.at_plan = p->aim.dragged = p->ask.number = -1;
    p->open.speed_m_s = (double) NAN;
    panel_window_ask(p, "");
    p->n_changes = 1;
}

void
panel_set_now(struct panel *p, struct host_time now)
{
    const int64_t was_s = p->now.us / UNITS_US_PER_S;
    p->now = now;
    /* What is shown of a lost sensor ages by itself. */
    if (p->visit.is_on && p->visit.flow.phase == VISIT_FLOW_RUN && now.us / UNITS_US_PER_S != was_s && panel_is_stale(p))
        p->n_changes++;
}

static bool
is_page(enum panel_context context)
{
    return (int) context < (int) PANEL_N_PAGES;
}

void
panel_set_case(struct panel *p, const struct panel_case *c)
{
    const bool is_turned = c->is_turned && p->open.has_case && strcmp(p->open.kase.runner.code, c->runner.code) == 0;
    const bool is_same = p->visit.is_on || is_turned; /* what is under way or being chosen goes on; only figures are new */
    const bool is_to_newer = is_turned && c->n_newer_visits < p->open.kase.n_newer_visits;
    if (is_turned && c->n_newer_visits > 0 && p->open.kase.n_newer_visits == 0) {
        p->open.n_newest = p->open.kase.n_visits;
        memcpy(p->open.newest, p->open.kase.visit, sizeof p->open.newest);
    }
    p->open.kase = *c;
    p->open.has_case = true;
    p->open.is_loading = false;
    p->open.at_visit = c->n_visits > 0 && (!is_to_newer || p->open.is_newest_due) ? c->n_visits - 1 : 0;
    p->open.is_newest_due = false;
    p->n_changes++;
    panel_visit_show_said(p);
    if (is_same)
        return;
    p->open.at_plan = c->plan_now;
    p->open.speed_m_s = c->usual_speed_m_s;
    p->open.is_speed_entered = false;
    memset(p->open.ticks, 0, sizeof p->open.ticks);
    panel_targets_begin(p, &c->targets, c->spread);
}

void
panel_set_verdict(struct panel *p, const struct verdict *v)
{
    p->visit.verdict = *v;
    p->n_changes++;
    if (!p->visit.is_on)
        return;
    if (v->is_feedback_shown)
        p->visit.is_peeking = false; /* asked for anew each time */
    visit_flow_feed(&p->visit.flow, v);
    panel_targets_follow(p, v);
    panel_visit_sync(p);
}

/* ---------------------------------------------------------------- any input */

/* Beyond the window's edge it goes on to the next one. */
static void
other_visit(struct panel *p, int by)
{
    const int to = p->open.at_visit + by;
    if (p->open.has_case && to >= 0 && to < p->open.kase.n_visits)
        p->open.at_visit = to;
    else
        panel_turn(p, by < 0);
}

static void
ask_leave(struct panel *p)
{
    if (p->is_over_screen)
        panel_want(p, PANEL_WANTS_HIDE);
    else
        p->context = PANEL_ASK_LEAVE;
}

void
panel_do(struct panel *p, enum panel_action action, int number)
{
    p->n_changes++;
    message_init(&p->out.message, MESSAGE_NONE);
    if (action != PANEL_DO_NUDGE_UP && action != PANEL_DO_NUDGE_DOWN)
        target_edit_rest(&p->aim.edit);
    if (p->context == PANEL_IN_SEARCH && !panel_list_is_of_search(action))
        panel_to_page(p, p->page);
    if (!is_page(p->context))
        panel_ask_do(p, action, number);
    else if (action == PANEL_DO_PAGE && number >= 0 && number < PANEL_N_PAGES)
        panel_go_to(p, (enum panel_page) number);
    else if (action == PANEL_DO_HIDE)
        panel_want(p, PANEL_WANTS_HIDE);
    else if (action == PANEL_DO_MUTE)
        panel_want(p, PANEL_WANTS_MUTE);
    else if (action == PANEL_DO_LEAVE)
        ask_leave(p);
    else if (action == PANEL_DO_NOTE) {
        p->ask.typed[0] = '\0';
        p->context = PANEL_IN_NOTE;
    } else if ((action == PANEL_DO_LEFT || action == PANEL_DO_RIGHT) &&
               (p->page == PANEL_SUMMARY || p->page == PANEL_COURSE))
        other_visit(p, action == PANEL_DO_RIGHT ? 1 : -1);
    else if (action == PANEL_DO_CHOOSE && (p->page == PANEL_SUMMARY || p->page == PANEL_COURSE))
        other_visit(p, number - p->open.at_visit);
    else if (action == PANEL_DO_OLDER || action == PANEL_DO_NEWER)
        panel_turn(p, action == PANEL_DO_OLDER);
    else if (action == PANEL_DO_PRINT && p->open.has_case)
        panel_want(p, PANEL_WANTS_PRINT)->visit_id =
            p->page == PANEL_SUMMARY && p->open.at_visit < p->open.kase.n_visits ? p->open.kase.visit[p->open.at_visit].id : 0;
    else if (p->page == PANEL_RUNNERS)
        panel_list_do(p, action, number);
    else if (p->open.has_case)
        panel_visit_do(p, action, number);
    panel_list_form_again(p);
}

/* Over the list, and nowhere else: what it would move there is not a target. */
static void
turn_wheel(struct panel *p, int n_steps)
{
    if (p->context != PANEL_ON_RUNNERS && p->context != PANEL_IN_SEARCH)
        return;
    p->n_changes++;
    panel_window_move(p, p->list.at - WHEEL_ROWS * n_steps);
}

static void
touch(struct panel *p, int x_px, int y_px)
{
    /* The one drawn last lies on top. */
    for (int i = p->spots.n - 1; i >= 0; i--) {
        const struct panel_spot s = p->spots.spot[i];
        if (x_px < s.x_px || x_px >= s.x_px + s.w_px || y_px < s.y_px || y_px >= s.y_px + s.h_px)
            continue;
        if (s.action == PANEL_DO_NOTHING)
            panel_targets_grab(p, s.target, s.edge, y_px);
        else
            panel_do(p, s.action, s.number);
        /* A number that is touched is taken at once. */
        if (s.action == PANEL_DO_NUMBER && p->context == PANEL_ASK_NUMBER) {
            p->ask.number = s.number;
            panel_do(p, PANEL_DO_YES, 0);
        }
        return;
    }
}

void
panel_feed(struct panel *p, const struct panel_input *input)
{
    const struct panel_key_row *row = NULL;
    if (panel_is_full(p) && input->kind != PANEL_INPUT_UP) { /* letting go of what is dragged asks for one thing */
        panel_say(p, N_("Too much at once: wait a moment, then try that again."));
        return;
    }
    switch (input->kind) {
    case PANEL_INPUT_KEY: {
        const bool was_typing = panel_is_typing(p);
        row = panel_keys_find(p->context, input->key);
        if (row)
            panel_do(p, row->action, row->number);
        /* The sign of the key that opened a field follows as text, and is not meant for it. */
        p->ask.is_sign_due = !was_typing && panel_is_typing(p) && input->key > ' ' && input->key < 0x7F;
        return;
    }
    case PANEL_INPUT_TEXT:
        if (!panel_is_typing(p) || p->ask.is_sign_due) {
            p->ask.is_sign_due = false;
            return;
        }
        p->n_changes++;
        message_init(&p->out.message, MESSAGE_NONE);
        panel_ask_type(p, input->text);
        return;
    case PANEL_INPUT_DOWN:
        touch(p, input->x_px, input->y_px);
        return;
    case PANEL_INPUT_MOVE:
        if (p->aim.dragged >= 0)
            panel_targets_drag(p, input->y_px);
        return;
    case PANEL_INPUT_WHEEL:
        turn_wheel(p, input->n_steps);
        return;
    case PANEL_INPUT_UP:
        if (p->aim.dragged >= 0)
            panel_targets_drop(p);
        return;
    }
}
