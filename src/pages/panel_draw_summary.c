/* panel_draw_summary.c - one visit's result: what was run, how it felt, the figures, the signs, the notes. */
#include "base/mark.h"
#include "pages/panel_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define N_COLUMNS  PANEL_SUMMARY_N_COLUMNS
#define LEAST_ROWS 4 /* as many as there can be targets: those come first */

static const struct {
    const char *label;
    double share;
} COLUMNS[N_COLUMNS] = {
    { "", 0.235 },       { N_("target"), 0.165 },      { N_("baseline"), 0.095 },
    { N_("held"), 0.095 }, { N_("since first"), 0.11 }, { N_("since last"), 0.115 },
    { N_("shown"), 0.085 }, { N_("withheld"), 0.10 },
};

const char *
panel_summary_column(int i, double *share)
{
    *share = COLUMNS[i].share;
    return COLUMNS[i].label;
}

static void
draw_cells(struct panel_pen *n, int x, int y, int w, char cell[N_COLUMNS][48], struct panel_ink ink)
{
    for (int i = 0; i < N_COLUMNS; i++) {
        const int cw = (int) (COLUMNS[i].share * w);
        widget_text(&n->w, x, y, cw, i == 0 ? TEXT_LEFT : TEXT_RIGHT, ink.size, ink.is_bold, ink.rgb, cell[i]);
        x += cw;
    }
}

static bool
has_target(const struct panel_visit *v, enum metric m)
{
    return !isnan(v->figure[m].low) || !isnan(v->figure[m].high);
}

/* The leading one, the other targets, the rest. */
static int
order_rows(const struct panel_case *k, const struct panel_visit *v, enum metric order[PANEL_MAX_METRICS])
{
    int n = 0;
    for (int turn = 0; turn < 3; turn++)
        for (int i = 0; i < k->n_metrics; i++) {
            const enum metric m = k->metric[i];
            if (turn == (m == v->leads ? 0 : has_target(v, m) ? 1 : 2))
                order[n++] = m;
        }
    return n;
}

/* The first metrics, as many as leave room for their remark above bottom_px, but LEAST_ROWS at least. */
static int
draw_figures(struct panel_pen *n, int x, int y, int w, int bottom_px, const struct panel_visit *v)
{
    const struct panel_case *k = &n->p->open.kase;
    char cell[N_COLUMNS][48], a[24], b[24];
    const int row_px = widget_line_px(&n->w, WIDGET_BODY);
    enum metric order[PANEL_MAX_METRICS];
    const int n_rows = order_rows(k, v, order);
    bottom_px -= 4 * widget_line_px(&n->w, WIDGET_SMALL) + n->u * 3 / 2;
    y = panel_heading(n, x, y, w, "Figures, means of the steps");
    for (int i = 0; i < N_COLUMNS; i++)
        snprintf(cell[i], sizeof cell[i], "%s", panel_word(n, COLUMNS[i].label));
    draw_cells(n, x, y, w, cell, panel_ink(WIDGET_SMALL, n->w.theme->label));
    y += widget_line_px(&n->w, WIDGET_SMALL) + n->u / 4;
    for (int i = 0; i < n_rows && (i < LEAST_ROWS || y + row_px <= bottom_px); i++) {
        const enum metric m = order[i];
        const struct panel_figure *f = &v->figure[m];
        snprintf(cell[0], sizeof cell[0], "%s", panel_word(n, panel_metric_label(m)));
        if (isnan(f->low) && isnan(f->high))
            snprintf(cell[1], sizeof cell[1], PANEL_DASH);
        else
            PANEL_FILL(n, cell[1], "{1} to {2}", panel_value(n, a, m, f->low), panel_value(n, b, m, f->high));
        snprintf(cell[2], sizeof cell[2], "%s", panel_value(n, a, m, f->baseline));
        snprintf(cell[3], sizeof cell[3], "%s", panel_value(n, a, m, f->held));
        snprintf(cell[4], sizeof cell[4], "%s%s", panel_change(n, a, m, f->change), f->is_real ? " *" : f->is_other_speed ? " ~" : "");
        snprintf(cell[5], sizeof cell[5], "%s%s", panel_change(n, a, m, f->from_last),
                 f->is_last_real ? " *" : f->is_last_other_speed ? " ~" : "");
        snprintf(cell[6], sizeof cell[6], "%s", panel_number(n, a, f->shown_pct, 0, " %"));
        snprintf(cell[7], sizeof cell[7], "%s", panel_number(n, a, f->withheld_pct, 0, " %"));
        if (i == 0)
            paint_fill(
                n->w.picture,
                (struct paint_rect){ x, y - n->u / 8, w, row_px },
                n->w.theme->panel, 1);
        draw_cells(n, x, y, w, cell, (i == 0 ? panel_bold : panel_ink)(WIDGET_BODY, n->w.theme->figure));
        y += row_px;
    }
    y += n->u / 2;
    y += panel_wrap(n, x, y, w, 3, panel_ink(WIDGET_SMALL, n->w.theme->label),
                    "* larger than the smallest change that is real for this runner, from how far the figure wanders by "
                    "itself in two silent blocks of two minutes or more. ~ at another belt speed. "
                    "Shown and withheld: share of steps in the band while feedback was on offer, and while it was not.");
    return y + n->u;
}

