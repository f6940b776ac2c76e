/* panel_draw_live.c - during the run: block and clock, what to mind, the keys as buttons, targets. */
#include "base/mark.h"
#include "pages/panel_parts.h"
#include "runner/figure.h"

#include <math.h>
#include <stdio.h>

/* The plan as a row of segments, each as long as its block; the one that runs is filled as far as it has
 * come. */
static int
draw_plan_row(struct panel_pen *n, int x, int y, int w)
{
    const struct panel *p = n->p;
    const struct theme *t = n->w.theme;
    if (p->open.at_plan < 0 || p->visit.verdict.n_plan_blocks == 0)
        return y;
    const struct plan *plan = &p->open.kase.plan[p->open.at_plan].plan;
    double sum = 0, at = 0;
    for (int i = 0; i < plan->n_blocks; i++)
        sum += plan->block[i].length_s;
    const int h = n->u;
    for (int i = 0; i < plan->n_blocks && sum > 0; i++) {
        const struct plan_block *b = &plan->block[i];
        const int from = x + (int) (w * at / sum), to = x + (int) (w * (at + b->length_s) / sum) - 2;
        const struct paint_rect r = { from, y, to - from, h };
        const bool is_quiet = b->kind != VERDICT_BLOCK_COACHED;
        paint_fill(n->w.picture, r, is_quiet ? t->track : t->stripe, 1);
        double done = i < p->visit.verdict.plan_index ? 1 : 0;
        if (i == p->visit.verdict.plan_index && p->visit.verdict.block_length_s > 0)
            done = 1 - p->visit.verdict.block_left_s / p->visit.verdict.block_length_s;
        if (done > 0)
            paint_fill(
                n->w.picture,
                (struct paint_rect){ r.x_px, r.y_px + h - h / 3, (int) (r.w_px * fmin(done, 1)), h / 3 },
                t->stripe_edge, 1);
        if (i == p->visit.verdict.plan_index)
            widget_frame(&n->w, r, n->u >= 24 ? 2 : 1, t->stripe_edge);
        at += b->length_s;
    }
    return y + h + n->u / 2;
}

static int
draw_clock(struct panel_pen *n, int x, int y, int w)
{
    const struct panel *p = n->p;
    const struct verdict *v = &p->visit.verdict;
    char clock[FIGURE_MAX], text[2 * PANEL_WORDS_MAX], a[24], b[24];
    figure_clock(clock, v->block_left_s);
    panel_text(n, x, y + n->u / 2, w * 3 / 5, panel_bold(WIDGET_TITLE, n->w.theme->figure),
               v->is_paused ? "Paused" : panel_block_name(v->block));
    panel_text(n, x + w * 3 / 5, y - n->u / 2, w * 2 / 5,
               (struct panel_ink){ WIDGET_FIGURE, n->w.theme->figure, true, TEXT_RIGHT },
               isnan(v->block_left_s) ? PANEL_DASH : clock);
    y += n->u * 3;
    const int at = v->plan_index < v->n_plan_blocks ? v->plan_index + 1 : v->n_plan_blocks;
    const char *feedback = panel_word(n, v->is_feedback_shown ? "feedback shown" : N_("feedback withheld"));
    if (v->n_plan_blocks > 0)
        PANEL_FILL(n, text, "block {1} of {2}, {3}", panel_count(a, at), panel_count(b, v->n_plan_blocks), feedback);
    else
        PANEL_FILL(n, text, "free running, {1}", feedback);
    panel_text(n, x, y, w, panel_ink(WIDGET_BODY, n->w.theme->label), text);
    return draw_plan_row(n, x, y + widget_line_px(&n->w, WIDGET_BODY) + n->u / 4, w);
}

const char *
panel_live_sentence(const struct panel_pen *n, char told[PANEL_TOLD_MAX])
{
    static const char *const says[] = {
        [VERDICT_SENSOR_WAITING] = N_("Waiting for the sensor. Plug it in and switch it on."),
        [VERDICT_SENSOR_QUIET] = N_("No data from the sensor. Check its cable and its power."),
        [VERDICT_SENSOR_GONE] = N_("The sensor is unplugged. Plug it in again."),
        [VERDICT_SENSOR_GARBLED] = N_("The sensor's data can't be read. Check its cable and its kind."),
    };
    const struct verdict *v = &n->p->visit.verdict;
    if (v->sensor == VERDICT_SENSOR_LIVE)
        return NULL;
    return message_is_none(&v->message) ? panel_word(n, says[v->sensor]) : panel_told(n, &v->message, told);
}

