#include "panel/panel.h"

#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct panel_request *
panel_want(struct panel *p, enum panel_request_kind kind)
{
    if (p->n_requests == PANEL_N_REQUESTS) { /* nobody takes them: the newest matter */
        memmove(p->request, p->request + 1, (PANEL_N_REQUESTS - 1) * sizeof *p->request);
        p->n_requests--;
    }
    struct panel_request *r = &p->request[p->n_requests++];
    memset(r, 0, sizeof *r);
    r->kind = kind;
    r->plan = -1;
    if (p->has_case)
        r->runner = p->kase.runner;
    return r;
}

bool
panel_take_request(struct panel *p, struct panel_request *out)
{
    if (p->n_requests == 0)
        return false;
    *out = p->request[0];
    memmove(p->request, p->request + 1, (size_t) --p->n_requests * sizeof *p->request);
    return true;
}

void
panel_init(struct panel *p)
{
    memset(p, 0, sizeof *p);
    p->at_plan = p->dragged = p->number = -1;
    p->speed_m_s = (double) NAN;
    panel_want(p, PANEL_WANTS_RUNNERS);
    p->n_changes = 1;
}

void
panel_say(struct panel *p, const char *message)
{
    str_copy(p->message, sizeof p->message, message ? message : "");
    p->n_changes++;
}

bool
panel_is_typing(const struct panel *p)
{
    return p->context == PANEL_IN_FORM || p->context == PANEL_IN_NOTE || p->context == PANEL_ASK_FORGET_AGAIN ||
           p->context == PANEL_IN_PLAN_NAME || p->context == PANEL_IN_MASS || p->context == PANEL_IN_SPEED;
}

void
panel_set_now(struct panel *p, struct host_time now)
{
    const int64_t was_s = p->now.us / UNITS_US_PER_S;
    p->now = now;
    /* What is shown of a lost sensor ages by itself. */
    if (p->has_visit && p->flow.phase == VISIT_FLOW_RUN && now.us / UNITS_US_PER_S != was_s && panel_is_stale(p))
        p->n_changes++;
}

static const char *
state_word(const struct panel *p)
{
    static const char *const questions[PANEL_N_CONTEXTS] = {
        [PANEL_IN_FORM] = "form",
        [PANEL_ASK_FORGET] = "forget",
        [PANEL_ASK_FORGET_AGAIN] = "forget for good",
        [PANEL_ASK_NUMBER] = "number",
        [PANEL_ASK_SKIP] = "skip",
        [PANEL_ASK_STOP] = "stop",
        [PANEL_ASK_LEAVE] = "leave",
        [PANEL_IN_NOTE] = "note",
        [PANEL_IN_PLAN_NAME] = "plan's name",
        [PANEL_IN_CALIBRATION] = "calibration",
        [PANEL_IN_MASS] = "mass",
        [PANEL_ASK_UNDO_CALIBRATION] = "undo",
        [PANEL_ASK_WARNED] = "warned",
        [PANEL_IN_SPEED] = "speed",
    };
    static const char *const phases[] = { "sensor", "cautions", "pain", "run", "after", "notes", "saved" };
    if (questions[p->context])
        return questions[p->context];
    if (p->page == PANEL_RUNNERS ? !p->has_runners : !p->has_case || p->is_loading)
        return "reading";
    if (p->page == PANEL_VISIT && p->has_visit)
        return p->flow.phase != VISIT_FLOW_CHECK               ? phases[p->flow.phase]
               : p->sensor != PANEL_SENSOR_OPEN                ? "looking"
               : !(p->has_watch && p->watch.has_check)         ? "checking"
                                                               : phases[p->flow.phase];
    return "ready";
}

void
panel_title(const struct panel *p, char out[PANEL_TITLE_MAX])
{
    snprintf(out, PANEL_TITLE_MAX, "Underfoot: %s, %s", panel_page_name(p->page), state_word(p));
}

static bool
is_page(enum panel_context context)
{
    return (int) context < (int) PANEL_N_PAGES;
}

void
panel_to_page(struct panel *p, enum panel_page page)
{
    p->page = page;
    p->context = (enum panel_context) page;
}

const struct panel_runner *
panel_chosen(const struct panel *p)
{
    return p->at_runner >= 0 && p->at_runner < p->runners.n ? &p->runners.runner[p->at_runner] : NULL;
}

