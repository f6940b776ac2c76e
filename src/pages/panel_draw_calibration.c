/* panel_draw_calibration.c - the calibration's sheet: profile, what is in force, history, what is measured now. */
#include "base/mark.h"
#include "base/str.h"
#include "pages/panel_parts.h"

#include <math.h>
#include <stdio.h>

/* What is in force, with its age; and that there is nothing, also. */
const char *
panel_calibration_text(struct panel_pen *n, char out[3 * PANEL_WORDS_MAX])
{
    const struct panel_calibration *c = &n->p->calib.told;
    char told[PANEL_TOLD_MAX];
    if (!c->profile[0])
        str_copy(out, 3 * PANEL_WORDS_MAX, panel_word(n, "No profile: raw counts, loads are relative. Z chooses one."));
    else if (message_is_none(&c->says))
        panel_words_fill(n->words, out, 3 * PANEL_WORDS_MAX, "Profile {1}, calibration: none",
                         (const char *const[]){ c->profile }, 1);
    else
        panel_words_fill(n->words, out, 3 * PANEL_WORDS_MAX, "Profile {1}, calibration: {2}",
                         (const char *const[]){ c->profile, panel_told(n, &c->says, told) }, 2);
    return out;
}

static int
draw_history(struct panel_pen *n, int x, int y, int w, int bottom)
{
    const struct panel_calibration *c = &n->p->calib.told;
    char told[PANEL_TOLD_MAX];
    const int line = widget_line_px(&n->w, WIDGET_SMALL);
    y = panel_heading(n, x, y, w, "History, the newest last");
    const int n_lines = (bottom - y) / line, is_cut = c->n_older > 0 || c->n > n_lines, n_fit = n_lines - is_cut;
    const int from = c->n > n_fit ? c->n - n_fit : 0;
    if (c->n == 0)
        panel_text(n, x, y, w, panel_ink(WIDGET_SMALL, n->w.theme->label), "None yet.");
    if (is_cut) { /* above the oldest one that is shown */
        char text[PANEL_WORDS_MAX], count[24];
        PANEL_FILL(n, text, "{1} more\xE2\x80\xA6", panel_count(count, from + c->n_older));
        widget_text(&n->w, x, y, w, TEXT_LEFT, WIDGET_SMALL, false, n->w.theme->label, text);
        y += line;
    }
    for (int i = from; i < c->n; i++, y += line)
        widget_text(&n->w, x, y, w, TEXT_LEFT, WIDGET_SMALL, i == c->n - 1, n->w.theme->figure,
                    panel_told(n, &c->entry[i], told));
    return y;
}

/* How the sensor that it is for stands. */
static const char *
sensor_words(const struct panel_pen *n, char told[PANEL_TOLD_MAX])
{
    const struct panel *p = n->p;
    if (p->visit.sensor == PANEL_SENSOR_OPENING)
        return N_("Looking for the sensor\xE2\x80\xA6 keep the belt empty.");
    if (p->visit.sensor == PANEL_SENSOR_OPEN && p->visit.verdict.sensor != VERDICT_SENSOR_LIVE &&
        !message_is_none(&p->visit.verdict.message))
        return panel_told(n, &p->visit.verdict.message, told);
    return p->visit.sensor == PANEL_SENSOR_CLOSED ? N_("Enter looks for the sensor and checks it.")
                                                  : panel_told(n, &p->visit.sensor_told, told);
}

/* What people are to do now, or what is possible. */
static void
draw_now(struct panel_pen *n, int x, int y, int w)
{
    const struct panel *p = n->p;
    const bool has_time = p->calib.is_on && p->visit.has_watch && !isnan(p->visit.watch.calib_left_s);
    char text[PANEL_TOLD_MAX + PANEL_WORDS_MAX], told[PANEL_TOLD_MAX], seconds[24];
    if (p->calib.is_on)
        PANEL_FILL(n, text, "{1} s more: {2}", panel_number(n, seconds, has_time ? ceil(p->visit.watch.calib_left_s) : (double) NAN, 0, ""),
                   panel_word(n, calib_please(p->calib.what)));
    else if (!message_is_none(&p->out.message)) /* what came of the last one; below the sheet it would be dim */
        snprintf(text, sizeof text, "%s%s%s", panel_told(n, &p->out.message, told), p->calib.is_zero_refused ? ". " : "",
                 p->calib.is_zero_refused ? panel_word(n, "If surely nobody is on: Z once more.") : "");
    else
        str_copy(text, sizeof text,
                 panel_word(n, "Zero: nobody on. Weigh: somebody stands still in the middle. Even out: a roller goes over all "
                               "of a mat, 30 s. The belt is stopped."));
    panel_wrap(n, x, y, w, 3,
               panel_ink(WIDGET_SMALL, p->calib.is_on || !message_is_none(&p->out.message) ? n->w.theme->figure : n->w.theme->label),
               text);
}

