/* panel_list.c - keys of the runners page and of its search, and the form that the store refused. */
#include "panel/panel_parts.h"

#include "base/mark.h"
#include "base/str.h"

#include <stdio.h>
#include <string.h>

static bool
is_busy(const struct panel *p)
{
    return p->visit.is_on && p->visit.flow.phase != VISIT_FLOW_SAVED;
}

static void
start_form(struct panel *p, const struct panel_runner *r)
{
    panel_form_init(&p->ask.form, r, &p->list.runners);
    p->context = PANEL_IN_FORM;
}

void
panel_list_form_again(struct panel *p)
{
    if (!p->ask.is_refused || (int) p->context >= (int) PANEL_N_PAGES || is_busy(p))
        return;
    p->ask.is_refused = false;
    panel_to_page(p, PANEL_RUNNERS);
    start_form(p, &p->ask.refused);
    panel_form_taken(&p->ask.form);
}

void
panel_runner_refused(struct panel *p, const struct panel_runner *r)
{
    struct message m;
    p->n_changes++;
    if (p->ask.is_refused) { /* one before it waits still */
        message_tell(&m, MESSAGE_RUNNER_CODE_IS_TAKEN, r->code);
        panel_tell(p, &m);
        return;
    }
    p->ask.refused = *r;
    p->ask.is_refused = true;
    panel_list_form_again(p);
}

static bool
move(struct panel *p, enum panel_action action, int number)
{
    const int at = p->list.at, page = p->list.n_fit > 2 ? p->list.n_fit - 1 : 1; /* a row of the one before stays in sight */
    switch ((int) action) {
    case PANEL_DO_UP:
    case PANEL_DO_DOWN:
        panel_window_move(p, at + (action == PANEL_DO_DOWN ? 1 : -1));
        return true;
    case PANEL_DO_PAGE_UP:
    case PANEL_DO_PAGE_DOWN:
        panel_window_move(p, at + (action == PANEL_DO_PAGE_DOWN ? page : -page));
        return true;
    case PANEL_DO_FIRST:
    case PANEL_DO_LAST:
        panel_window_move(p, action == PANEL_DO_LAST ? p->list.runners.total - 1 : 0);
        return true;
    case PANEL_DO_CHOOSE:
        if (number == at)
            panel_go_to(p, PANEL_VISIT);
        else
            panel_window_move(p, number);
        return true;
    default:
        return false;
    }
}

void
panel_list_do(struct panel *p, enum panel_action action, int number)
{
    if (move(p, action, number))
        return;
    if (action == PANEL_DO_OPEN)
        panel_go_to(p, PANEL_VISIT);
    else if (action == PANEL_DO_SEARCH)
        p->context = PANEL_IN_SEARCH;
    else if (is_busy(p))
        panel_say(p, N_("A visit is under way: end it first."));
    else if (action == PANEL_DO_ADD)
        start_form(p, NULL);
    else if (!panel_chosen(p))
        panel_say(p, !panel_list_is_read(p)      ? N_("The list is being read: a moment.")
                     : p->list.runners.n_all > 0 ? N_("Choose a runner first.")
                                                 : N_("There is no runner yet: A adds one."));
    else if (action == PANEL_DO_EDIT)
        start_form(p, panel_chosen(p));
    else if (action == PANEL_DO_FORGET)
        p->context = PANEL_ASK_FORGET;
}

/* ---------------------------------------------------------------- search */

bool
panel_list_is_of_search(enum panel_action action)
{
    return action == PANEL_DO_YES || action == PANEL_DO_NO || action == PANEL_DO_ERASE || action == PANEL_DO_SEARCH ||
           action == PANEL_DO_UP || action == PANEL_DO_DOWN || action == PANEL_DO_PAGE_UP || action == PANEL_DO_PAGE_DOWN ||
           action == PANEL_DO_FIRST || action == PANEL_DO_LAST;
}

/* Who was found stays chosen in the whole list. */
static void
end_search(struct panel *p)
{
    char code[PANEL_CODE_MAX] = "";
    panel_to_page(p, p->page);
    if (!p->list.search[0])
        return;
    if (panel_chosen(p))
        str_copy(code, sizeof code, panel_chosen(p)->code);
    p->list.search[0] = '\0';
    panel_window_search(p, code);
}

void
panel_list_search(struct panel *p, enum panel_action action, int number)
{
    if (action == PANEL_DO_NO)
        end_search(p);
    else if (action == PANEL_DO_YES)
        panel_to_page(p, p->page);
    else if (action == PANEL_DO_ERASE && p->list.search[0]) {
        panel_form_cut(p->list.search);
        panel_window_search(p, "");
    } else
        move(p, action, number);
}

void
panel_list_type(struct panel *p, const char *utf8)
{
    char was[PANEL_CODE_MAX];
    str_copy(was, sizeof was, p->list.search);
    panel_form_append(p->list.search, sizeof p->list.search, utf8);
    if (strcmp(was, p->list.search) != 0)
        panel_window_search(p, "");
}
