/* panel_draw_runners.c - the list of runners, the form of one, and what is asked over a page. */
#include "pages/panel_parts.h"

#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define N_COLUMNS 8

static const struct {
    const char *label;
    double share;
    enum text_align align;
} COLUMNS[N_COLUMNS] = {
    { "Code", 0.15, TEXT_LEFT },        { "Visits", 0.08, TEXT_RIGHT },
    { "Last visit", 0.15, TEXT_RIGHT }, { "Body mass, kg", 0.13, TEXT_RIGHT },
    { "Leg, mm", 0.10, TEXT_RIGHT },    { "Foot, mm", 0.10, TEXT_RIGHT },
    { "Pain limit", 0.10, TEXT_RIGHT }, { "Shoe", 0.19, TEXT_LEFT },
};

static void
draw_cells(struct panel_pen *n, int y, const char *const cell[N_COLUMNS], enum widget_size size, bool is_bold,
           uint32_t rgb)
{
    int x = n->body.x_px + n->u / 2;
    for (int i = 0; i < N_COLUMNS; i++) {
        const int w = (int) (COLUMNS[i].share * (n->body.w_px - n->u));
        widget_text(&n->w, x + (COLUMNS[i].align == TEXT_LEFT && i > 0 ? n->u : 0), y,
                    w - (COLUMNS[i].align == TEXT_LEFT && i > 0 ? n->u : 0), COLUMNS[i].align, size,
                    is_bold || i == 0, rgb, cell[i]);
        x += w;
    }
}

void
panel_draw_runners(struct panel_pen *n)
{
    const struct panel *p = n->p;
    const struct theme *t = n->w.theme;
    const char *head[N_COLUMNS];
    const int row_px = n->u * 9 / 4;
    int y = n->body.y_px;
    if (p->runners.n == 0) {
        panel_text(n, n->body.x_px, y, n->body.w_px, TEXT_LEFT, WIDGET_TITLE, false, t->figure,
                    p->has_runners ? "No runner yet."
                                   : "Reading the store"
                                     "\xE2\x80\xA6");
        if (p->has_runners)
            panel_button(n, (struct paint_rect){ n->body.x_px, y + 4 * n->u, 16 * n->u, 3 * n->u },
                         PANEL_DO_ADD, 0, "Add a runner", true);
        return;
    }
    for (int i = 0; i < N_COLUMNS; i++)
        head[i] = panel_word(n, COLUMNS[i].label);
    draw_cells(n, y, head, WIDGET_SMALL, false, t->label);
    y += widget_line_px(&n->w, WIDGET_SMALL) + n->u / 4;
    const int foot = 4 * n->u;
    const int n_fit = (n->body.y_px + n->body.h_px - foot - y) / row_px;
    const int from = p->at_runner >= n_fit ? p->at_runner - n_fit + 1 : 0;
    for (int i = from; i < p->runners.n && i < from + n_fit; i++, y += row_px) {
        const struct panel_runner *r = &p->runners.runner[i];
        const struct paint_rect row = { n->body.x_px, y, n->body.w_px, row_px };
        char visits[24], mass[24], leg[24], shoe_foot[24], limit[24];
        snprintf(visits, sizeof visits, "%d", r->n_visits);
        const char *cell[N_COLUMNS] = { r->code,
                                        visits,
                                        r->last[0] ? r->last : PANEL_DASH,
                                        panel_number(mass, r->body_mass_kg, 1, ""),
                                        panel_number(leg, r->leg_length_mm, 0, ""),
                                        panel_number(shoe_foot, r->foot_length_mm, 0, ""),
                                        panel_number(limit, r->pain_limit, 0, ""),
                                        r->shoe };
        widget_row(&n->w, row, i == p->at_runner);
        draw_cells(n, y + n->u / 2, cell, WIDGET_BODY, false, t->figure);
        panel_spot(n, row, PANEL_DO_CHOOSE, i);
    }
    const int by = n->body.y_px + n->body.h_px - 3 * n->u, bw = n->body.w_px / 5 - n->u;
    const struct {
        enum panel_action action;
        int number;
        const char *label;
    } buttons[] = { { PANEL_DO_OPEN, 0, "Visit" },
                    { PANEL_DO_PAGE, PANEL_COURSE, "Course" },
                    { PANEL_DO_ADD, 0, "Add" },
                    { PANEL_DO_EDIT, 0, "Edit" },
                    { PANEL_DO_FORGET, 0, "Forget\xE2\x80\xA6" } };
    for (int i = 0; i < 5; i++)
        panel_button(n, (struct paint_rect){ n->body.x_px + i * (bw + n->u * 5 / 4), by, bw, n->u * 5 / 2 },
                     buttons[i].action, buttons[i].number, buttons[i].label, i == 0);
}

/* ---------------------------------------------------------------- over a page */

