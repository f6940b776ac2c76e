/* panel_draw_targets.c - targets as bands over bars, side by side, each on its own scale.
 *
 *      162 ....... high edge, can be dragged      the bar: what was measured last (live, or in the last
 * baseline)
 *      |=======|   band, can be dragged whole     dashed line: the baseline; thin upright line: its spread
 *      154 ....... low edge, can be dragged
 */
#include "base/mark.h"
#include "pages/panel_parts.h"
#include "ui/bar.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct verdict_bar *
live_bar(const struct panel *p, enum metric m)
{
    if (!p->visit.is_on || p->visit.flow.phase != VISIT_FLOW_RUN || panel_is_withheld(p))
        return NULL;
    for (int i = 0; i < p->visit.verdict.n_bars; i++)
        if (p->visit.verdict.bar[i].metric == m)
            return &p->visit.verdict.bar[i];
    return NULL;
}

/* Grey at once when it is not live any more, a dash after a while. */
static bool
is_too_old(const struct panel *p)
{
    return panel_age_us(p) > PANEL_STALE_US;
}

static void
draw_bar(struct panel_pen *n, const struct paint_rect plot, int i)
{
    const struct panel_axis *a = &n->p->aim.axis[i];
    const struct target *t = &n->p->aim.edit.now.target[i];
    const struct verdict_bar *live = live_bar(n->p, t->metric);
    const double value = live ? live->value : t->baseline;
    if (!isfinite(value))
        return;
    const bool is_stale = live && panel_is_stale(n->p);
    if (live && is_too_old(n->p))
        return;
    const enum theme_side side = !live || is_stale ? THEME_UNKNOWN
                                 : value < t->low  ? THEME_BELOW
                                 : value > t->high ? THEME_ABOVE
                                                   : THEME_IN;
    const struct theme_look look = n->w.theme->look[side];
    const int top = panel_axis_y(a, value);
    const struct bar_shape shape = { .x_px = plot.x_px + plot.w_px * 0.22,
                                     .w_px = plot.w_px * 0.30,
                                     .ground_y_px = plot.y_px + plot.h_px,
                                     .height_px = fmax(plot.y_px + plot.h_px - top, 2),
                                     .cap_px = n->u * 1.6,
                                     .sign_px = n->u * 1.5,
                                     .line_px = n->u >= 24 ? 3 : 2,
                                     .rgb = is_stale ? paint_mix(look.rgb, n->w.theme->ground, 0.5) : look.rgb,
                                     .hollow = look.hollow,
                                     .hatch = look.hatch };
    bar_draw(n->w.picture, n->w.theme, &shape);
}

static void
draw_baseline(struct panel_pen *n, const struct paint_rect plot, int i)
{
    const struct panel_axis *a = &n->p->aim.axis[i];
    const struct target *t = &n->p->aim.edit.now.target[i];
    const double spread = n->p->aim.edit.spread[i];
    if (isnan(t->baseline))
        return;
    const int y = panel_axis_y(a, t->baseline), dash = n->u / 2, line = n->u >= 24 ? 3 : 2;
    for (int x = plot.x_px; x < plot.x_px + plot.w_px; x += 2 * dash)
        paint_fill(n->w.picture, (struct paint_rect){ x, y - line / 2, dash, line }, n->w.theme->figure, 1);
    if (spread > 0) {
        const int high = panel_axis_y(a, t->baseline + spread), low = panel_axis_y(a, t->baseline - spread);
        paint_fill(n->w.picture, (struct paint_rect){ plot.x_px + n->u / 2, high, line, low - high },
                   n->w.theme->figure, 1);
    }
}