/* Another runner's figures are to be read; none while a visit is under way. */
static void
load_chosen(struct panel *p)
{
    const struct panel_runner *r = panel_chosen(p);
    if (p->has_visit || !r)
        return;
    p->has_case = false;
    p->is_loading = true;
    panel_want(p, PANEL_WANTS_CASE)->runner = *r;
}

void
panel_set_runners(struct panel *p, const struct panel_runners *r)
{
    char code[PANEL_CODE_MAX] = "";
    if (p->has_case)
        str_copy(code, sizeof code, p->kase.runner.code);
    else if (panel_chosen(p))
        str_copy(code, sizeof code, panel_chosen(p)->code);
    p->runners = *r;
    p->has_runners = true;
    if (p->at_runner >= r->n)
        p->at_runner = r->n > 0 ? r->n - 1 : 0;
    for (int i = 0; i < r->n; i++)
        if (strcmp(r->runner[i].code, code) == 0)
            p->at_runner = i;
    p->n_changes++;
}

void
panel_set_case(struct panel *p, const struct panel_case *c)
{
    const bool is_same = p->has_visit; /* the visit under way goes on; only its figures are new */
    p->kase = *c;
    p->has_case = true;
    p->is_loading = false;
    p->at_visit = c->n_visits > 0 ? c->n_visits - 1 : 0;
    p->n_changes++;
    if (is_same)
        return;
    p->at_plan = c->plan_now;
    p->speed_m_s = c->usual_speed_m_s;
    p->is_speed_entered = false;
    memset(p->ticks, 0, sizeof p->ticks);
    panel_targets_begin(p, &c->targets, c->spread);
}

void
panel_set_sensor(struct panel *p, enum panel_sensor sensor, const char *text)
{
    p->sensor = sensor;
    str_copy(p->sensor_text, sizeof p->sensor_text, text ? text : "");
    p->n_changes++;
}

void
panel_set_watch(struct panel *p, const struct panel_watch *w)
{
    p->watch = *w;
    p->has_watch = true;
    p->n_changes++;
}

void
panel_set_verdict(struct panel *p, const struct verdict *v)
{
    p->verdict = *v;
    p->n_changes++;
    if (!p->has_visit)
        return;
    if (v->is_feedback_shown)
        p->is_peeking = false; /* asked for anew each time */
    visit_flow_feed(&p->flow, v);
    panel_targets_follow(p, v);
    panel_visit_sync(p);
}

static void
go_to(struct panel *p, enum panel_page page)
{
    if (page == PANEL_LIVE && !(p->has_visit && p->flow.phase == VISIT_FLOW_RUN)) {
        panel_say(p, "Nothing runs yet: the visit page leads to the run.");
        return;
    }
    if (page != PANEL_RUNNERS && !p->has_case && !p->is_loading && !panel_chosen(p)) {
        panel_say(p, "Choose a runner first.");
        return;
    }
    if (page != PANEL_RUNNERS && !p->has_visit && panel_chosen(p) &&
        !(p->has_case && strcmp(p->kase.runner.code, panel_chosen(p)->code) == 0))
        load_chosen(p);
    if (page == PANEL_SUMMARY && p->page != PANEL_COURSE && p->has_case && p->kase.n_visits > 0)
        p->at_visit = p->kase.n_visits - 1;
    panel_to_page(p, page);
}

/* ---------------------------------------------------------------- the runners page */

static void
choose(struct panel *p, int row)
{
    if (p->runners.n == 0)
        return;
    p->at_runner = row < 0 ? 0 : row >= p->runners.n ? p->runners.n - 1 : row;
}

static void
start_form(struct panel *p, const struct panel_runner *r)
{
    panel_form_init(&p->form, r, &p->runners);
    p->context = PANEL_IN_FORM;
}

static void
on_runners(struct panel *p, enum panel_action action, int number)
{
    const bool is_busy = p->has_visit && p->flow.phase != VISIT_FLOW_SAVED;
    if (action == PANEL_DO_UP || action == PANEL_DO_DOWN)
        choose(p, p->at_runner + (action == PANEL_DO_DOWN ? 1 : -1));
    else if (action == PANEL_DO_CHOOSE && number == p->at_runner)
        go_to(p, PANEL_VISIT);
    else if (action == PANEL_DO_CHOOSE)
        choose(p, number);
    else if (action == PANEL_DO_OPEN)
        go_to(p, PANEL_VISIT);
    else if (is_busy)
        panel_say(p, "A visit is under way: end it first.");
    else if (action == PANEL_DO_ADD && p->runners.n >= PANEL_MAX_RUNNERS)
        panel_say(p, "The list is full: forget a runner, or use underfoot runner.");
    else if (action == PANEL_DO_ADD)
        start_form(p, NULL);
    else if (!panel_chosen(p))
        panel_say(p, "There is no runner yet: A adds one.");
    else if (action == PANEL_DO_EDIT)
        start_form(p, panel_chosen(p));
    else if (action == PANEL_DO_FORGET)
        p->context = PANEL_ASK_FORGET;
}