struct paint_rect
panel_sheet(struct panel_pen *n, int w, int h, const char *title)
{
    const struct paint_picture *pic = n->w.picture;
    const int top = 3 * n->u + 1, bottom = n->body.y_px + n->body.h_px + widget_line_px(&n->w, WIDGET_BODY);
    if (w > pic->width_px - 2 * n->u)
        w = pic->width_px - 2 * n->u;
    const struct paint_rect r = { (pic->width_px - w) / 2, top + (bottom - top - h) / 2, w, h };
    paint_fill(n->w.picture, (struct paint_rect){ 0, top, pic->width_px, bottom - top }, n->w.theme->ground,
               0.82);
    paint_fill(n->w.picture, r, n->w.theme->ground, 1);
    widget_frame(&n->w, r, n->u >= 24 ? 3 : 2, n->w.theme->stripe_edge);
    panel_text(n, r.x_px + n->u * 3 / 2, r.y_px + n->u, r.w_px - 3 * n->u, TEXT_LEFT, WIDGET_TITLE, true,
                n->w.theme->figure, title);
    /* Nothing below the sheet can be touched. */
    int n_kept = 0;
    for (int i = 0; i < n->p->n_spots; i++)
        if (n->p->spot[i].y_px >= bottom)
            n->p->spot[n_kept++] = n->p->spot[i];
    n->p->n_spots = n_kept;
    return (struct paint_rect){ r.x_px + n->u * 3 / 2, r.y_px + n->u * 7 / 2, r.w_px - 3 * n->u,
                                r.h_px - 5 * n->u };
}

void
panel_yes_no(struct panel_pen *n, struct paint_rect r, const char *yes, const char *no, bool is_yes_usual)
{
    const int h = n->u * 5 / 2, y = r.y_px + r.h_px - h, w = (r.w_px - n->u) / 2;
    panel_button(n, (struct paint_rect){ r.x_px, y, w, h }, PANEL_DO_YES, 0, yes, is_yes_usual);
    panel_button(n, (struct paint_rect){ r.x_px + w + n->u, y, w, h }, PANEL_DO_NO, 0, no, !is_yes_usual);
}

void
panel_draw_form(struct panel_pen *n)
{
    const struct panel_form *f = &n->p->form;
    const struct paint_rect r =
        panel_sheet(n, 44 * n->u, 30 * n->u, f->was.id ? "Edit the runner" : "A new runner");
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
    panel_yes_no(n, r, "Save", "Don't save", true);
}

static void
draw_forget(struct panel_pen *n)
{
    const struct panel_runner *r = &n->p->runners.runner[n->p->at_runner];
    char text[PANEL_WORDS_MAX + 60], count[24];
    const bool is_again = n->p->context == PANEL_ASK_FORGET_AGAIN;
    const struct paint_rect s =
        panel_sheet(n, 40 * n->u, is_again ? 18 * n->u : 15 * n->u, "Forget this runner?");
    if (is_again) {
        PANEL_FILL(n, text, "Type {1}. This can't be undone.", r->code);
        widget_field(&n->w, (struct paint_rect){ s.x_px, s.y_px, s.w_px, 5 * n->u }, text, n->p->typed,
                     panel_word(n, "The store is written anew, so that nothing of the runner stays in it."), "", true);
        panel_yes_no(n, s, "Forget for good", "No, keep", false);
        return;
    }
    PANEL_FILL(n, text,
               "{1} with all {2} visits goes from the store, for good, and the pages printed here. Recordings and copies "
               "that you made are files of your own.",
               r->code, panel_count(count, r->n_visits));
    panel_wrap(n, s.x_px, s.y_px, s.w_px, 4, WIDGET_BODY, n->w.theme->figure, text);
    panel_yes_no(n, s, "Yes, ask once more", "No", false);
}