/* An edge with its grip and its figure. */
static void
draw_edge(struct panel_pen *n, const struct paint_rect plot, int i, enum panel_edge edge)
{
    const struct panel *p = n->p;
    const struct target *t = &p->aim.edit.now.target[i];
    const double value = edge == PANEL_EDGE_LOW ? t->low : t->high;
    const int y = panel_axis_y(&p->aim.axis[i], value), line = n->u >= 24 ? 3 : 2;
    const bool is_on = p->aim.at == i && (p->aim.edge == edge || p->aim.edge == PANEL_EDGE_BAND);
    char text[24];
    paint_fill(n->w.picture, (struct paint_rect){ plot.x_px, y - line / 2, plot.w_px, line },
               n->w.theme->stripe_edge, 1);
    const struct paint_point grip = { plot.x_px + plot.w_px, y };
    paint_disc(n->w.picture, grip, n->u * 0.55, n->w.theme->stripe_edge, 1);
    paint_disc(n->w.picture, grip, n->u * 0.55 - line, is_on ? n->w.theme->stripe_edge : n->w.theme->ground,
               1);
    panel_value(n, text, t->metric, value);
    int above = y - n->u * 17 / 10, below = y + n->u / 4;
    if (above < plot.y_px)
        above = below;
    if (below + n->u * 3 / 2 > plot.y_px + plot.h_px)
        below = y - n->u * 17 / 10;
    const int at = edge == PANEL_EDGE_HIGH ? above : below, right = plot.x_px + plot.w_px - n->u * 3 / 4;
    const int width = text_width_px(n->w.text, widget_px(&n->w, WIDGET_BODY), TEXT_BOLD, text);
    /* On ground of its own: the baseline may run through there. */
    paint_fill(n->w.picture,
               (struct paint_rect){ right - width - n->u / 4, at + n->u / 8, width + n->u / 2, n->u * 5 / 4 },
               n->w.theme->panel, 1);
    panel_text(n, right - width, at, width + n->u, panel_bold(WIDGET_BODY, n->w.theme->figure), text);
    panel_spot_edge(n, (struct paint_rect){ plot.x_px, y - n->u * 3 / 4, plot.w_px + n->u, n->u * 3 / 2 }, i,
                    edge);
}

static void
draw_words(struct panel_pen *n, struct paint_rect r, int i, int y)
{
    const struct panel *p = n->p;
    const struct target *t = &p->aim.edit.now.target[i];
    const struct verdict_bar *live = live_bar(p, t->metric);
    char value[24], text[PANEL_WORDS_MAX];
    if (live) {
        const double shown = is_too_old(p) ? (double) NAN : live->value;
        widget_text(&n->w, r.x_px, y, r.w_px, TEXT_LEFT, WIDGET_TITLE, true,
                    panel_is_stale(p) ? n->w.theme->stale : n->w.theme->figure, panel_value(n, value, t->metric, shown));
        y += widget_line_px(&n->w, WIDGET_TITLE);
    } else if (panel_is_withheld(p)) {
        panel_text(n, r.x_px, y + n->u / 4, r.w_px, panel_bold(WIDGET_SMALL, n->w.theme->label), "hidden: withheld");
        y += widget_line_px(&n->w, WIDGET_TITLE);
    }
    PANEL_FILL(n, text, "baseline {1}", panel_value(n, value, t->metric, t->baseline));
    panel_text(n, r.x_px, y, r.w_px, panel_ink(WIDGET_SMALL, n->w.theme->label), text);
    y += widget_line_px(&n->w, WIDGET_SMALL);
    if (!isnan(t->baseline) && fabs(t->baseline) > 1e-9 && t->is_change) {
        panel_percent(n, value, 100 * (0.5 * (t->low + t->high) / t->baseline - 1));
        PANEL_FILL(n, text, "middle {1}", value);
        panel_text(n, r.x_px, y, r.w_px, panel_ink(WIDGET_SMALL, n->w.theme->label), text);
    } else if (!isnan(t->baseline))
        panel_text(n, r.x_px, y, r.w_px, panel_ink(WIDGET_SMALL, n->w.theme->label), "no change asked");
}