static int
draw_visit(struct panel_pen *n, int x, int y, int w, const struct panel_visit *v)
{
    const struct panel *p = n->p;
    const bool is_fresh =
        p->visit.is_on && p->visit.flow.phase >= VISIT_FLOW_AFTER && p->open.kase.n_newer_visits == 0 &&
        p->open.at_visit == p->open.kase.n_visits - 1;
    char text[PANEL_WORDS_MAX], a[24], b[24], c[24];
    PANEL_FILL(n, text, "Visit of {1}", v->when);
    y = panel_heading(n, x, y, w, text);
    y = panel_pair(n, x, y, w, "plan", v->plan[0] ? v->plan : panel_word(n, "free running"));
    if (v->course_visit > 0) {
        PANEL_FILL(n, text,
                   !v->is_finished   ? "number {1}, not ended"
                   : v->is_cut_short ? N_("number {1}, cut short")
                                     : N_("number {1}"),
                   panel_count(a, v->course_visit));
        y = panel_pair(n, x, y, w, "visit", text);
    }
    PANEL_FILL(n, text, "{1} min, {2} steps", panel_number(n, a, v->minutes, 1, ""), panel_count(b, v->n_steps));
    y = panel_pair(n, x, y, w, "run", text);
    const double after = is_fresh ? p->visit.kept_pain_after : v->pain_after,
                 effort = is_fresh ? p->visit.kept_effort : v->effort;
    PANEL_FILL(n, text, "{1} before, {2} worst, {3} after", panel_number(n, a, v->pain_before, 0, ""),
             panel_number(n, b, v->pain_worst, 0, ""), panel_number(n, c, after, 0, ""));
    y = panel_pair(n, x, y, w, "pain", text);
    y = panel_pair(n, x, y, w, "effort", PANEL_FILL(n, text, "{1} of 10", panel_number(n, a, effort, 0, "")));
    PANEL_FILL(n, text,
               v->n_fore_least == v->n_fore_most ? "{1} steps land on mid- or forefoot first"
                                                 : N_("{1} to {2} steps land on mid- or forefoot first"),
               panel_count(a, v->n_fore_least), panel_count(b, v->n_fore_most));
    y += panel_wrap(n, x, y, w, 2, panel_ink(WIDGET_SMALL, n->w.theme->figure), text);
    if (v->marks[0]) {
        PANEL_FILL(n, text, "Marks at {1}", v->marks);
        y += panel_wrap(n, x, y + n->u / 4, w, 2, panel_ink(WIDGET_SMALL, n->w.theme->figure), text);
    }
    if (v->dose_note[0])
        y += panel_wrap(n, x, y + n->u / 4, w, 4, panel_ink(WIDGET_SMALL, n->w.theme->figure), v->dose_note);
    if (v->sensor[0]) {
        snprintf(text, sizeof text, "%s: %s", panel_word(n, "Sensor"), v->sensor);
        y += panel_wrap(n, x, y + n->u / 4, w, 5, panel_ink(WIDGET_SMALL, n->w.theme->label), text);
    }
    return y + n->u;
}

void
panel_draw_summary(struct panel_pen *n)
{
    const struct panel *p = n->p;
    const struct paint_rect b = n->body;
    const struct theme *t = n->w.theme;
    if (!p->open.has_case || p->open.is_loading || p->open.kase.n_visits == 0) {
        panel_text(n, b.x_px, b.y_px, b.w_px, panel_ink(WIDGET_TITLE, t->label),
                   p->open.is_loading ? "Working the visit out\xE2\x80\xA6" : N_("No visit yet."));
        return;
    }
    const struct panel_visit *v = &p->open.kase.visit[p->open.at_visit];
    const int gap = n->u * 2, left = b.w_px * 32 / 100, right = b.w_px - left - gap, x = b.x_px + left + gap;
    const bool is_open = p->visit.is_on && p->visit.flow.phase == VISIT_FLOW_AFTER;
    int y = draw_visit(n, b.x_px, b.y_px, left, v);
    panel_draw_tally(n, b.x_px, y, left, b.y_px + b.h_px, &v->tally, NULL);
    const int by = b.y_px + b.h_px - n->u * 5 / 2,
              notes_px = widget_line_px(&n->w, WIDGET_BODY) * 5 / 2 + n->u;
    y = draw_figures(n, x, b.y_px, right, by - notes_px - panel_blocks_px(n, v), v);
    y = panel_draw_blocks(n, x, y, right, by - notes_px, v);
    y = panel_heading(n, x, y, right, "Notes");
    const int n_lines = (by - y - n->u) / widget_line_px(&n->w, WIDGET_BODY);
    widget_wrap(&n->w, x, y, right, n_lines > 0 ? n_lines : 1, WIDGET_BODY, v->notes[0] ? t->figure : t->label,
                v->notes[0] ? v->notes : panel_word(n, "None."));
    const struct {
        enum panel_action action;
        const char *label;
        bool is_on;
    } buttons[] = { { PANEL_DO_PAIN, N_("Pain after"), is_open && isnan(p->visit.flow.pain_after) },
                    { PANEL_DO_EFFORT, N_("Effort"), is_open && isnan(p->visit.flow.effort) },
                    { PANEL_DO_NOTE, N_("Note"), false },
                    { PANEL_DO_PRINT, N_("Page"), false },
                    { PANEL_DO_SAVE, N_("Save"), is_open } };
    const int bw = (right - 4 * n->u / 2) / 5;
    for (int i = 0; i < 5; i++)
        panel_button(n, (struct paint_rect){ x + i * (bw + n->u / 2), by, bw, n->u * 5 / 2 },
                     buttons[i].action, 0, buttons[i].label, buttons[i].is_on);
}
