/* panel_ask.c - what is asked over a page, answered: the form, what is forgotten, notes, a copy's name, yes and no. */
#include "panel/panel_parts.h"

#include "base/mark.h"
#include "base/str.h"

#include <stdio.h>
#include <string.h>

static void
save_form(struct panel *p)
{
    struct panel_runner r;
    if (!panel_form_take(&p->ask.form, &r)) {
        panel_say(p, N_("One field is not right yet."));
        return;
    }
    panel_want(p, PANEL_WANTS_SAVE_RUNNER)->runner = r;
    if (strcmp(p->ask.form.was.code, r.code) != 0)
        p->list.search[0] = '\0'; /* it might hide the new code */
    panel_window_ask(p, r.code);
    if (p->open.has_case && p->open.kase.runner.id == r.id)
        p->open.has_case = false;
    panel_to_page(p, p->page);
}

static void
forget(struct panel *p)
{
    if (!panel_chosen(p) || strcmp(p->ask.typed, panel_chosen(p)->code) != 0) {
        panel_say(p, N_("That is not the code: nothing is forgotten."));
        return;
    }
    panel_want(p, PANEL_WANTS_FORGET)->runner = *panel_chosen(p);
    panel_window_ask(p, "");
    if (p->open.has_case && p->open.kase.runner.id == panel_chosen(p)->id)
        p->open.has_case = false;
    panel_to_page(p, p->page);
}

static void
keep_note(struct panel *p)
{
    panel_to_page(p, p->page);
    if (!p->ask.typed[0])
        return;
    struct panel_request *r = panel_want(p, PANEL_WANTS_NOTE);
    const bool is_live = p->page == PANEL_LIVE;
    str_copy(r->text, sizeof r->text, p->ask.typed);
    r->number = is_live;
    if (is_live)
        return;
    if (p->open.has_case && p->open.at_visit < p->open.kase.n_visits)
        r->visit_id = p->open.kase.visit[p->open.at_visit].id;
}

static void
copy_plan(struct panel *p)
{
    panel_to_page(p, p->page);
    if (!p->ask.typed[0] || p->open.at_plan < 0)
        return;
    struct panel_request *r = panel_want(p, PANEL_WANTS_COPY);
    r->runner = p->open.kase.runner;
    r->plan = p->open.at_plan;
    str_copy(r->text, sizeof r->text, p->ask.typed);
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
        p->ask.typed[0] = '\0';
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
        p->visit.are_warnings_read = true;
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
    case PANEL_IN_SEARCH:
    case PANEL_N_CONTEXTS:
        return;
    }
}

void
panel_ask_do(struct panel *p, enum panel_action action, int number)
{
    if (p->context == PANEL_IN_SEARCH)
        panel_list_search(p, action, number);
    else if (action == PANEL_DO_YES)
        answer_yes(p);
    else if (p->context == PANEL_IN_CALIBRATION)
        panel_sensor_do(p, action);
    else if (action == PANEL_DO_NO && (p->context == PANEL_IN_MASS || p->context == PANEL_ASK_UNDO_CALIBRATION))
        p->context = PANEL_IN_CALIBRATION;
    else if (action == PANEL_DO_NO)
        panel_to_page(p, p->page);
    else if (action == PANEL_DO_NEXT_FIELD || action == PANEL_DO_LAST_FIELD)
        panel_form_go(&p->ask.form, action == PANEL_DO_NEXT_FIELD ? 1 : -1);
    else if (action == PANEL_DO_FIELD && number >= 0 && number < PANEL_FORM_N_FIELDS)
        p->ask.form.at = (enum panel_form_field) number;
    else if (action == PANEL_DO_ERASE && p->context == PANEL_IN_FORM)
        panel_form_erase(&p->ask.form, &p->list.runners);
    else if (action == PANEL_DO_ERASE)
        panel_form_cut(p->ask.typed);
    else if (action == PANEL_DO_NUMBER)
        p->ask.number = p->ask.number == 1 && number == 0 ? 10 : number;
    else if (action == PANEL_DO_LEFT)
        p->ask.number = p->ask.number > 0 ? p->ask.number - 1 : 0;
    else if (action == PANEL_DO_RIGHT)
        p->ask.number = p->ask.number < 10 ? p->ask.number + 1 : 10;
    else if (action == PANEL_DO_PASS)
        panel_visit_number(p, true);
}

void
panel_ask_type(struct panel *p, const char *utf8)
{
    bool fits = true;
    if (p->context == PANEL_IN_FORM)
        fits = panel_form_type(&p->ask.form, utf8, &p->list.runners);
    else if (p->context == PANEL_IN_SEARCH)
        panel_list_type(p, utf8);
    else if (p->context == PANEL_IN_NOTE)
        fits = panel_form_append(p->ask.typed, sizeof p->ask.typed, utf8);
    else if (p->context == PANEL_ASK_FORGET_AGAIN || p->context == PANEL_IN_PLAN_NAME ||
             p->context == PANEL_IN_MASS || p->context == PANEL_IN_SPEED)
        fits = panel_form_append(p->ask.typed, PANEL_CODE_MAX, utf8);
    if (!fits)
        panel_say(p, N_("There is room for no more letters."));
}

void
panel_set_unsaved(struct panel *p, bool is_unsaved)
{
    if (p->is_unsaved == is_unsaved)
        return;
    p->is_unsaved = is_unsaved;
    p->n_changes++;
}

const char *
panel_leave_sentence(const struct panel *p)
{
    if (p->visit.is_on)
        return N_("The visit that runs is ended and kept.");
    return p->is_unsaved ? N_("Not everything is in the store yet: it is tried again until the program ends.")
                         : N_("Everything is saved.");
}
