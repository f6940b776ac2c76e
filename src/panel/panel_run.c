/* panel_run.c - keys of the run, and of targets: commands for the coach, marks, what is hidden from the runner. */
#include "panel/panel_parts.h"

#include "base/mark.h"
#include "base/str.h"

void
panel_run_do(struct panel *p, enum panel_action action, int number)
{
    switch ((int) action) {
    case PANEL_DO_PAUSE:
        if (p->visit.verdict.is_paused || p->visit.flow.is_stop_asked)
            visit_flow_resume(&p->visit.flow);
        else
            visit_flow_pause(&p->visit.flow);
        break;
    case PANEL_DO_SKIP:
        if (number)
            visit_flow_skip(&p->visit.flow);
        else
            p->context = PANEL_ASK_SKIP;
        break;
    case PANEL_DO_EXTEND:
        visit_flow_extend(&p->visit.flow, 60);
        panel_say(p, N_("One minute more."));
        break;
    case PANEL_DO_FEEDBACK:
        p->visit.feedback = (enum command_feedback)((p->visit.feedback + 1) % 3);
        visit_flow_feedback(&p->visit.flow, p->visit.feedback);
        break;
    case PANEL_DO_PEEK:
        if (!p->is_over_screen)
            panel_say(p, N_("The runner does not see this: nothing is withheld here."));
        p->visit.is_peeking = p->is_over_screen && !p->visit.is_peeking;
        break;
    case PANEL_DO_PAIN:
        panel_visit_ask(p, false);
        break;
    case PANEL_DO_MARK: {
        struct panel_request *r = panel_want(p, PANEL_WANTS_NOTE);
        str_copy(r->text, sizeof r->text, N_("mark"));
        r->number = 2;
        panel_say(p, N_("The mark is being kept."));
        break;
    }
    case PANEL_DO_ACCEPT:
        visit_flow_accept_baseline(&p->visit.flow);
        break;
    default:
        break;
    }
    panel_visit_sync(p);
}

void
panel_set_marked(struct panel *p, int n_kept, int n_refused)
{
    p->visit.n_marks += n_kept;
    if (n_refused > 0)
        panel_say(p, N_("The mark is not kept: the store refuses it."));
    else if (n_kept > 0)
        panel_say(p, N_("Marked."));
}

bool
panel_run_is_of_targets(struct panel *p, enum panel_action action)
{
    const int n = p->aim.edit.now.n;
    if (n == 0 && (action == PANEL_DO_LEFT || action == PANEL_DO_RIGHT || action == PANEL_DO_NUDGE_UP ||
                   action == PANEL_DO_NUDGE_DOWN || action == PANEL_DO_EDGE || action == PANEL_DO_FOCUS)) {
        panel_say(p, N_("There is no target yet: it comes from the baseline."));
        return true;
    }
    switch ((int) action) {
    case PANEL_DO_LEFT:
    case PANEL_DO_RIGHT:
        p->aim.at = (p->aim.at + (action == PANEL_DO_RIGHT ? 1 : n - 1)) % n;
        return true;
    case PANEL_DO_NUDGE_UP:
    case PANEL_DO_NUDGE_DOWN:
        panel_targets_nudge(p, action == PANEL_DO_NUDGE_UP ? 1 : -1);
        return true;
    case PANEL_DO_EDGE:
        p->aim.edge = (enum panel_edge)((p->aim.edge + 1) % PANEL_EDGE_NONE);
        return true;
    case PANEL_DO_PROPOSE:
        panel_targets_propose(p);
        return true;
    case PANEL_DO_FOCUS:
        target_edit_focus(&p->aim.edit, p->aim.edit.now.target[p->aim.at].metric);
        panel_targets_told(p);
        return true;
    case PANEL_DO_UNDO:
    case PANEL_DO_REDO: {
        const bool is_done =
            action == PANEL_DO_UNDO ? target_edit_undo(&p->aim.edit) : target_edit_redo(&p->aim.edit);
        if (is_done)
            panel_targets_told(p);
        else
            panel_say(p, action == PANEL_DO_UNDO ? N_("Nothing to undo.") : N_("Nothing to do again."));
        return true;
    }
    default:
        return false;
    }
}
