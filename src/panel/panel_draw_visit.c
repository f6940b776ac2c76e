/* panel_draw_visit.c - before the run: the last visit, the plan, targets, the way to the run, the tally. */
#include "panel/panel_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static int
draw_last(struct panel_pen *n, int x, int y, int w)
{
    const struct panel_case *k = &n->p->kase;
    char text[PANEL_WORDS_MAX + 80], a[24], b[24], c[24];
    y = panel_heading(n, x, y, w, "Last visit");
    if (k->n_visits == 0) {
        panel_text(n, x, y, w, TEXT_LEFT, WIDGET_BODY, false, n->w.theme->label, "None yet.");
        return y + widget_line_px(&n->w, WIDGET_BODY) + n->u;
    }
    const struct panel_visit *v = &k->visit[k->n_visits - 1];
    y = panel_pair(n, x, y, w, "when", v->when);
    PANEL_FILL(n, text,
               !v->is_finished   ? "{1} min, not ended"
               : v->is_cut_short ? "{1} min, cut short"
                                 : "{1} min",
               panel_number(a, v->minutes, 1, ""));
    y = panel_pair(n, x, y, w, "run", text);
    const enum metric m = k->n_metrics > 0 ? k->metric[0] : METRIC_CADENCE_SPM;
    const struct panel_figure *f = &v->figure[m];
    PANEL_FILL(n, text, "{1}: {2}, at first {3}", panel_word(n, panel_metric_label(m)), panel_value(a, m, f->held),
               panel_value(b, m, f->held - f->change));
    y += panel_wrap(n, x, y, w, 2, WIDGET_BODY, n->w.theme->figure, text);
    PANEL_FILL(n, text, "{1}, {2} withheld", panel_number(a, f->shown_pct, 0, " %"),
               panel_number(b, f->withheld_pct, 0, " %"));
    y = panel_pair(n, x, y, w, "in band", text);
    PANEL_FILL(n, text, "{1} before, {2} worst, {3} after", panel_number(a, v->pain_before, 0, ""),
             panel_number(b, v->pain_worst, 0, ""), panel_number(c, v->pain_after, 0, ""));
    y = panel_pair(n, x, y, w, "pain", text);
    if (v->dose_note[0])
        y += panel_wrap(n, x, y, w, 3, WIDGET_SMALL, n->w.theme->figure, v->dose_note);
    return y + n->u;
}

static int
draw_plan(struct panel_pen *n, int x, int y, int w, int bottom)
{
    const struct panel *p = n->p;
    const struct panel_case *k = &p->kase;
    const int row_px = n->u * 17 / 10;
    char text[2 * PANEL_WORDS_MAX], share[24], visit[24], all[24], minutes[24];
    y = panel_heading(n, x, y, w, "Plan");
    const int words_px = 5 * widget_line_px(&n->w, WIDGET_SMALL);
    int n_fit = (bottom - y - words_px) / row_px;
    if (n_fit > k->n_plans + 1)
        n_fit = k->n_plans + 1;
    const int from = p->at_plan >= n_fit ? p->at_plan - n_fit + 1 : 0;
    for (int i = from; i < from + n_fit && i <= k->n_plans; i++, y += row_px) {
        const bool is_free = i == k->n_plans; /* the last row: no plan */
        const bool is_here = is_free ? p->at_plan < 0 : p->at_plan == i;
        const struct paint_rect row = { x, y, w, row_px };
        widget_row(&n->w, row, is_here);
        widget_text(&n->w, x + n->u / 2, y + n->u / 6, w - n->u, TEXT_LEFT, WIDGET_BODY, is_here,
                    n->w.theme->figure, is_free ? panel_word(n, "free running, no plan") : k->plan[i].id);
        panel_spot(n, row, PANEL_DO_PLAN_AT, is_free ? k->n_plans : i);
    }
    y += n->u / 2;
    if (p->at_plan < 0) {
        panel_wrap(n, x, y, w, 3, WIDGET_SMALL, n->w.theme->label,
                    "Feedback all the time, until you end the run.");
        return y;
    }
    const struct panel_plan *q = &k->plan[p->at_plan];
    if (q->visit == 0)
        PANEL_FILL(n, text, "All {1} visits of it are done; this one repeats the last.", panel_count(all, q->n_visits));
    else
        PANEL_FILL(n, text,
                   q->is_repeat ? "Visit {1} of {2}, again, since it was cut short: {3} min coached, feedback in {4} of it. {5}"
                                : "Visit {1} of {2}: {3} min coached, feedback in {4} of it. {5}",
                   panel_count(visit, q->visit), panel_count(all, q->n_visits), panel_number(minutes, q->coached_min, 0, ""),
                   panel_number(share, 100 * q->shown_share, 0, " %"),
                   q->source[0] ? q->source : panel_word(n, "A plan of our own."));
    panel_wrap(n, x, y, w, 5, WIDGET_SMALL, n->w.theme->label, text);
    return y;
}

