/* panel_targets.c - targets on the panel: the scale that each is drawn on, and dragging, nudging, taking
 * over. */
#include "base/mark.h"
#include "panel/panel_parts.h"

#include <math.h>
#include <string.h>

double
panel_nudge_step(enum metric m)
{
    const int digits = metric_info(m)->digits;
    switch ((int) m) {
    case METRIC_CADENCE_SPM:
    case METRIC_LOAD_RATE_BW_S:
    case METRIC_STRIKE_INDEX_PCT:
        return 1;
    case METRIC_CONTACT_MS:
    case METRIC_FLIGHT_MS:
    case METRIC_LANDING_AHEAD_MM:
    case METRIC_AHEAD_AT_LOAD_MM:
        return 2;
    case METRIC_BRAKING_IMPULSE_BW_S:
        return 0.0005;
    case METRIC_PEAK_BRAKING_BW:
        return 0.01;
    case METRIC_IMPACT_TRANSIENT:
    case METRIC_WHOLE_FOOT_AT_LOAD:
        return 0.05; /* a share of steps */
    default:
        return 5 * pow(10, -digits);
    }
}

double
panel_axis_value(const struct panel_axis *a, int y_px)
{
    if (a->bottom_px <= a->top_px)
        return (double) NAN;
    return a->low + (a->high - a->low) * (a->bottom_px - y_px) / (a->bottom_px - a->top_px);
}

int
panel_axis_y(const struct panel_axis *a, double value)
{
    const double share = (value - a->low) / (a->high - a->low);
    const double cut = share < 0 ? 0 : share > 1 ? 1 : share;
    return a->bottom_px - (int) lround(cut * (a->bottom_px - a->top_px));
}

/* Baseline and band with room around, so that an edge can be dragged a good way. */
static void
frame_axis(struct panel_axis *a, const struct target *t)
{
    double low = t->low, high = t->high;
    if (!isnan(t->baseline)) {
        low = fmin(low, t->baseline);
        high = fmax(high, t->baseline);
    }
    const double room = fmax(high - low, 4 * panel_nudge_step(t->metric));
    a->low = low - 0.7 * room;
    a->high = high + 0.7 * room;
}

static void
frame_all(struct panel *p)
{
    for (int i = 0; i < p->aim.edit.now.n; i++)
        frame_axis(&p->aim.axis[i], &p->aim.edit.now.target[i]);
}

/* Framed anew only when an edge comes near the axis's end: the picture should not jump at every nudge. */
static void
frame_if_tight(struct panel *p, int i)
{
    const struct target *t = &p->aim.edit.now.target[i];
    struct panel_axis *a = &p->aim.axis[i];
    const double margin = 0.08 * (a->high - a->low);
    if (t->low < a->low + margin || t->high > a->high - margin)
        frame_axis(a, t);
}

void
panel_targets_begin(struct panel *p, const struct target_set *set, const double *spread)
{
    target_edit_init(&p->aim.edit, set, spread);
    p->aim.at = 0;
    p->aim.edge = PANEL_EDGE_BAND;
    p->aim.dragged = -1;
    frame_all(p);
}

static void
set_of_verdict(const struct verdict *v, struct target_set *set)
{
    memset(set, 0, sizeof *set);
    set->focus = v->focus;
    for (int i = 0; i < v->n_bars; i++) {
        const struct verdict_bar *b = &v->bar[i];
        if (isnan(b->low) || isnan(b->high))
            continue;
        set->target[set->n++] =
            (struct target){ b->metric, b->low, b->high, b->baseline,
                             !isnan(b->baseline) && (b->baseline < b->low || b->baseline > b->high) };
    }
}

static bool
is_same(const struct target_set *a, const struct target_set *b)
{
    if (a->n != b->n || a->focus != b->focus)
        return false;
    for (int i = 0; i < a->n; i++)
        if (a->target[i].metric != b->target[i].metric || a->target[i].low != b->target[i].low ||
            a->target[i].high != b->target[i].high)
            return false;
    return true;
}