/* The sensor is lost: why, and how old the newest value is. */
static void
draw_lost(struct panel_pen *n, struct paint_rect r, const char *sentence)
{
    char text[PANEL_WORDS_MAX], age[24];
    const int64_t age_us = panel_age_us(n->p);
    const int small = widget_line_px(&n->w, WIDGET_SMALL);
    paint_fill(n->w.picture, r, n->w.theme->alert, 1);
    widget_wrap(&n->w, r.x_px + n->u / 2, r.y_px + n->u / 4, r.w_px - n->u, 2, WIDGET_BODY, n->w.theme->alert_text, sentence);
    if (age_us < 0)
        return;
    PANEL_FILL(n, text, "Last values {1} s ago", panel_count(age, (int) (age_us / UNITS_US_PER_S)));
    widget_text(&n->w, r.x_px + n->u / 2, r.y_px + r.h_px - small, r.w_px - n->u, TEXT_LEFT, WIDGET_SMALL, false,
                n->w.theme->alert_text, text);
}

/* What the flow says now; a stop is loud, and so is a lost sensor. */
static int
draw_sentence(struct panel_pen *n, int x, int y, int w)
{
    const struct panel *p = n->p;
    char text[PANEL_TOLD_MAX], told[PANEL_TOLD_MAX];
    struct message says;
    const char *lost = panel_live_sentence(n, told);
    const bool is_stop = p->visit.flow.is_stop_asked;
    const int lost_px = lost && !is_stop ? widget_line_px(&n->w, WIDGET_SMALL) : 0;
    const struct paint_rect r = { x, y, w, widget_line_px(&n->w, WIDGET_BODY) * 2 + n->u / 2 + lost_px };
    visit_flow_sentence(&p->visit.flow, &says);
    panel_told(n, &says, text);
    if (lost && !is_stop)
        draw_lost(n, r, lost);
    else if (text[0]) {
        paint_fill(n->w.picture, r, is_stop ? n->w.theme->alert : n->w.theme->panel, 1);
        panel_wrap(n, x + n->u / 2, y + n->u / 4, w - n->u, 2,
                   panel_ink(WIDGET_BODY, is_stop ? n->w.theme->alert_text : n->w.theme->figure), text);
    }
    return y + r.h_px + n->u / 2;
}

static int
draw_state(struct panel_pen *n, int x, int y, int w)
{
    static const char *const feedback[] = { N_("by the plan"), N_("off by hand"), N_("on by hand") };
    static const char *const gaits[] = { N_("not known"), N_("nobody on the belt"), N_("standing"), N_("walking"),
                                         N_("running") };
    const struct panel *p = n->p;
    const struct verdict *v = &p->visit.verdict;
    const bool is_lost = v->sensor != VERDICT_SENSOR_LIVE;
    char text[2 * PANEL_WORDS_MAX], a[24], b[24];
    PANEL_FILL(n, text, "{1}, {2} steps", panel_word(n, gaits[is_lost ? STEP_GAIT_UNKNOWN : v->gait]),
               panel_count(a, (int) v->n_steps));
    y = panel_pair(n, x, y, w, "runner", text);
    panel_number(n, a, is_lost && v->is_speed_measured ? (double) NAN : v->belt_speed_m_s, 1, " m/s");
    y = panel_pair(n, x, y, w, "belt", v->is_speed_measured ? PANEL_FILL(n, text, "{1}, measured by the mat", a) : a);
    if (v->has_landing && isnan(v->foot_length_mm) && !v->is_speed_measured &&
        !(isnan(v->landing[0].first_mm) && isnan(v->landing[1].first_mm))) /* neither a mat's print nor times alone */
        y = panel_pair(n, x, y, w, "foot length", N_("not set: landing ahead is coarser"));
    y = panel_pair(n, x, y, w, "feedback", feedback[p->visit.feedback]);
    PANEL_FILL(n, text, "{1} before, worst now {2}", panel_number(n, a, p->visit.flow.pain_before, 0, ""),
               panel_number(n, b, p->visit.flow.pain_worst, 0, ""));
    y = panel_pair(n, x, y, w, "pain", text);
    if (p->visit.n_marks > 0) {
        snprintf(text, sizeof text, "%d", p->visit.n_marks);
        y = panel_pair(n, x, y, w, "marks", text);
    }
    return y + n->u / 2;
}

