/* panel_draw_question.c - what is asked over a page: the form of a runner, what is forgotten, numbers, notes, yes and no. */
#include "pages/panel_parts.h"

#include "base/mark.h"
#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void
draw_form(struct panel_pen *n)
{
    const struct panel_form *f = &n->p->ask.form;
    const struct paint_rect r =
        panel_sheet(n, 44 * n->u, 30 * n->u, f->was.id ? N_("Edit the runner") : N_("A new runner"));
    const int w = (r.w_px - 2 * n->u) / 2, step = n->u * 21 / 4;
    for (int i = 0; i < PANEL_FORM_N_FIELDS; i++) {
        const struct paint_rect at = { r.x_px + (i % 2) * (w + 2 * n->u), r.y_px + (i / 2) * step,
                                       i == PANEL_FORM_DISPLAY ? r.w_px : w, step };
        const bool is_new_and_empty = i == PANEL_FORM_CODE && !f->text[i][0];
        widget_field(&n->w, at, panel_word(n, panel_form_label((enum panel_form_field) i)), f->text[i],
                     panel_word(n, panel_form_hint((enum panel_form_field) i)),
                     is_new_and_empty ? "" : panel_word(n, f->why[i]),
                     (int) f->at == i);
        panel_spot(n, at, PANEL_DO_FIELD, i);
    }
    panel_yes_no(n, r, N_("Save"), N_("Don't save"), true);
}

static void
draw_forget(struct panel_pen *n)
{
    static const struct panel_runner nobody;
    const struct panel_runner *r = panel_chosen(n->p) ? panel_chosen(n->p) : &nobody;
    char text[PANEL_WORDS_MAX + 60], count[24];
    const bool is_again = n->p->context == PANEL_ASK_FORGET_AGAIN;
    const struct paint_rect s =
        panel_sheet(n, 40 * n->u, is_again ? 18 * n->u : 15 * n->u, N_("Forget this runner?"));
    if (is_again) {
        PANEL_FILL(n, text, "Type {1}. This can't be undone.", r->code);
        widget_field(&n->w, (struct paint_rect){ s.x_px, s.y_px, s.w_px, 5 * n->u }, text, n->p->ask.typed,
                     panel_word(n, "The store is written anew, so that nothing of the runner stays in it."), "", true);
        panel_yes_no(n, s, N_("Forget for good"), N_("No, keep"), false);
        return;
    }
    PANEL_FILL(n, text,
               "{1} with all {2} visits goes from the store, for good, and the pages printed here. Recordings and copies "
               "that you made are files of your own.",
               r->code, panel_count(count, r->n_visits));
    panel_wrap(n, s.x_px, s.y_px, s.w_px, 4, panel_ink(WIDGET_BODY, n->w.theme->figure), text);
    panel_yes_no(n, s, N_("Yes, ask once more"), N_("No"), false);
}

static void
draw_number(struct panel_pen *n)
{
    const struct panel *p = n->p;
    const bool is_before = p->page == PANEL_VISIT;
    const char *title = p->ask.is_effort      ? N_("Effort, 0 to 10?")
                        : is_before             ? N_("Pain before the run, 0 to 10?")
                        : p->page == PANEL_LIVE ? N_("Pain now, 0 to 10?")
                                                : N_("Pain after the run, 0 to 10?");
    const struct paint_rect r = panel_sheet(n, 44 * n->u, 16 * n->u, title);
    const int gap = n->u / 3, w = (r.w_px - 10 * gap) / 11, h = n->u * 3;
    for (int i = 0; i <= 10; i++) {
        const struct paint_rect b = { r.x_px + i * (w + gap), r.y_px, w, h };
        char text[16];
        snprintf(text, sizeof text, "%d", i);
        paint_fill(n->w.picture, b, p->ask.number == i ? n->w.theme->stripe : n->w.theme->panel, 1);
        widget_frame(&n->w, b, p->ask.number == i ? 3 : 1,
                     p->ask.number == i ? n->w.theme->stripe_edge : n->w.theme->rule);
        panel_text(n, b.x_px, b.y_px + n->u * 2 / 3, b.w_px,
                   (struct panel_ink){ WIDGET_TITLE, n->w.theme->figure, p->ask.number == i, TEXT_CENTRE }, text);
        panel_spot(n, b, PANEL_DO_NUMBER, i);
    }
    const int y = r.y_px + h + n->u / 2;
    panel_text(n, r.x_px, y, r.w_px / 2, panel_ink(WIDGET_SMALL, n->w.theme->label),
               p->ask.is_effort ? "rest" : N_("none"));
    panel_text(n, r.x_px + r.w_px / 2, y, r.w_px / 2,
               (struct panel_ink){ WIDGET_SMALL, n->w.theme->label, false, TEXT_RIGHT },
               p->ask.is_effort ? N_("all one has") : N_("worst that can be thought of"));
    char limit[PANEL_WORDS_MAX] = "", number[24];
    if (!p->ask.is_effort && !isnan(p->open.kase.runner.pain_limit))
        PANEL_FILL(n, limit, "This runner's limit: {1}", panel_number(n, number, p->open.kase.runner.pain_limit, 0, ""));
    else if (!p->ask.is_effort)
        str_copy(limit, sizeof limit, panel_word(n, "No limit is set for this runner: any pain asks for a decision."));
    panel_text(n, r.x_px, y + n->u * 3 / 2, r.w_px, panel_ink(WIDGET_SMALL, n->w.theme->figure), limit);
    const int bh = n->u * 5 / 2, by = r.y_px + r.h_px - bh + n->u / 2, bw = (r.w_px - 2 * n->u) / 3;
    panel_button(n, (struct paint_rect){ r.x_px, by, bw, bh }, PANEL_DO_YES, 0, N_("Take it"), true);
    panel_button(n, (struct paint_rect){ r.x_px + bw + n->u, by, bw, bh }, PANEL_DO_PASS, 0, N_("Not asked"),
                 false);
    panel_button(n, (struct paint_rect){ r.x_px + 2 * (bw + n->u), by, bw, bh }, PANEL_DO_NO, 0, N_("Back"),
                 false);
}

