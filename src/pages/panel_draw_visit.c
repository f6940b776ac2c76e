/* panel_draw_visit.c - before the run: the last visit, the plan, targets, the way to the run, the tally. */
#include "base/mark.h"
#include "base/str.h"
#include "pages/panel_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static int
draw_last(struct panel_pen *n, int x, int y, int w)
{
    const struct panel_case *k = &n->p->open.kase;
    char text[PANEL_WORDS_MAX + 80], a[24], b[24], c[24];
    y = panel_heading(n, x, y, w, "Last visit");
    const struct panel_visit *v;
    const int n_newest = panel_newest(n->p, &v);
    if (n_newest == 0) {
        panel_text(n, x, y, w, panel_ink(WIDGET_BODY, n->w.theme->label), "None yet.");
        return y + widget_line_px(&n->w, WIDGET_BODY) + n->u;
    }
    v += n_newest - 1;
    y = panel_pair(n, x, y, w, "when", v->when);
    PANEL_FILL(n, text,
               !v->is_finished   ? "{1} min, not ended"
               : v->is_cut_short ? N_("{1} min, cut short")
                                 : N_("{1} min"),
               panel_number(n, a, v->minutes, 1, ""));
    y = panel_pair(n, x, y, w, "run", text);
    const enum metric m = k->n_metrics > 0 ? k->metric[0] : METRIC_CADENCE_SPM;
    const struct panel_figure *f = &v->figure[m];
    PANEL_FILL(n, text, "{1}: {2}, at first {3}", panel_word(n, panel_metric_label(m)), panel_value(n, a, m, f->held),
               panel_value(n, b, m, f->held - f->change));
    y += panel_wrap(n, x, y, w, 2, panel_ink(WIDGET_BODY, n->w.theme->figure), text);
    PANEL_FILL(n, text, "{1}, {2} withheld", panel_number(n, a, f->shown_pct, 0, " %"),
               panel_number(n, b, f->withheld_pct, 0, " %"));
    y = panel_pair(n, x, y, w, "in band", text);
    PANEL_FILL(n, text, "{1} before, {2} worst, {3} after", panel_number(n, a, v->pain_before, 0, ""),
             panel_number(n, b, v->pain_worst, 0, ""), panel_number(n, c, v->pain_after, 0, ""));
    y = panel_pair(n, x, y, w, "pain", text);
    if (v->dose_note[0])
        y += panel_wrap(n, x, y, w, 3, panel_ink(WIDGET_SMALL, n->w.theme->figure), v->dose_note);
    return y + n->u;
}

/* What the chosen plan is, into text. */
static void
plan_words(struct panel_pen *n, char text[2 * PANEL_WORDS_MAX])
{
    const struct panel *p = n->p;
    char share[24], visit[24], all[24], minutes[24];
    if (p->open.at_plan < 0) {
        snprintf(text, 2 * PANEL_WORDS_MAX, "%s", panel_word(n, "Feedback all the time, until you end the run."));
        return;
    }
    const struct panel_plan *q = &p->open.kase.plan[p->open.at_plan];
    const char *const part[] = { panel_count(visit, q->visit), panel_count(all, q->n_visits),
                                 panel_number(n, minutes, q->coached_min, 0, ""),
                                 panel_number(n, share, 100 * q->shown_share, 0, " %"),
                                 q->source[0] ? q->source : panel_word(n, "A plan of our own.") };
    if (q->visit == 0)
        panel_words_fill(n->words, text, 2 * PANEL_WORDS_MAX, "All {1} visits of it are done; this one repeats the last.",
                         &part[1], 1);
    else
        panel_words_fill(n->words, text, 2 * PANEL_WORDS_MAX,
                         q->is_repeat ? "Visit {1} of {2}, again, since it was cut short: {3} min coached, feedback in {4} of it. {5}"
                                      : N_("Visit {1} of {2}: {3} min coached, feedback in {4} of it. {5}"),
                         part, 5);
}

static void
draw_plan_row(struct panel_pen *n, struct paint_rect row, int i)
{
    const struct panel_case *k = &n->p->open.kase;
    const bool is_free = i == k->n_plans; /* the last row: no plan */
    const bool is_here = is_free ? n->p->open.at_plan < 0 : n->p->open.at_plan == i;
    if (!is_free && !message_is_none(&k->plan[i].why)) { /* a file that is wrong: where, and in what */
        char told[PANEL_TOLD_MAX];
        widget_text(&n->w, row.x_px + n->u / 2, row.y_px + n->u / 4, row.w_px - n->u, TEXT_LEFT, WIDGET_SMALL, false,
                    n->w.theme->stale, panel_told(n, &k->plan[i].why, told));
        panel_spot(n, row, PANEL_DO_PLAN_AT, i);
        return;
    }
    widget_row(&n->w, row, is_here);
    widget_text(&n->w, row.x_px + n->u / 2, row.y_px + n->u / 6, row.w_px - n->u, TEXT_LEFT, WIDGET_BODY, is_here,
                n->w.theme->figure, is_free ? panel_word(n, "free running") : k->plan[i].id);
    panel_spot(n, row, PANEL_DO_PLAN_AT, i);
}