static void
draw_column(struct panel_pen *n, struct paint_rect r, int i)
{
    struct panel *p = n->p;
    const struct target *t = &p->aim.edit.now.target[i];
    const bool is_here = p->aim.at == i, leads = p->aim.edit.now.focus == t->metric;
    const int head = widget_line_px(&n->w, WIDGET_BODY) + n->u / 2, foot = n->u * 9 / 2;
    char label[80];
    const struct paint_rect plot = { r.x_px, r.y_px + head, r.w_px - n->u, r.h_px - head - foot };
    panel_spot_edge(n, r, i, PANEL_EDGE_NONE);
    snprintf(label, sizeof label, "%s", panel_metric_label(t->metric));
    panel_text(n, r.x_px, r.y_px, r.w_px,
               (struct panel_ink){ WIDGET_SMALL, is_here ? n->w.theme->figure : n->w.theme->label, is_here, TEXT_LEFT },
               label);
    if (is_here)
        paint_fill(n->w.picture,
                   (struct paint_rect){ r.x_px, r.y_px + head - n->u / 2, r.w_px - n->u, n->u / 6 + 1 },
                   n->w.theme->stripe_edge, 1);
    p->aim.axis[i].top_px = plot.y_px;
    p->aim.axis[i].bottom_px = plot.y_px + plot.h_px;
    paint_fill(n->w.picture, plot, n->w.theme->panel, 1);
    const int high = panel_axis_y(&p->aim.axis[i], t->high), low = panel_axis_y(&p->aim.axis[i], t->low);
    const struct paint_rect band = { plot.x_px, high, plot.w_px, low - high };
    paint_fill(n->w.picture, band, n->w.theme->stripe, 1);
    draw_bar(n, plot, i);
    draw_baseline(n, plot, i);
    if (leads)
        panel_text(n, plot.x_px + n->u / 2, plot.y_px + n->u / 4, plot.w_px,
                   panel_bold(WIDGET_SMALL, n->w.theme->figure), "leads");
    panel_spot_edge(n, band, i, PANEL_EDGE_BAND);
    draw_edge(n, plot, i, PANEL_EDGE_LOW);
    draw_edge(n, plot, i, PANEL_EDGE_HIGH);
    draw_words(n, (struct paint_rect){ r.x_px, r.y_px, r.w_px - n->u, r.h_px }, i,
               plot.y_px + plot.h_px + n->u / 3);
}

void
panel_draw_targets(struct panel_pen *n, struct paint_rect r)
{
    static const char *const edges[] = { N_("the whole band"), N_("its low edge"), N_("its high edge") };
    struct panel *p = n->p;
    char text[2 * PANEL_WORDS_MAX], step[24];
    const bool is_without = p->visit.is_on && p->visit.flow.phase == VISIT_FLOW_RUN &&
                            p->visit.verdict.block != VERDICT_BLOCK_BASELINE &&
                            p->visit.verdict.block != VERDICT_BLOCK_WARM_UP;
    const int y = panel_heading(n, r.x_px, r.y_px, r.w_px,
                                p->page == PANEL_LIVE ? "Targets, in force as you let go" : N_("Targets"));
    if (p->aim.edit.now.n == 0) {
        panel_wrap(n, r.x_px, y, r.w_px, 5, panel_ink(WIDGET_BODY, n->w.theme->label),
                   is_without ? "None. T makes some by rule, from what is measured; you can move them then."
                              : N_("None yet: they are proposed from the silent baseline of this visit, by the plan's rule. You "
                                "can move them then. T makes some by rule now, from what was measured last."));
        return;
    }
    const int max_px = n->body.w_px < 44 * n->u ? n->u * 9 / 2 : n->u * 8, line = widget_line_px(&n->w, WIDGET_SMALL);
    const int warn_px = panel_warnings_px(n, r.w_px, max_px);
    const struct paint_rect all = { r.x_px, y, r.w_px, r.y_px + r.h_px - y - warn_px - line - n->u };
    int w = all.w_px / p->aim.edit.now.n;
    if (w > n->u * 12)
        w = n->u * 12;
    for (int i = 0; i < p->aim.edit.now.n; i++)
        draw_column(n, (struct paint_rect){ all.x_px + i * w, all.y_px, w - n->u / 2, all.h_px }, i);
    const enum metric here = p->aim.edit.now.target[p->aim.at].metric;
    snprintf(step, sizeof step, "%g", panel_nudge_step(here) * panel_scale(here));
    PANEL_FILL(n, text, "Arrows move {1} of {2} by {3}.", panel_word(n, edges[p->aim.edge]),
               panel_word(n, panel_metric_label(here)), step);
    panel_text(n, r.x_px, all.y_px + all.h_px + n->u / 3, r.w_px, panel_ink(WIDGET_SMALL, n->w.theme->label), text);
    panel_draw_warnings(n, r.x_px, all.y_px + all.h_px + line + n->u, r.w_px, max_px);
}