static void
draw_ask(struct panel_pen *n, const char *title, const char *text, const char *yes, const char *no)
{
    const struct paint_rect r = panel_sheet(n, 36 * n->u, 13 * n->u, title);
    panel_wrap(n, r.x_px, r.y_px, r.w_px, 3, panel_ink(WIDGET_BODY, n->w.theme->figure), text);
    panel_yes_no(n, r, yes, no, false);
}

#define NOTE_LINES 6

static void
draw_note(struct panel_pen *n)
{
    const struct paint_rect r = panel_sheet(
        n, 46 * n->u, 18 * n->u, n->p->page == PANEL_LIVE ? N_("A note at this moment") : N_("A note of this visit"));
    const struct paint_rect box = { r.x_px, r.y_px, r.w_px, r.h_px - n->u * 7 / 2 };
    char text[PANEL_NOTE_MAX + 4];
    paint_fill(n->w.picture, box, n->w.theme->panel, 1);
    widget_frame(&n->w, box, 2, n->w.theme->stripe_edge);
    /* Of a long one the end: there is typed. */
    const char *from = n->p->ask.typed;
    do {
        snprintf(text, sizeof text, "%s%s|", from > n->p->ask.typed ? "\xe2\x80\xa6" : "", from);
        from += strcspn(from, " ") + 1;
    } while (strchr(from - 1, ' ') && widget_wrap(&n->w, 0, 0, box.w_px - n->u, PANEL_NOTE_MAX, WIDGET_BODY, WIDGET_MEASURE, text) >
                                          NOTE_LINES * widget_line_px(&n->w, WIDGET_BODY));
    widget_wrap(&n->w, box.x_px + n->u / 2, box.y_px + n->u / 2, box.w_px - n->u, NOTE_LINES, WIDGET_BODY,
                n->w.theme->figure, text);
    panel_yes_no(n, r, N_("Keep the note"), N_("Drop it"), true);
}

static void
draw_plan_name(struct panel_pen *n)
{
    const struct paint_rect r = panel_sheet(n, 40 * n->u, 18 * n->u, N_("A copy of this plan"));
    char text[PANEL_WORDS_MAX + 80];
    PANEL_FILL(n, text, "Name of the copy of {1}", n->p->open.at_plan >= 0 ? n->p->open.kase.plan[n->p->open.at_plan].id : "");
    widget_field(&n->w, (struct paint_rect){ r.x_px, r.y_px, r.w_px, 5 * n->u }, text, n->p->ask.typed,
                 panel_word(n, "letters, digits, - and _; it goes into your own plans folder"), "", true);
    panel_yes_no(n, r, N_("Copy it"), N_("No"), true);
}

void
panel_draw_question(struct panel_pen *n)
{
    switch ((int) n->p->context) {
    case PANEL_IN_FORM:
        draw_form(n);
        break;
    case PANEL_ASK_FORGET:
    case PANEL_ASK_FORGET_AGAIN:
        draw_forget(n);
        break;
    case PANEL_ASK_NUMBER:
        draw_number(n);
        break;
    case PANEL_ASK_SKIP:
        draw_ask(n, N_("Skip this block?"), N_("The rest of it is left out; the next one begins."), N_("Skip it"),
                 N_("Stay"));
        break;
    case PANEL_ASK_STOP:
        draw_ask(n, n->p->visit.flow.has_run ? N_("End the run here?") : N_("Give this visit up?"),
                 n->p->visit.flow.has_run
                     ? N_("What was run is kept. Before the plan's end the visit counts as cut short.")
                     : N_("Nothing was run yet; nothing of it is kept."),
                 n->p->visit.flow.has_run ? N_("End it") : N_("Give it up"), N_("No"));
        break;
    case PANEL_ASK_LEAVE:
        draw_ask(n, N_("Leave the program?"), panel_leave_sentence(n->p), N_("Leave"), N_("Stay"));
        break;
    case PANEL_IN_NOTE:
        draw_note(n);
        break;
    case PANEL_IN_PLAN_NAME:
        draw_plan_name(n);
        break;
    case PANEL_ASK_WARNED:
        panel_draw_warned(n);
        break;
    case PANEL_IN_SPEED:
        panel_draw_typed_speed(n);
        break;
    case PANEL_IN_SEARCH: /* on the page itself */
        break;
    default:
        panel_draw_calibration(n);
        break;
    }
}