/* As many plans as fit, the chosen one among them; how many more there are is said. */
static void
draw_plan(struct panel_pen *n, int x, int y, int w, int bottom)
{
    const struct panel *p = n->p;
    const int n_rows = p->open.kase.n_plans + 1, at = p->open.at_plan < 0 ? n_rows - 1 : p->open.at_plan, row_px = n->u * 17 / 10;
    char text[2 * PANEL_WORDS_MAX], left[24], count[PANEL_WORDS_MAX];
    y = panel_heading(n, x, y, w, "Plan");
    plan_words(n, text);
    const int line = widget_line_px(&n->w, WIDGET_SMALL);
    const int words_px = panel_wrap(n, x, y, w, 5, panel_ink(WIDGET_SMALL, WIDGET_MEASURE), text);
    int n_fit = (bottom - y - words_px - n->u / 2) / row_px;
    if (n_fit < n_rows || p->open.kase.n_more_plans > 0)
        n_fit = (bottom - y - words_px - n->u / 2 - line) / row_px;
    n_fit = n_fit < 1 ? 1 : n_fit > n_rows ? n_rows : n_fit;
    const int from = at >= n_fit ? at - n_fit + 1 : 0;
    for (int i = from; i < from + n_fit; i++, y += row_px)
        draw_plan_row(n, (struct paint_rect){ x, y, w, row_px }, i);
    if (n_fit < n_rows || p->open.kase.n_more_plans > 0) {
        const struct paint_rect more = { x, y, w, line };
        PANEL_FILL(n, count, "{1} more\xE2\x80\xA6", panel_count(left, n_rows - n_fit + p->open.kase.n_more_plans));
        widget_text(&n->w, x + n->u / 2, y, w - n->u, TEXT_LEFT, WIDGET_SMALL, false, n->w.theme->label, count);
        panel_spot(n, more, PANEL_DO_PLAN, 0);
        y += line;
    }
    y += n->u / 2;
    panel_wrap(n, x, y, w, bottom > y ? (bottom - y) / line : 0, panel_ink(WIDGET_SMALL, n->w.theme->label), text);
}

/* One phase of the way to the run: a number, a name, and whether it is done, here, or to come. */
static int
draw_phase(struct panel_pen *n, int x, int y, int w, int number, const char *name,
           enum visit_flow_phase phase)
{
    const struct panel *p = n->p;
    const int now = p->visit.is_on ? (int) p->visit.flow.phase : -1;
    const bool is_done = now > (int) phase, is_here = now == (int) phase;
    char text[16];
    snprintf(text, sizeof text, "%d", number);
    const struct paint_point c = { x + n->u * 0.8, y + n->u * 0.75 };
    paint_disc(n->w.picture, c, n->u * 0.8, is_here ? n->w.theme->stripe_edge : n->w.theme->track, 1);
    if (is_done)
        widget_tick(&n->w, x + n->u / 4, y + n->u / 5, n->u * 11 / 10, 1);
    else
        panel_text(n, x, y - n->u / 16, n->u * 8 / 5,
                   (struct panel_ink){ WIDGET_BODY, is_here ? n->w.theme->ground : n->w.theme->label, is_here, TEXT_CENTRE },
                   text);
    panel_text(n, x + n->u * 9 / 4, y, w - n->u * 9 / 4,
               (struct panel_ink){ WIDGET_BODY, is_here || is_done ? n->w.theme->figure : n->w.theme->label, is_here, TEXT_LEFT },
               name);
    return y + n->u * 2;
}

