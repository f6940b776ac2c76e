/* panel_list.c - the runners page: the list, and who of it is chosen. */
#include "panel/panel_parts.h"

#include "base/str.h"

#include <string.h>

void
panel_set_runners(struct panel *p, const struct panel_runners *r)
{
    char code[PANEL_CODE_MAX] = "";
    if (p->open.has_case)
        str_copy(code, sizeof code, p->open.kase.runner.code);
    else if (panel_chosen(p))
        str_copy(code, sizeof code, panel_chosen(p)->code);
    p->list.runners = *r;
    p->list.has_runners = true;
    if (p->list.at >= r->n)
        p->list.at = r->n > 0 ? r->n - 1 : 0;
    for (int i = 0; i < r->n; i++)
        if (strcmp(r->runner[i].code, code) == 0)
            p->list.at = i;
    p->n_changes++;
}

static void
choose(struct panel *p, int row)
{
    if (p->list.runners.n == 0)
        return;
    p->list.at = row < 0 ? 0 : row >= p->list.runners.n ? p->list.runners.n - 1 : row;
}

static void
start_form(struct panel *p, const struct panel_runner *r)
{
    panel_form_init(&p->ask.form, r, &p->list.runners);
    p->context = PANEL_IN_FORM;
}

void
panel_list_do(struct panel *p, enum panel_action action, int number)
{
    const bool is_busy = p->visit.is_on && p->visit.flow.phase != VISIT_FLOW_SAVED;
    if (action == PANEL_DO_UP || action == PANEL_DO_DOWN)
        choose(p, p->list.at + (action == PANEL_DO_DOWN ? 1 : -1));
    else if (action == PANEL_DO_CHOOSE && number == p->list.at)
        panel_go_to(p, PANEL_VISIT);
    else if (action == PANEL_DO_CHOOSE)
        choose(p, number);
    else if (action == PANEL_DO_OPEN)
        panel_go_to(p, PANEL_VISIT);
    else if (is_busy)
        panel_say(p, "A visit is under way: end it first.");
    else if (action == PANEL_DO_ADD && p->list.runners.n >= PANEL_MAX_RUNNERS)
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