static void
draw_calibration(struct panel_pen *n)
{
    static const struct {
        enum panel_action action;
        const char *label;
    } buttons[] = { { PANEL_DO_ZERO, N_("Zero") },
                    { PANEL_DO_WEIGH, N_("Weigh") },
                    { PANEL_DO_EVEN, N_("Even out") },
                    { PANEL_DO_UNDO_CALIBRATION, N_("Take back\xE2\x80\xA6") },
                    { PANEL_DO_PROFILE, N_("Profile") },
                    { PANEL_DO_NO, N_("Back") } };
    char text[3 * PANEL_WORDS_MAX], told[PANEL_TOLD_MAX];
    const struct paint_rect r = panel_sheet(n, 60 * n->u, 26 * n->u, N_("Calibration"));
    const int line = widget_line_px(&n->w, WIDGET_SMALL), bh = n->u * 5 / 2, gap = n->u / 2;
    const int bw = (r.w_px - 5 * gap) / 6, by = r.y_px + r.h_px - bh;
    const bool is_due = n->p->calib.told.is_due;
    int y = r.y_px;
    if (is_due)
        paint_disc(n->w.picture, (struct paint_point){ r.x_px + n->u * 0.4, y + n->u * 0.6 }, n->u * 0.3, n->w.theme->alert, 1);
    const int indent = is_due ? n->u * 5 / 4 : 0;
    y += panel_wrap(n, r.x_px + indent, y, r.w_px - indent, 2, panel_ink(WIDGET_BODY, n->w.theme->figure),
                    panel_calibration_text(n, text));
    y += panel_wrap(n, r.x_px, y, r.w_px, 2, panel_ink(WIDGET_SMALL, n->w.theme->label), sensor_words(n, told)) + n->u / 2;
    draw_now(n, r.x_px, by - 3 * line - gap, r.w_px);
    draw_history(n, r.x_px, y, r.w_px, by - 3 * line - n->u);
    if (n->p->calib.told.n_more_profiles > 0) { /* than those that P goes through: beside its button */
        char count[24];
        PANEL_FILL(n, text, "{1} more profiles can't be chosen here.", panel_count(count, n->p->calib.told.n_more_profiles));
        widget_text(&n->w, r.x_px, by - line, r.w_px, TEXT_RIGHT, WIDGET_SMALL, false, n->w.theme->label, text);
    }
    for (int i = 0; i < 6; i++)
        panel_button(n, (struct paint_rect){ r.x_px + i * (bw + gap), by, bw, bh }, buttons[i].action, 0, buttons[i].label,
                     false);
}

static void
draw_mass(struct panel_pen *n)
{
    const struct paint_rect r = panel_sheet(n, 40 * n->u, 18 * n->u, N_("Weigh"));
    widget_field(&n->w, (struct paint_rect){ r.x_px, r.y_px, r.w_px, 5 * n->u }, panel_word(n, "Mass as dressed, kg"),
                 n->p->ask.typed, panel_word(n, "who stands still on the sensor now, with the belt stopped"), "", true);
    panel_yes_no(n, r, N_("Weigh"), N_("No"), true);
}

static void
draw_undo(struct panel_pen *n)
{
    const struct panel_calibration *c = &n->p->calib.told;
    char told[PANEL_TOLD_MAX];
    const struct paint_rect r = panel_sheet(n, 40 * n->u, 13 * n->u, N_("Take the last calibration back?"));
    if (c->n > 0)
        widget_wrap(&n->w, r.x_px, r.y_px, r.w_px, 3, WIDGET_BODY, n->w.theme->figure, panel_told(n, &c->entry[c->n - 1], told));
    panel_yes_no(n, r, N_("Take it back"), N_("No, keep"), false);
}

void
panel_draw_calibration(struct panel_pen *n)
{
    if (n->p->context == PANEL_IN_CALIBRATION)
        draw_calibration(n);
    else if (n->p->context == PANEL_IN_MASS)
        draw_mass(n);
    else if (n->p->context == PANEL_ASK_UNDO_CALIBRATION)
        draw_undo(n);
}