static void
draw_number(struct panel_pen *n)
{
    const struct panel *p = n->p;
    const bool is_before = p->page == PANEL_VISIT;
    const char *title = p->is_effort_asked      ? "Effort, 0 to 10?"
                        : is_before             ? "Pain before the run, 0 to 10?"
                        : p->page == PANEL_LIVE ? "Pain now, 0 to 10?"
                                                : "Pain after the run, 0 to 10?";
    const struct paint_rect r = panel_sheet(n, 44 * n->u, 16 * n->u, title);
    const int gap = n->u / 3, w = (r.w_px - 10 * gap) / 11, h = n->u * 3;
    for (int i = 0; i <= 10; i++) {
        const struct paint_rect b = { r.x_px + i * (w + gap), r.y_px, w, h };
        char text[16];
        snprintf(text, sizeof text, "%d", i);
        paint_fill(n->w.picture, b, p->number == i ? n->w.theme->stripe : n->w.theme->panel, 1);
        widget_frame(&n->w, b, p->number == i ? 3 : 1,
                     p->number == i ? n->w.theme->stripe_edge : n->w.theme->rule);
        panel_text(n, b.x_px, b.y_px + n->u * 2 / 3, b.w_px, TEXT_CENTRE, WIDGET_TITLE, p->number == i,
                    n->w.theme->figure, text);
        panel_spot(n, b, PANEL_DO_NUMBER, i);
    }
    const int y = r.y_px + h + n->u / 2;
    panel_text(n, r.x_px, y, r.w_px / 2, TEXT_LEFT, WIDGET_SMALL, false, n->w.theme->label,
                p->is_effort_asked ? "rest" : "none");
    panel_text(n, r.x_px + r.w_px / 2, y, r.w_px / 2, TEXT_RIGHT, WIDGET_SMALL, false, n->w.theme->label,
                p->is_effort_asked ? "all one has" : "worst that can be thought of");
    char limit[PANEL_WORDS_MAX] = "", number[24];
    if (!p->is_effort_asked && !isnan(p->kase.runner.pain_limit))
        PANEL_FILL(n, limit, "This runner's limit: {1}", panel_number(number, p->kase.runner.pain_limit, 0, ""));
    else if (!p->is_effort_asked)
        str_copy(limit, sizeof limit, panel_word(n, "No limit is set for this runner: any pain asks for a decision."));
    panel_text(n, r.x_px, y + n->u * 3 / 2, r.w_px, TEXT_LEFT, WIDGET_SMALL, false, n->w.theme->figure,
                limit);
    const int bh = n->u * 5 / 2, by = r.y_px + r.h_px - bh + n->u / 2, bw = (r.w_px - 2 * n->u) / 3;
    panel_button(n, (struct paint_rect){ r.x_px, by, bw, bh }, PANEL_DO_YES, 0, "Take it", true);
    panel_button(n, (struct paint_rect){ r.x_px + bw + n->u, by, bw, bh }, PANEL_DO_PASS, 0, "Not asked",
                 false);
    panel_button(n, (struct paint_rect){ r.x_px + 2 * (bw + n->u), by, bw, bh }, PANEL_DO_NO, 0, "Back",
                 false);
}

static void
draw_ask(struct panel_pen *n, const char *title, const char *text, const char *yes, const char *no)
{
    const struct paint_rect r = panel_sheet(n, 36 * n->u, 13 * n->u, title);
    panel_wrap(n, r.x_px, r.y_px, r.w_px, 3, WIDGET_BODY, n->w.theme->figure, text);
    panel_yes_no(n, r, yes, no, false);
}

static void
draw_note(struct panel_pen *n)
{
    const struct paint_rect r = panel_sheet(
        n, 46 * n->u, 18 * n->u, n->p->page == PANEL_LIVE ? "A note at this moment" : "A note of this visit");
    const struct paint_rect box = { r.x_px, r.y_px, r.w_px, r.h_px - n->u * 7 / 2 };
    char text[PANEL_NOTE_MAX + 4];
    paint_fill(n->w.picture, box, n->w.theme->panel, 1);
    widget_frame(&n->w, box, 2, n->w.theme->stripe_edge);
    snprintf(text, sizeof text, "%s|", n->p->typed);
    widget_wrap(&n->w, box.x_px + n->u / 2, box.y_px + n->u / 2, box.w_px - n->u, 6, WIDGET_BODY,
                n->w.theme->figure, text);
    panel_yes_no(n, r, "Keep the note", "Drop it", true);
}

static void
draw_plan_name(struct panel_pen *n)
{
    const struct paint_rect r = panel_sheet(n, 40 * n->u, 18 * n->u, "A copy of this plan");
    char text[PANEL_WORDS_MAX + 80];
    PANEL_FILL(n, text, "Name of the copy of {1}", n->p->at_plan >= 0 ? n->p->kase.plan[n->p->at_plan].id : "");
    widget_field(&n->w, (struct paint_rect){ r.x_px, r.y_px, r.w_px, 5 * n->u }, text, n->p->typed,
                 panel_word(n, "letters, digits, - and _; it goes into your own plans folder"), "", true);
    panel_yes_no(n, r, "Copy it", "No", true);
}

void
panel_draw_question(struct panel_pen *n)
{
    switch ((int) n->p->context) {
    case PANEL_IN_FORM:
        panel_draw_form(n);
        break;
    case PANEL_ASK_FORGET:
    case PANEL_ASK_FORGET_AGAIN:
        draw_forget(n);
        break;
    case PANEL_ASK_NUMBER:
        draw_number(n);
        break;
    case PANEL_ASK_SKIP:
        draw_ask(n, "Skip this block?", "The rest of it is left out; the next one begins.", "Skip it",
                 "Stay");
        break;
    case PANEL_ASK_STOP:
        draw_ask(n, n->p->flow.has_run ? "End the run here?" : "Give this visit up?",
                 n->p->flow.has_run
                     ? "What was run is kept. Before the plan's end the visit counts as cut short."
                     : "Nothing was run yet; nothing of it is kept.",
                 n->p->flow.has_run ? "End it" : "Give it up", "No");
        break;
    case PANEL_ASK_LEAVE:
        draw_ask(n, "Leave the program?",
                 n->p->has_visit ? "The visit that runs is ended and kept." : "Everything is saved.", "Leave",
                 "Stay");
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
    default:
        panel_draw_calibration(n);
        break;
    }
}