/* The check's verdict, and what comes next; what it rests on stands beside it (panel_draw_sensor). */
static int
draw_check(struct panel_pen *n, int x, int y, int w)
{
    const struct panel *p = n->p;
    const struct check_report *c = &p->visit.watch.check;
    const bool is_here = p->visit.flow.phase == VISIT_FLOW_CHECK;
    const char *next = !is_here               ? ""
                       : !p->visit.watch.has_check  ? "Looking at the empty sensor for a few seconds: nobody on it, please."
                       : c->is_occupied && !p->visit.watch.is_loaded
                           ? N_("Somebody seems to be on it: get off, stop the belt, and K checks again.")
                       : !p->visit.watch.is_loaded  ? N_("Now have somebody step on, walk over all of it and press single spots; L tells that "
                                                "it begins.")
                                              : N_("Go on loading all of it, until nothing is untested that matters.");
    char text[2 * PANEL_WORDS_MAX], empty[24], loaded[24];
    if (!p->visit.has_watch)
        return y;
    if (p->visit.watch.has_check) {
        PANEL_FILL(n, text, p->visit.watch.is_loaded ? "Check, {1} s empty, {2} s loaded: {3}" : N_("Check, {1} s empty: {3}"),
                   panel_number(n, empty, c->seconds_empty, 0, ""), panel_number(n, loaded, c->seconds_loaded, 0, ""),
                   panel_word(n, check_grade_name(c->grade)));
        panel_text(n, x, y, w, panel_bold(WIDGET_SMALL, n->w.theme->figure), text);
        y += widget_line_px(&n->w, WIDGET_SMALL);
    }
    return y + panel_wrap(n, x, y, w, 4, panel_ink(WIDGET_SMALL, n->w.theme->label), next);
}

static int
draw_sensor(struct panel_pen *n, int x, int y, int w)
{
    static const char *const plain[] = {
        [PANEL_SENSOR_CLOSED] = N_("Enter looks for the sensor and checks it."),
        [PANEL_SENSOR_OPENING] = N_("Looking for the sensor\xE2\x80\xA6 keep the belt empty."),
        [PANEL_SENSOR_OPEN] = "",
        [PANEL_SENSOR_REFUSED] = "",
    };
    const struct panel *p = n->p;
    const bool is_past = p->visit.is_on && p->visit.flow.phase > VISIT_FLOW_CHECK;
    char text[3 * PANEL_WORDS_MAX];
    const bool is_gone = p->visit.sensor == PANEL_SENSOR_OPEN && p->visit.verdict.sensor == VERDICT_SENSOR_GONE;
    if (is_gone)
        y += panel_wrap(n, x, y, w, 5, panel_bold(WIDGET_SMALL, n->w.theme->figure), panel_live_sentence(n, (char[PANEL_TOLD_MAX]){ "" }));
    else if (!message_is_none(&p->visit.sensor_told) && !is_past)
        y += panel_wrap(n, x, y, w, 5, panel_ink(WIDGET_SMALL, n->w.theme->figure),
                        panel_told(n, &p->visit.sensor_told, (char[PANEL_TOLD_MAX]){ "" }));
    else if (plain[p->visit.sensor][0])
        y += panel_wrap(n, x, y, w, 2, panel_ink(WIDGET_SMALL, n->w.theme->label), plain[p->visit.sensor]);
    if (p->visit.sensor == PANEL_SENSOR_REFUSED)
        y += panel_wrap(n, x, y, w, 2, panel_ink(WIDGET_SMALL, n->w.theme->label),
                        "Enter looks again; Esc gives the visit up.");
    y += panel_wrap(n, x, y, w, 3,
                    panel_ink(WIDGET_SMALL, p->calib.told.is_due ? n->w.theme->look[THEME_ABOVE].rgb : n->w.theme->label),
                    panel_calibration_text(n, text));
    return draw_check(n, x, y, w) + n->u / 2;
}

static const char *
go_on_label(const struct panel *p)
{
    if (!p->visit.is_on)
        return N_("Start: check the sensor");
    switch (p->visit.flow.phase) {
    case VISIT_FLOW_CHECK:
        if (p->visit.sensor == PANEL_SENSOR_REFUSED)
            return N_("Look again");
        if (!p->visit.has_watch || !p->visit.watch.has_check)
            return N_("Go on without the check");
        return p->visit.watch.check.grade == CHECK_BAD    ? N_("Go on all the same")
               : p->visit.watch.check.grade == CHECK_GOOD ? N_("Sensor is fine")
                                                    : N_("Go on, and mind that");
    case VISIT_FLOW_CAUTIONS:
        return N_("Read, go on");
    case VISIT_FLOW_PAIN_BEFORE:
        return p->visit.flow.is_stop_asked ? N_("Run anyway") : p->visit.flow.is_answered ? N_("Begin the run") : N_("Ask for pain");
    case VISIT_FLOW_RUN:
        return N_("To the run");
    case VISIT_FLOW_AFTER:
    case VISIT_FLOW_NOTES:
    case VISIT_FLOW_SAVED:
        break;
    }
    return N_("To the summary");
}