/* One phase of the way to the run: a number, a name, and whether it is done, here, or to come. */
static int
draw_phase(struct panel_pen *n, int x, int y, int w, int number, const char *name,
           enum visit_flow_phase phase)
{
    const struct panel *p = n->p;
    const int now = p->has_visit ? (int) p->flow.phase : -1;
    const bool is_done = now > (int) phase, is_here = now == (int) phase;
    char text[16];
    snprintf(text, sizeof text, "%d", number);
    const struct paint_point c = { x + n->u * 0.8, y + n->u * 0.75 };
    paint_disc(n->w.picture, c, n->u * 0.8, is_here ? n->w.theme->stripe_edge : n->w.theme->track, 1);
    if (is_done)
        widget_tick(&n->w, x + n->u / 4, y + n->u / 5, n->u * 11 / 10, 1);
    else
        panel_text(n, x, y - n->u / 16, n->u * 8 / 5, TEXT_CENTRE, WIDGET_BODY, is_here,
                    is_here ? n->w.theme->ground : n->w.theme->label, text);
    panel_text(n, x + n->u * 9 / 4, y, w - n->u * 9 / 4, TEXT_LEFT, WIDGET_BODY, is_here,
                is_here || is_done ? n->w.theme->figure : n->w.theme->label, name);
    return y + n->u * 2;
}

/* The check's verdict; what it rests on stands beside it (panel_draw_sensor). */
static int
draw_check(struct panel_pen *n, int x, int y, int w)
{
    const struct panel *p = n->p;
    char text[2 * PANEL_WORDS_MAX], seconds[24];
    if (!p->has_check)
        return y;
    PANEL_FILL(n, text, "Check of the empty sensor, {1} s: {2}", panel_number(seconds, p->check.seconds_empty, 0, ""),
               panel_word(n, check_grade_name(p->check.grade)));
    panel_text(n, x, y, w, TEXT_LEFT, WIDGET_SMALL, true, n->w.theme->figure, text);
    y += widget_line_px(&n->w, WIDGET_SMALL);
    return y;
}

static int
draw_sensor(struct panel_pen *n, int x, int y, int w)
{
    static const char *const plain[] = {
        [PANEL_SENSOR_CLOSED] = "Enter looks for the sensor and checks it.",
        [PANEL_SENSOR_OPENING] = "Looking for the sensor\xE2\x80\xA6 keep the belt empty.",
        [PANEL_SENSOR_OPEN] = "",
        [PANEL_SENSOR_REFUSED] = "",
    };
    const struct panel *p = n->p;
    char sentence[VISIT_FLOW_TEXT_MAX] = "";
    if (p->sensor_text[0])
        y += panel_wrap(n, x, y, w, 5, WIDGET_SMALL, n->w.theme->figure, p->sensor_text);
    else if (plain[p->sensor][0])
        y += panel_wrap(n, x, y, w, 2, WIDGET_SMALL, n->w.theme->label, plain[p->sensor]);
    if (p->sensor == PANEL_SENSOR_OPEN && p->has_visit && p->flow.phase == VISIT_FLOW_CHECK)
        visit_flow_sentence(&p->flow, sentence);
    if (p->sensor == PANEL_SENSOR_REFUSED)
        snprintf(sentence, sizeof sentence, "Enter looks again; Esc gives the visit up.");
    y = draw_check(n, x, y, w);
    y += panel_wrap(n, x, y, w, 3, WIDGET_SMALL, n->w.theme->label, sentence);
    return y + n->u / 2;
}

static const char *
go_on_label(const struct panel *p)
{
    if (!p->has_visit)
        return "Start: check the sensor";
    switch (p->flow.phase) {
    case VISIT_FLOW_CHECK:
        return p->sensor == PANEL_SENSOR_REFUSED             ? "Look again"
               : p->has_check && p->check.grade == CHECK_BAD ? "Go on all the same"
                                                             : "Sensor is fine";
    case VISIT_FLOW_CAUTIONS:
        return "Read, go on";
    case VISIT_FLOW_PAIN_BEFORE:
        return p->flow.is_stop_asked ? "Run anyway" : p->flow.is_answered ? "Begin the run" : "Ask for pain";
    case VISIT_FLOW_RUN:
        return "To the run";
    case VISIT_FLOW_AFTER:
    case VISIT_FLOW_NOTES:
    case VISIT_FLOW_SAVED:
        break;
    }
    return "To the summary";
}

