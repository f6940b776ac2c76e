/* panel_page.c - which page is shown, of which runner, and where the panel stands in words. */
#include "base/mark.h"
#include "panel/panel_parts.h"

#include <stdio.h>
#include <string.h>

bool
panel_is_typing(const struct panel *p)
{
    return p->context == PANEL_IN_FORM || p->context == PANEL_IN_NOTE || p->context == PANEL_ASK_FORGET_AGAIN ||
           p->context == PANEL_IN_PLAN_NAME || p->context == PANEL_IN_MASS || p->context == PANEL_IN_SPEED ||
           p->context == PANEL_IN_SEARCH;
}

static const char *
state_word(const struct panel *p)
{
    static const char *const questions[PANEL_N_CONTEXTS] = {
        [PANEL_IN_FORM] = "form",
        [PANEL_ASK_FORGET] = N_("forget"),
        [PANEL_ASK_FORGET_AGAIN] = N_("forget for good"),
        [PANEL_ASK_NUMBER] = "number",
        [PANEL_ASK_SKIP] = "skip",
        [PANEL_ASK_STOP] = "stop",
        [PANEL_ASK_LEAVE] = N_("leave"),
        [PANEL_IN_NOTE] = N_("note"),
        [PANEL_IN_PLAN_NAME] = "plan's name",
        [PANEL_IN_CALIBRATION] = "calibration",
        [PANEL_IN_MASS] = "mass",
        [PANEL_ASK_UNDO_CALIBRATION] = N_("undo"),
        [PANEL_ASK_WARNED] = "warned",
        [PANEL_IN_SPEED] = "speed",
        [PANEL_IN_SEARCH] = N_("search"),
    };
    static const char *const phases[] = { "sensor", "cautions", "pain", "run", "after", N_("notes"), "saved" };
    if (questions[p->context])
        return questions[p->context];
    if (p->page == PANEL_RUNNERS ? !panel_list_is_read(p) : !p->open.has_case || p->open.is_loading)
        return "reading";
    if (p->page == PANEL_VISIT && p->visit.is_on)
        return p->visit.flow.phase != VISIT_FLOW_CHECK               ? phases[p->visit.flow.phase]
               : p->visit.sensor != PANEL_SENSOR_OPEN                ? "looking"
               : !(p->visit.has_watch && p->visit.watch.has_check)         ? "checking"
                                                               : phases[p->visit.flow.phase];
    return "ready";
}

void
panel_title(const struct panel *p, char out[PANEL_TITLE_MAX])
{
    snprintf(out, PANEL_TITLE_MAX, "Underfoot: %s, %s", panel_page_name(p->page), state_word(p));
}

void
panel_to_page(struct panel *p, enum panel_page page)
{
    p->page = page;
    p->context = (enum panel_context) page;
}

/* Another runner's figures are to be read; none while a visit is under way. */
static void
load_chosen(struct panel *p)
{
    const struct panel_runner *r = panel_chosen(p);
    if (p->visit.is_on || !r)
        return;
    p->open.has_case = false;
    p->open.is_loading = true;
    panel_want(p, PANEL_WANTS_CASE)->runner = *r;
}

int
panel_newest(const struct panel *p, const struct panel_visit **out)
{
    const bool is_shown = p->open.kase.n_newer_visits == 0;
    *out = is_shown ? p->open.kase.visit : p->open.newest;
    return is_shown ? p->open.kase.n_visits : p->open.n_newest;
}

static void
want_visits(struct panel *p, int n_newer)
{
    struct panel_request *r = panel_want(p, PANEL_WANTS_VISITS);
    r->runner = p->open.kase.runner;
    r->number = n_newer;
    p->open.is_loading = true;
}

/* A whole window further, and at either end no further than it is full. */
void
panel_turn(struct panel *p, bool is_to_older)
{
    const struct panel_case *k = &p->open.kase;
    if (!p->open.has_case || p->open.is_loading)
        return;
    const int by = is_to_older ? k->n_older_visits : k->n_newer_visits;
    if (by == 0)
        panel_say(p, is_to_older ? N_("There are no older visits.") : N_("There are no newer visits."));
    else
        want_visits(p, k->n_newer_visits + (is_to_older ? 1 : -1) * (by < PANEL_MAX_VISITS ? by : PANEL_MAX_VISITS));
}

void
panel_go_to(struct panel *p, enum panel_page page)
{
    if (page == PANEL_LIVE && !(p->visit.is_on && p->visit.flow.phase == VISIT_FLOW_RUN)) {
        panel_say(p, N_("Nothing runs yet: the visit page leads to the run."));
        return;
    }
    if (page != PANEL_RUNNERS && !p->open.has_case && !p->open.is_loading && !panel_chosen(p)) {
        panel_say(p, panel_list_is_read(p) ? N_("Choose a runner first.") : N_("The list is being read: a moment."));
        return;
    }
    if (page != PANEL_RUNNERS && !p->visit.is_on && panel_chosen(p) &&
        !(p->open.has_case && strcmp(p->open.kase.runner.code, panel_chosen(p)->code) == 0))
        load_chosen(p);
    if (page == PANEL_SUMMARY && p->page != PANEL_COURSE && p->open.has_case && p->open.kase.n_visits > 0)
        p->open.at_visit = p->open.kase.n_visits - 1;
    if (page == PANEL_SUMMARY && p->page != PANEL_COURSE && p->open.has_case && !p->open.is_loading &&
        p->open.kase.n_newer_visits > 0) {
        want_visits(p, 0);
        p->open.is_newest_due = true;
    }
    panel_to_page(p, page);
}