/* Before any of it began the steps stand in one line. */
static int
draw_way_ahead(struct panel_pen *n, int x, int y, int w)
{
    static const char *const names[] = { "Sensor", N_("Cautions"), N_("Pain before") };
    char text[3 * PANEL_WORDS_MAX] = "";
    for (int i = 0; i < 3; i++) {
        char part[PANEL_WORDS_MAX + 8];
        snprintf(part, sizeof part, "%s%d %s", i > 0 ? "   " : "", i + 1, panel_word(n, names[i]));
        str_append(text, sizeof text, part);
    }
    y += widget_wrap(&n->w, x, y, w, 2, WIDGET_BODY, n->w.theme->figure, text) + n->u / 4;
    return draw_sensor(n, x, y, w);
}

static int
draw_steps(struct panel_pen *n, int x, int y, int w)
{
    const struct panel *p = n->p;
    const int in = n->u * 9 / 4;
    y = draw_phase(n, x, y, w, 1, "Sensor", VISIT_FLOW_CHECK);
    if (p->visit.flow.phase == VISIT_FLOW_CHECK || p->visit.flow.phase == VISIT_FLOW_PAIN_BEFORE)
        y = draw_sensor(n, x + in, y, w - in);
    y = draw_phase(n, x, y, w, 2, N_("Cautions"), VISIT_FLOW_CAUTIONS);
    if (p->visit.flow.phase == VISIT_FLOW_CAUTIONS)
        for (int i = 0; visit_flow_caution(i); i++)
            y += panel_wrap(n, x + in, y, w - in, 4, panel_ink(WIDGET_SMALL, n->w.theme->figure),
                            visit_flow_caution(i)) + n->u / 3;
    y = draw_phase(n, x, y, w, 3, N_("Pain before"), VISIT_FLOW_PAIN_BEFORE);
    if (!isnan(p->visit.flow.pain_before)) {
        char text[60], number[24];
        PANEL_FILL(n, text, "{1} of 10", panel_number(n, number, p->visit.flow.pain_before, 0, ""));
        panel_text(n, x + in, y - n->u / 3, w - in, panel_ink(WIDGET_SMALL, n->w.theme->figure), text);
        y += n->u;
    }
    return y;
}

static int
draw_way(struct panel_pen *n, int x, int y, int w)
{
    y = panel_heading(n, x, y, w, "Before the run");
    y = n->p->visit.is_on ? draw_steps(n, x, y, w) : draw_way_ahead(n, x, y, w);
    y += n->u / 3;
    panel_button(n, (struct paint_rect){ x, y, w, n->u * 5 / 2 }, PANEL_DO_GO_ON, 0, go_on_label(n->p), true);
    return y + n->u * 7 / 2;
}

void
panel_draw_visit(struct panel_pen *n)
{
    const struct panel *p = n->p;
    const struct paint_rect b = n->body;
    if (!p->open.has_case) {
        panel_text(n, b.x_px, b.y_px, b.w_px, panel_ink(WIDGET_TITLE, n->w.theme->label),
                   p->open.is_loading ? "Reading the store\xE2\x80\xA6" : N_("No runner chosen."));
        return;
    }
    const int gap = n->u * 3 / 2, left = b.w_px * 28 / 100, right = b.w_px * 30 / 100,
              mid = b.w_px - left - right - 2 * gap;
    const int bottom = b.y_px + b.h_px;
    int y = draw_last(n, b.x_px, b.y_px, left);
    draw_plan(n, b.x_px, y, left, bottom);
    const int speed = panel_speed_px(n, mid);
    const struct paint_rect middle = { b.x_px + left + gap, b.y_px, mid, b.h_px - speed - n->u / 2 };
    panel_draw_speed(n, (struct paint_rect){ middle.x_px, bottom - speed, mid, speed });
    if (p->visit.is_on && p->visit.flow.phase == VISIT_FLOW_CHECK)
        panel_draw_sensor(n, middle);
    else
        panel_draw_targets(n, middle);
    y = draw_way(n, b.x_px + left + mid + 2 * gap, b.y_px, right);
    const struct panel_visit *newest;
    const int n_newest = panel_newest(p, &newest);
    const struct tally *t = n_newest > 0 ? &newest[n_newest - 1].tally : NULL;
    if (!p->visit.is_on || p->visit.flow.phase >= VISIT_FLOW_PAIN_BEFORE) /* the sensor and the cautions need the place */
        panel_draw_tally(n, b.x_px + left + mid + 2 * gap, y, right, bottom, t, p->open.ticks);
}