static int
draw_way(struct panel_pen *n, int x, int y, int w)
{
    const struct panel *p = n->p;
    y = panel_heading(n, x, y, w, "Before the run");
    y = draw_phase(n, x, y, w, 1, "Sensor", VISIT_FLOW_CHECK);
    y = draw_sensor(n, x + n->u * 9 / 4, y, w - n->u * 9 / 4);
    y = draw_phase(n, x, y, w, 2, "Cautions", VISIT_FLOW_CAUTIONS);
    if (p->has_visit && p->flow.phase == VISIT_FLOW_CAUTIONS)
        for (int i = 0; visit_flow_caution(i); i++)
            y += panel_wrap(n, x + n->u * 9 / 4, y, w - n->u * 9 / 4, 4, WIDGET_SMALL,
                             n->w.theme->figure, visit_flow_caution(i)) +
                 n->u / 3;
    y = draw_phase(n, x, y, w, 3, "Pain before", VISIT_FLOW_PAIN_BEFORE);
    if (p->has_visit && !isnan(p->flow.pain_before)) {
        char text[60], number[24];
        PANEL_FILL(n, text, "{1} of 10", panel_number(number, p->flow.pain_before, 0, ""));
        panel_text(n, x + n->u * 9 / 4, y - n->u / 3, w, TEXT_LEFT, WIDGET_SMALL, false,
                    n->w.theme->figure, text);
        y += n->u;
    }
    y += n->u / 3;
    panel_button(n, (struct paint_rect){ x, y, w, n->u * 5 / 2 }, PANEL_DO_GO_ON, 0, go_on_label(p), true);
    return y + n->u * 7 / 2;
}

int
panel_draw_tally(struct panel_pen *n, int x, int y, int w, const struct tally *t,
                 const enum tally_state *ticks)
{
    static const int keys[] = { TALLY_KNEE_STRAIGHT, TALLY_SHIN_BACK, TALLY_TRUNK, TALLY_LOUD };
    char text[PANEL_WORDS_MAX], present[24], known[24];
    const int row_px = n->u * 15 / 10, size = n->u * 11 / 10;
    int n_present = 0, n_known = 0;
    enum tally_state state[TALLY_COUNT];
    for (int i = 0; i < TALLY_COUNT; i++) {
        state[i] = tally_row((enum tally_sign) i)->is_ticked && ticks ? ticks[i]
                   : t                                                ? t->sign[i]
                                                                      : TALLY_UNKNOWN;
        n_known += state[i] != TALLY_UNKNOWN;
        n_present += state[i] == TALLY_PRESENT;
    }
    PANEL_FILL(n, text, "Signs of overstriding: {1} of the {2} looked at", panel_count(present, n_present),
               panel_count(known, n_known));
    y = panel_heading(n, x, y, w, text);
    for (int i = 0; i < TALLY_COUNT; i++) {
        const struct tally_row *row = tally_row((enum tally_sign) i);
        const bool is_key = row->is_ticked;
        if (!is_key && state[i] == TALLY_UNKNOWN)
            continue;
        widget_tick(&n->w, x, y, size, state[i] == TALLY_PRESENT ? 1 : state[i] == TALLY_ABSENT ? 2 : 0);
        int at = x + size + n->u / 2;
        if (is_key) {
            for (int k = 0; k < 4; k++)
                if (keys[k] == i)
                    at +=
                        widget_cap(&n->w, at, y, panel_keys_cap(PANEL_ON_VISIT, PANEL_DO_TICK, i)) + n->u / 2;
            panel_spot(n, (struct paint_rect){ x, y, w, row_px }, PANEL_DO_TICK, i);
        }
        panel_text(n, at, y, x + w - at, TEXT_LEFT, WIDGET_SMALL, false,
                    state[i] == TALLY_UNKNOWN ? n->w.theme->label : n->w.theme->figure, row->label);
        y += row_px;
    }
    if (t && t->heel_first != TALLY_UNKNOWN) {
        panel_text(n, x, y, w, TEXT_LEFT, WIDGET_SMALL, false, n->w.theme->label,
                    t->heel_first == TALLY_PRESENT ? "Heel first: neutral, most runners land so."
                                                   : "Not heel first: neutral.");
        y += row_px;
    }
    y += panel_wrap(n, x, y, w, 3, WIDGET_SMALL, n->w.theme->label, TALLY_SENTENCE);
    return y;
}

void
panel_draw_visit(struct panel_pen *n)
{
    const struct panel *p = n->p;
    const struct paint_rect b = n->body;
    if (!p->has_case) {
        panel_text(n, b.x_px, b.y_px, b.w_px, TEXT_LEFT, WIDGET_TITLE, false, n->w.theme->label,
                    p->is_loading ? "Reading the store\xE2\x80\xA6" : "No runner chosen.");
        return;
    }
    const int gap = n->u * 3 / 2, left = b.w_px * 28 / 100, right = b.w_px * 30 / 100,
              mid = b.w_px - left - right - 2 * gap;
    const int bottom = b.y_px + b.h_px;
    int y = draw_last(n, b.x_px, b.y_px, left);
    draw_plan(n, b.x_px, y, left, bottom);
    const struct paint_rect middle = { b.x_px + left + gap, b.y_px, mid, b.h_px };
    if (p->has_visit && p->flow.phase == VISIT_FLOW_CHECK && (p->has_elements || p->has_check))
        panel_draw_sensor(n, middle);
    else
        panel_draw_targets(n, middle);
    y = draw_way(n, b.x_px + left + mid + 2 * gap, b.y_px, right);
    const struct tally *t = p->kase.n_visits > 0 ? &p->kase.visit[p->kase.n_visits - 1].tally : NULL;
    if (!(p->has_visit && p->flow.phase == VISIT_FLOW_CAUTIONS))
        panel_draw_tally(n, b.x_px + left + mid + 2 * gap, y, right, t, p->ticks);
}