void
panel_targets_follow(struct panel *p, const struct verdict *v)
{
    struct target_set set;
    if (v->target_version == p->aim.version || p->aim.dragged >= 0)
        return;
    const int n_new = (int) (v->target_version - p->aim.version);
    p->aim.version = v->target_version;
    if (p->aim.is_untold) { /* changed here while the sensor was being opened */
        p->aim.is_untold = false;
        panel_targets_told(p);
        return;
    }
    p->aim.n_told = p->aim.n_told > n_new ? p->aim.n_told - n_new : 0;
    if (p->aim.n_told > 0) /* an older one of our own changes: the newest is on its way */
        return;
    set_of_verdict(v, &set);
    if (set.n == 0 || is_same(&set, &p->aim.edit.now))
        return;
    if (p->aim.edit.now.n == 0)
        panel_targets_begin(p, &set, NULL);
    else
        target_edit_replace(&p->aim.edit, &set);
    frame_all(p);
    if (p->aim.at >= set.n)
        p->aim.at = 0;
}

void
panel_targets_told(struct panel *p)
{
    const struct command c = target_edit_command(&p->aim.edit);
    const bool is_open = p->visit.sensor == PANEL_SENSOR_OPEN;
    if (p->visit.is_on && !is_open)
        p->aim.is_untold = true;
    else if (p->visit.is_on && visit_flow_targets(&p->visit.flow, &c))
        p->aim.n_told++;
    for (int i = 0; i < p->aim.edit.now.n; i++)
        frame_if_tight(p, i);
    panel_visit_sync(p);
}

void
panel_targets_nudge(struct panel *p, int direction)
{
    if (p->aim.at >= p->aim.edit.now.n)
        return;
    const struct target t = p->aim.edit.now.target[p->aim.at];
    const double by = direction * panel_nudge_step(t.metric);
    const double low = p->aim.edge == PANEL_EDGE_HIGH ? t.low : t.low + by, high = p->aim.edge == PANEL_EDGE_LOW ? t.high : t.high + by;
    /* An edge stops at the other. */
    target_edit_nudge(&p->aim.edit, p->aim.at, (int) p->aim.edge, p->aim.edge == PANEL_EDGE_LOW ? fmin(low, high) : low,
                      p->aim.edge == PANEL_EDGE_HIGH ? fmax(low, high) : high, p->now);
    panel_targets_told(p);
}

/* Measured last: in the run what the bars show, else the newest baseline, else the newest mean. */
static double
measured(const struct panel *p, enum metric m, double *spread)
{
    *spread = (double) NAN;
    for (int i = 0; i < p->visit.verdict.n_bars && p->visit.is_on && p->visit.flow.phase == VISIT_FLOW_RUN; i++)
        if (p->visit.verdict.bar[i].metric == m)
            return isnan(p->visit.verdict.bar[i].baseline) ? p->visit.verdict.bar[i].value : p->visit.verdict.bar[i].baseline;
    const struct panel_visit *newest;
    for (int i = panel_newest(p, &newest) - 1; i >= 0; i--) {
        const struct panel_figure *f = &newest[i].figure[m];
        if (!isnan(f->baseline) || !isnan(f->held)) {
            *spread = isnan(f->baseline) ? f->held_sd : f->baseline_sd;
            return isnan(f->baseline) ? f->held : f->baseline;
        }
    }
    return (double) NAN;
}

