/* panel_ask.c - what is asked over a page, answered: the form, what is forgotten, notes, a copy's name, yes and no. */
#include "panel/panel.h"

#include "base/str.h"

#include <string.h>

static void
save_form(struct panel *p)
{
    struct panel_runner r;
    if (!panel_form_take(&p->form, &r)) {
        panel_say(p, "One field is not right yet.");
        return;
    }
    panel_want(p, PANEL_WANTS_SAVE_RUNNER)->runner = r;
    panel_want(p, PANEL_WANTS_RUNNERS);
    if (p->has_case && p->kase.runner.id == r.id)
        p->has_case = false;
    panel_to_page(p, p->page);
    /* Chosen when the list comes back. */
    if (p->runners.n < PANEL_MAX_RUNNERS && r.id == 0) {
        p->runners.runner[p->runners.n++] = r;
        p->at_runner = p->runners.n - 1;
    } else if (panel_chosen(p) && panel_chosen(p)->id == r.id)
        p->runners.runner[p->at_runner] = r;
}

static void
forget(struct panel *p)
{
    if (!panel_chosen(p) || strcmp(p->typed, panel_chosen(p)->code) != 0) {
        panel_say(p, "That is not the code: nothing is forgotten.");
        return;
    }
    panel_want(p, PANEL_WANTS_FORGET)->runner = *panel_chosen(p);
    panel_want(p, PANEL_WANTS_RUNNERS);
    if (p->has_case && p->kase.runner.id == panel_chosen(p)->id)
        p->has_case = false;
    panel_to_page(p, p->page);
}

static void
keep_note(struct panel *p)
{
    panel_to_page(p, p->page);
    if (!p->typed[0])
        return;
    struct panel_request *r = panel_want(p, PANEL_WANTS_NOTE);
    const bool is_live = p->page == PANEL_LIVE;
    str_copy(r->text, sizeof r->text, p->typed);
    r->number = is_live;
    if (is_live)
        return;
    if (p->has_case && p->at_visit < p->kase.n_visits) {
        struct panel_visit *v = &p->kase.visit[p->at_visit];
        r->visit_id = v->id;
        if (v->notes[0])
            str_append(v->notes, sizeof v->notes, "\n");
        str_append(v->notes, sizeof v->notes, p->typed);
    }
}

static void
copy_plan(struct panel *p)
{
    panel_to_page(p, p->page);
    if (!p->typed[0] || p->at_plan < 0)
        return;
    struct panel_request *r = panel_want(p, PANEL_WANTS_COPY);
    r->runner = p->kase.runner;
    r->plan = p->at_plan;
    str_copy(r->text, sizeof r->text, p->typed);
}

static void
answer_yes(struct panel *p)
{
    const enum panel_context was = p->context;
    switch (was) {
    case PANEL_IN_FORM:
        save_form(p);
        return;
    case PANEL_ASK_FORGET:
        p->context = PANEL_ASK_FORGET_AGAIN;
        p->typed[0] = '\0';
        return;
    case PANEL_ASK_FORGET_AGAIN:
        forget(p);
        return;
    case PANEL_IN_NOTE:
        keep_note(p);
        return;
    case PANEL_IN_PLAN_NAME:
        copy_plan(p);
        return;
    case PANEL_IN_MASS:
        panel_sensor_weigh(p);
        return;
    case PANEL_ASK_UNDO_CALIBRATION:
        p->context = PANEL_IN_CALIBRATION;
        panel_want(p, PANEL_WANTS_UNDO_CALIBRATION);
        return;
    case PANEL_ASK_WARNED:
        panel_to_page(p, p->page);
        p->are_warnings_read = true;
        panel_visit_go_on(p);
        return;
    case PANEL_IN_SPEED:
        panel_speed_typed(p);
        return;
    case PANEL_ASK_NUMBER:
        panel_visit_number(p, false);
        return;
    case PANEL_ASK_LEAVE:
        panel_to_page(p, p->page);
        panel_want(p, PANEL_WANTS_LEAVE);
        return;
    case PANEL_ASK_SKIP:
    case PANEL_ASK_STOP:
        panel_to_page(p, p->page);
        panel_visit_do(p, was == PANEL_ASK_SKIP ? PANEL_DO_SKIP : PANEL_DO_STOP, 1);
        return;
    case PANEL_ON_RUNNERS:
    case PANEL_ON_VISIT:
    case PANEL_ON_LIVE:
    case PANEL_ON_SUMMARY:
    case PANEL_ON_COURSE:
    case PANEL_IN_CALIBRATION:
    case PANEL_N_CONTEXTS:
        return;
    }
}

void
panel_ask_do(struct panel *p, enum panel_action action, int number)
{
    if (action == PANEL_DO_YES)
        answer_yes(p);
    else if (p->context == PANEL_IN_CALIBRATION)
        panel_sensor_do(p, action);
    else if (action == PANEL_DO_NO && (p->context == PANEL_IN_MASS || p->context == PANEL_ASK_UNDO_CALIBRATION))
        p->context = PANEL_IN_CALIBRATION;
    else if (action == PANEL_DO_NO)
        panel_to_page(p, p->page);
    else if (action == PANEL_DO_NEXT_FIELD || action == PANEL_DO_LAST_FIELD)
        panel_form_go(&p->form, action == PANEL_DO_NEXT_FIELD ? 1 : -1);
    else if (action == PANEL_DO_FIELD && number >= 0 && number < PANEL_FORM_N_FIELDS)
        p->form.at = (enum panel_form_field) number;
    else if (action == PANEL_DO_ERASE && p->context == PANEL_IN_FORM)
        panel_form_erase(&p->form, &p->runners);
    else if (action == PANEL_DO_ERASE)
        panel_form_cut(p->typed);
    else if (action == PANEL_DO_NUMBER)
        p->number = p->number == 1 && number == 0 ? 10 : number;
    else if (action == PANEL_DO_LEFT)
        p->number = p->number > 0 ? p->number - 1 : 0;
    else if (action == PANEL_DO_RIGHT)
        p->number = p->number < 10 ? p->number + 1 : 10;
    else if (action == PANEL_DO_PASS)
        panel_visit_number(p, true);
}

void
panel_ask_type(struct panel *p, const char *utf8)
{
    if (p->context == PANEL_IN_FORM)
        panel_form_type(&p->form, utf8, &p->runners);
    else if (p->context == PANEL_IN_NOTE)
        panel_form_append(p->typed, sizeof p->typed, utf8);
    else if (p->context == PANEL_ASK_FORGET_AGAIN || p->context == PANEL_IN_PLAN_NAME ||
             p->context == PANEL_IN_MASS || p->context == PANEL_IN_SPEED)
        panel_form_append(p->typed, PANEL_CODE_MAX, utf8);
}