static int
draw_buttons(struct panel_pen *n, int x, int y, int w)
{
    const struct panel *p = n->p;
    const bool is_baseline = p->visit.verdict.block == VERDICT_BLOCK_BASELINE;
    const struct {
        enum panel_action action;
        const char *label;
        bool is_on;
    } buttons[] = {
        { PANEL_DO_PAUSE, p->visit.verdict.is_paused ? N_("Resume") : N_("Pause"), p->visit.verdict.is_paused },
        { PANEL_DO_PAIN, N_("Pain now"), false },
        { PANEL_DO_FEEDBACK, N_("Feedback"), p->visit.feedback != COMMAND_FEEDBACK_BY_PLAN },
        { PANEL_DO_SKIP, N_("Skip\xE2\x80\xA6"), false },
        { PANEL_DO_EXTEND, N_("+1 min"), false },
        { PANEL_DO_MARK, N_("Mark"), false },
        { PANEL_DO_SLOWER, N_("Slower"), false },
        { PANEL_DO_FASTER, N_("Faster"), false },
        { PANEL_DO_NOTE, N_("Note"), false },
        { PANEL_DO_UNDO, N_("Undo"), false },
        { is_baseline ? PANEL_DO_ACCEPT : PANEL_DO_REDO, is_baseline ? N_("Accept") : N_("Redo"), false },
        { PANEL_DO_STOP, N_("End\xE2\x80\xA6"), false },
    };
    const int n_columns = n->body.w_px < 44 * n->u ? 4 : 3, n_rows = 12 / n_columns;
    const int gap = n->u / 2, bw = (w - (n_columns - 1) * gap) / n_columns, bh = n->u * 11 / 5;
    for (int i = 0; i < 12; i++)
        panel_button(
            n,
            (struct paint_rect){ x + (i % n_columns) * (bw + gap), y + (i / n_columns) * (bh + gap), bw, bh },
            buttons[i].action, 0, buttons[i].label, buttons[i].is_on);
    return y + n_rows * (bh + gap) + n->u / 2;
}

/* Its cost and the room left; a visit that is not recorded has been told of in words. */
static int
draw_recording(struct panel_pen *n, int x, int y, int w)
{
    const struct panel_recording *r = &n->p->visit.recording;
    char text[PANEL_WORDS_MAX], a[24], b[24];
    if (!r->is_kept)
        return y;
    PANEL_FILL(n, text, "{1} MB a minute, room for {2} h", panel_number(n, a, r->mb_per_min, 1, ""),
               panel_number(n, b, r->room_h, 0, ""));
    return panel_pair(n, x, y, w, "recording", r->has_ended_early ? N_("ended early") : text) + n->u / 2;
}

void
panel_draw_live(struct panel_pen *n)
{
    const struct paint_rect b = n->body;
    const bool is_narrow = b.w_px < 44 * n->u;
    const int w = is_narrow ? b.w_px : b.w_px * 42 / 100;
    int y = draw_clock(n, b.x_px, b.y_px, w);
    y = draw_sentence(n, b.x_px, y, w);
    if (is_narrow) { /* beside the runner's screen, which says the rest */
        y = draw_buttons(n, b.x_px, y, w);
        panel_draw_targets(n, (struct paint_rect){ b.x_px, y, w, b.y_px + b.h_px - y });
        return;
    }
    y = draw_state(n, b.x_px, y, w);
    draw_buttons(n, b.x_px, y, w);
    const int x = b.x_px + w + 2 * n->u;
    y = draw_recording(n, x, b.y_px, b.w_px - w - 2 * n->u);
    panel_draw_targets(n, (struct paint_rect){ x, y, b.w_px - w - 2 * n->u, b.y_px + b.h_px - y });
}