void
panel_targets_propose(struct panel *p)
{
    static const enum target_rule leads[] = { TARGET_RULE_CADENCE_UP_5, TARGET_RULE_CADENCE_UP_7_5,
                                              TARGET_RULE_CADENCE_UP_10, TARGET_RULE_BRAKE_LESS };
    static const char *const says[] = { N_("Targets by rule: cadence +5 %."), N_("Targets by rule: cadence +7.5 %."),
                                        N_("Targets by rule: cadence +10 %."),
                                        N_("Targets by rule: braking -5 to -20 %.") };
    enum metric metrics[] = { METRIC_CADENCE_SPM, METRIC_CONTACT_MS, METRIC_LANDING_AHEAD_MM };
    double spread[VERDICT_MAX_BARS];
    const bool has_braking = measured(p, METRIC_BRAKING_IMPULSE_BW_S, &spread[0]) > 0;
    const int which = p->aim.n_proposed % (has_braking ? 4 : 3);
    if (leads[which] == TARGET_RULE_BRAKE_LESS)
        metrics[0] = METRIC_BRAKING_IMPULSE_BW_S;
    struct target_set set = { .focus = metrics[0] };
    for (int i = 0; i < 3; i++) {
        const double baseline = measured(p, metrics[i], &spread[set.n]);
        if (target_by_rule(i == 0 ? leads[which] : TARGET_RULE_NO_MORE, metrics[i], baseline, spread[set.n],
                           &set.target[set.n]))
            set.n++;
    }
    if (set.n == 0 || set.target[0].metric != metrics[0]) {
        panel_say(p, N_("Nothing was measured yet that a rule could start from."));
        return;
    }
    if (p->aim.edit.now.n == 0)
        panel_targets_begin(p, &set, spread);
    else {
        target_edit_replace(&p->aim.edit, &set);
        memcpy(p->aim.edit.spread, spread, (size_t) set.n * sizeof *spread);
        p->aim.at = 0;
        frame_all(p);
    }
    p->aim.n_proposed++;
    panel_targets_told(p);
    panel_say(p, says[which]);
}

void
panel_targets_grab(struct panel *p, int target, enum panel_edge edge, int y_px)
{
    if (target < 0 || target >= p->aim.edit.now.n)
        return;
    p->n_changes++;
    target_edit_rest(&p->aim.edit);
    p->aim.at = target;
    p->aim.edge = edge == PANEL_EDGE_NONE ? p->aim.edge : edge;
    if (edge == PANEL_EDGE_NONE) /* the column alone: chosen, not moved */
        return;
    p->aim.dragged = target;
    p->aim.dragged_edge = edge;
    p->aim.drag_from = panel_axis_value(&p->aim.axis[target], y_px);
    p->aim.drag_low = p->aim.edit.now.target[target].low;
    p->aim.drag_high = p->aim.edit.now.target[target].high;
    target_edit_begin_drag(&p->aim.edit);
}

/* On the grid of the nudges, so that a dragged band reads as one that was typed. */
static double
on_grid(double value, double step)
{
    return step * round(value / step);
}

void
panel_targets_drag(struct panel *p, int y_px)
{
    const struct panel_axis *a = &p->aim.axis[p->aim.dragged];
    const struct target *t = &p->aim.edit.now.target[p->aim.dragged];
    const double step = panel_nudge_step(t->metric);
    const double to = fmin(fmax(panel_axis_value(a, y_px), a->low), a->high);
    const double by = to - p->aim.drag_from;
    if (!isfinite(by))
        return;
    p->n_changes++;
    if (p->aim.dragged_edge == PANEL_EDGE_BAND) {
        const double low = on_grid(p->aim.drag_low + by, step);
        target_edit_band(&p->aim.edit, p->aim.dragged, low, low + (p->aim.drag_high - p->aim.drag_low));
    } else if (p->aim.dragged_edge == PANEL_EDGE_LOW)
        target_edit_band(&p->aim.edit, p->aim.dragged, fmin(on_grid(p->aim.drag_low + by, step), p->aim.drag_high),
                         p->aim.drag_high);
    else
        target_edit_band(&p->aim.edit, p->aim.dragged, p->aim.drag_low,
                         fmax(on_grid(p->aim.drag_high + by, step), p->aim.drag_low));
}

void
panel_targets_drop(struct panel *p)
{
    target_edit_end_drag(&p->aim.edit);
    p->aim.dragged = -1;
    p->n_changes++;
    panel_targets_told(p);
}