/* ---------------------------------------------------------------- any input */

static void
other_visit(struct panel *p, int by)
{
    const int to = p->at_visit + by;
    if (p->has_case && to >= 0 && to < p->kase.n_visits)
        p->at_visit = to;
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
    p->message[0] = '\0';
    if (action != PANEL_DO_NUDGE_UP && action != PANEL_DO_NUDGE_DOWN)
        target_edit_rest(&p->edit);
    if (!is_page(p->context))
        panel_ask_do(p, action, number);
    else if (action == PANEL_DO_PAGE && number >= 0 && number < PANEL_N_PAGES)
        go_to(p, (enum panel_page) number);
    else if (action == PANEL_DO_HIDE)
        panel_want(p, PANEL_WANTS_HIDE);
    else if (action == PANEL_DO_MUTE)
        panel_want(p, PANEL_WANTS_MUTE);
    else if (action == PANEL_DO_LEAVE)
        ask_leave(p);
    else if (action == PANEL_DO_NOTE) {
        p->typed[0] = '\0';
        p->context = PANEL_IN_NOTE;
    } else if ((action == PANEL_DO_LEFT || action == PANEL_DO_RIGHT) &&
               (p->page == PANEL_SUMMARY || p->page == PANEL_COURSE))
        other_visit(p, action == PANEL_DO_RIGHT ? 1 : -1);
    else if (action == PANEL_DO_CHOOSE && (p->page == PANEL_SUMMARY || p->page == PANEL_COURSE))
        other_visit(p, number - p->at_visit);
    else if (action == PANEL_DO_PRINT && p->has_case)
        panel_want(p, PANEL_WANTS_PRINT)->visit_id =
            p->page == PANEL_SUMMARY && p->at_visit < p->kase.n_visits ? p->kase.visit[p->at_visit].id : 0;
    else if (p->page == PANEL_RUNNERS)
        on_runners(p, action, number);
    else if (p->has_case)
        panel_visit_do(p, action, number);
}

static void
touch(struct panel *p, int x_px, int y_px)
{
    /* The one drawn last lies on top. */
    for (int i = p->n_spots - 1; i >= 0; i--) {
        const struct panel_spot s = p->spot[i];
        if (x_px < s.x_px || x_px >= s.x_px + s.w_px || y_px < s.y_px || y_px >= s.y_px + s.h_px)
            continue;
        if (s.action == PANEL_DO_NOTHING)
            panel_targets_grab(p, s.target, s.edge, y_px);
        else
            panel_do(p, s.action, s.number);
        /* A number that is touched is taken at once. */
        if (s.action == PANEL_DO_NUMBER && p->context == PANEL_ASK_NUMBER) {
            p->number = s.number;
            panel_do(p, PANEL_DO_YES, 0);
        }
        return;
    }
}

void
panel_feed(struct panel *p, const struct panel_input *input)
{
    const struct panel_key_row *row = NULL;
    switch (input->kind) {
    case PANEL_INPUT_KEY: {
        const bool was_typing = panel_is_typing(p);
        row = panel_keys_find(p->context, input->key);
        if (row)
            panel_do(p, row->action, row->number);
        /* The sign of the key that opened a field follows as text, and is not meant for it. */
        p->is_sign_due = !was_typing && panel_is_typing(p) && input->key > ' ' && input->key < 0x7F;
        return;
    }
    case PANEL_INPUT_TEXT:
        if (!panel_is_typing(p) || p->is_sign_due) {
            p->is_sign_due = false;
            return;
        }
        p->n_changes++;
        p->message[0] = '\0';
        panel_ask_type(p, input->text);
        return;
    case PANEL_INPUT_DOWN:
        touch(p, input->x_px, input->y_px);
        return;
    case PANEL_INPUT_MOVE:
        if (p->dragged >= 0)
            panel_targets_drag(p, input->y_px);
        return;
    case PANEL_INPUT_UP:
        if (p->dragged >= 0)
            panel_targets_drop(p);
        return;
    }
}
