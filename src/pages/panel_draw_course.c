/* panel_draw_course.c - the visits side by side: one picture a metric, all on the same axis of visits.
 *
 *      dot      mean of the steps in which targets were to be met; whisker: one standard deviation
 *      ring     the visit's own silent baseline
 *      stripe   the target band
 *      bracket  at the right edge: the smallest change that is real for this runner
 *
 * What is not drawn because it is of another definition is said in a note, figure by figure.
 */
#include "pages/panel_parts.h"

#include "base/mark.h"
#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct scale {
    double low, high;
    struct paint_rect plot;
    int n_visits;
};

static int
y_of(const struct scale *s, double value)
{
    return s->plot.y_px + s->plot.h_px - (int) lround(s->plot.h_px * (value - s->low) / (s->high - s->low));
}

static int
x_of(const struct scale *s, int visit)
{
    const int n = s->n_visits < 4 ? 4 : s->n_visits;
    return s->plot.x_px + (int) (s->plot.w_px * (visit + 0.5) / (n + 0.5));
}

static void
widen(struct scale *s, double value)
{
    if (!isfinite(value))
        return;
    s->low = isnan(s->low) ? value : fmin(s->low, value);
    s->high = isnan(s->high) ? value : fmax(s->high, value);
}

static bool
make_scale(struct scale *s, const struct panel_case *k, enum metric m)
{
    s->low = s->high = (double) NAN;
    s->n_visits = k->n_visits;
    for (int i = 0; i < k->n_visits; i++) {
        const struct panel_figure *f = &k->visit[i].figure[m];
        widen(s, f->held);
        widen(s, f->held - f->held_sd);
        widen(s, f->held + f->held_sd);
        widen(s, f->baseline);
        widen(s, f->low);
        widen(s, f->high);
    }
    if (isnan(s->low))
        return false;
    const double room = fmax(0.12 * (s->high - s->low), panel_nudge_step(m));
    s->low -= room;
    s->high += room;
    return true;
}

static void
draw_ring(struct panel_pen *n, struct paint_point c, double r, uint32_t rgb, uint32_t inside)
{
    paint_disc(n->w.picture, c, r, rgb, 1);
    paint_disc(n->w.picture, c, r - (n->u >= 24 ? 3 : 2), inside, 1);
}

static void
draw_visits(struct panel_pen *n, const struct scale *s, enum metric m)
{
    const struct panel_case *k = &n->p->open.kase;
    const struct theme *t = n->w.theme;
    const int half = (int) (s->plot.w_px * 0.42 / ((k->n_visits < 4 ? 4 : k->n_visits) + 0.5)),
              line = n->u >= 24 ? 3 : 2;
    for (int i = 0; i < k->n_visits; i++) {
        const struct panel_figure *f = &k->visit[i].figure[m];
        const int x = x_of(s, i);
        if (!isnan(f->low) && !isnan(f->high)) {
            paint_fill(n->w.picture,
                       (struct paint_rect){ x - half, y_of(s, f->high), 2 * half,
                                            y_of(s, f->low) - y_of(s, f->high) },
                       t->stripe, 1);
            paint_fill(n->w.picture, (struct paint_rect){ x - half, y_of(s, f->high), 2 * half, 1 },
                       t->stripe_edge, 1);
            paint_fill(n->w.picture, (struct paint_rect){ x - half, y_of(s, f->low), 2 * half, 1 },
                       t->stripe_edge, 1);
        }
        if (isfinite(f->held) && isfinite(f->held_sd))
            paint_fill(n->w.picture,
                       (struct paint_rect){ x - line / 2, y_of(s, f->held + f->held_sd), line,
                                            y_of(s, f->held - f->held_sd) - y_of(s, f->held + f->held_sd) },
                       t->label, 1);
        if (isfinite(f->baseline))
            draw_ring(n, (struct paint_point){ x - half * 0.6, y_of(s, f->baseline) }, n->u * 0.38, t->label,
                      t->panel);
        if (isfinite(f->held))
            paint_disc(n->w.picture, (struct paint_point){ x, y_of(s, f->held) }, n->u * 0.45, t->figure, 1);
        if (i > 0 && isfinite(f->held) && isfinite(k->visit[i - 1].figure[m].held))
            paint_line(n->w.picture,
                       (struct paint_point){ x_of(s, i - 1), y_of(s, k->visit[i - 1].figure[m].held) },
                       (struct paint_point){ x, y_of(s, f->held) }, line, t->figure, 0.55);
    }
}

static void
draw_real(struct panel_pen *n, const struct scale *s, double mdc)
{
    if (!isfinite(mdc))
        return;
    const int x = s->plot.x_px + s->plot.w_px - n->u, h = (int) (s->plot.h_px * mdc / (s->high - s->low)),
              line = n->u >= 24 ? 3 : 2;
    if (h > s->plot.h_px)
        return;
    const int y = s->plot.y_px + s->plot.h_px / 2 - h / 2;
    paint_fill(n->w.picture, (struct paint_rect){ x, y, line, h }, n->w.theme->label, 1);
    paint_fill(n->w.picture, (struct paint_rect){ x - n->u / 3, y, n->u * 2 / 3, line }, n->w.theme->label,
               1);
    paint_fill(n->w.picture, (struct paint_rect){ x - n->u / 3, y + h, n->u * 2 / 3, line },
               n->w.theme->label, 1);
}

static void
draw_frame(struct panel_pen *n, const struct scale *s, const char *title, const char *low, const char *high)
{
    const struct theme *t = n->w.theme;
    const int line = widget_line_px(&n->w, WIDGET_SMALL);
    panel_text(n, s->plot.x_px, s->plot.y_px - line - n->u / 4, s->plot.w_px, panel_bold(WIDGET_SMALL, t->figure),
               title);
    paint_fill(n->w.picture, s->plot, t->panel, 1);
    panel_text(n, s->plot.x_px - 5 * n->u, s->plot.y_px, 5 * n->u - n->u / 3,
               (struct panel_ink){ WIDGET_SMALL, t->label, false, TEXT_RIGHT }, high);
    panel_text(n, s->plot.x_px - 5 * n->u, s->plot.y_px + s->plot.h_px - line, 5 * n->u - n->u / 3,
               (struct panel_ink){ WIDGET_SMALL, t->label, false, TEXT_RIGHT }, low);
    const int x = x_of(s, n->p->open.at_visit),
              half = (int) (s->plot.w_px * 0.48 / ((s->n_visits < 4 ? 4 : s->n_visits) + 0.5));
    paint_fill(n->w.picture, (struct paint_rect){ x - half, s->plot.y_px, 2 * half, s->plot.h_px }, t->track,
               1);
    /* As many numbers as fit, the chosen one's among them. */
    const char *widest = n->p->open.kase.n_older_visits + s->n_visits > 99 ? "888" : "88";
    const int number_px = text_width_px(n->w.text, widget_px(&n->w, WIDGET_SMALL), TEXT_BOLD, widest) + n->u / 4;
    const int step = half > 0 ? (number_px + 2 * half - 1) / (2 * half) : 1;
    for (int i = 0; i < s->n_visits; i++) {
        char text[16];
        snprintf(text, sizeof text, "%d",
                 n->p->open.kase.visit[i].course_visit > 0 ? n->p->open.kase.visit[i].course_visit
                                                                 : n->p->open.kase.n_older_visits + i + 1);
        if ((i - n->p->open.at_visit) % step == 0)
            widget_text(&n->w, x_of(s, i) - number_px / 2, s->plot.y_px + s->plot.h_px + n->u / 6, number_px, TEXT_CENTRE,
                        WIDGET_SMALL, i == n->p->open.at_visit, i == n->p->open.at_visit ? t->figure : t->label, text);
        panel_spot(n,
                   (struct paint_rect){ x_of(s, i) - half, s->plot.y_px, 2 * half, s->plot.h_px + 2 * n->u },
                   PANEL_DO_CHOOSE, i);
    }
}

static void
draw_metric(struct panel_pen *n, struct paint_rect plot, enum metric m)
{
    struct scale s = { .plot = plot };
    char low[24], high[24];
    if (!make_scale(&s, &n->p->open.kase, m))
        return;
    draw_frame(n, &s, panel_metric_label(m), panel_value(n, low, m, s.low), panel_value(n, high, m, s.high));
    draw_visits(n, &s, m);
    draw_real(n, &s, n->p->open.kase.mdc[m]);
}

/* Share of steps in the band of the leading metric: dot with feedback, ring without. */
static void
draw_shares(struct panel_pen *n, struct paint_rect plot, enum metric m)
{
    const struct panel_case *k = &n->p->open.kase;
    struct scale s = { -6, 106, plot, k->n_visits };
    draw_frame(n, &s, N_("in band, %: dot shown, ring withheld"), "0", "100");
    for (int i = 0; i < k->n_visits; i++) {
        const struct panel_figure *f = &k->visit[i].figure[m];
        if (isfinite(f->shown_pct))
            paint_disc(n->w.picture, (struct paint_point){ x_of(&s, i) - n->u * 0.5, y_of(&s, f->shown_pct) },
                       n->u * 0.45, n->w.theme->figure, 1);
        if (isfinite(f->withheld_pct))
            draw_ring(n, (struct paint_point){ x_of(&s, i) + n->u * 0.5, y_of(&s, f->withheld_pct) },
                      n->u * 0.45, n->w.theme->figure, n->w.theme->panel);
    }
}

static void
draw_chosen(struct panel_pen *n, int x, int y, int w)
{
    const struct panel_visit *v = &n->p->open.kase.visit[n->p->open.at_visit];
    char text[2 * PANEL_WORDS_MAX], a[24], b[24], c[24], d[24], e[24], f[24];
    PANEL_FILL(n, text, "{1}   {2}   {3} min, {4} steps   pain {5}, {6}, {7}   effort {8}", v->when,
               v->plan[0] ? v->plan : panel_word(n, "free running"), panel_number(n, e, v->minutes, 0, ""),
               panel_count(f, v->n_steps), panel_number(n, a, v->pain_before, 0, ""), panel_number(n, b, v->pain_worst, 0, ""),
               panel_number(n, c, v->pain_after, 0, ""), panel_number(n, d, v->effort, 0, ""));
    if (v->is_cut_short) {
        str_append(text, sizeof text, "   ");
        str_append(text, sizeof text, panel_word(n, "cut short"));
    }
    if (v->dose_note[0]) {
        str_append(text, sizeof text, "   ");
        str_append(text, sizeof text, panel_word(n, "the dose grew fast"));
    }
    panel_text(n, x, y, w, panel_ink(WIDGET_BODY, n->w.theme->figure), text);
    panel_text(n, x, y + widget_line_px(&n->w, WIDGET_BODY), w, panel_ink(WIDGET_SMALL, n->w.theme->label),
               "Dot and whisker: held steps, mean and spread. Ring: the visit's silent baseline. Stripe: "
               "target. Bracket: smallest change "
               "that is real.");
}

/* Which of all visits are shown, in a line of its own where they are not all; what is touched in it turns. */
static void
draw_place(struct panel_pen *n, int x, int y, int w)
{
    const struct panel_case *k = &n->p->open.kase;
    const int line = widget_line_px(&n->w, WIDGET_SMALL), older = k->n_older_visits, newer = k->n_newer_visits;
    char text[PANEL_WORDS_MAX], shown[PANEL_WORDS_MAX + 16], a[24], b[24], c[24];
    PANEL_FILL(n, text, "visits {1} to {2} of {3}", panel_count(a, older + 1), panel_count(b, older + k->n_visits),
               panel_count(c, older + k->n_visits + newer));
    if (n->p->open.is_loading)
        str_copy(text, sizeof text, panel_word(n, "Reading the store\xE2\x80\xA6"));
    snprintf(shown, sizeof shown, "%s%s%s", older > 0 ? "\xE2\x86\x90 " : "", text, newer > 0 ? " \xE2\x86\x92" : "");
    widget_text(&n->w, x, y, w, TEXT_RIGHT, WIDGET_SMALL, true, n->w.theme->figure, shown);
    const int half = w / 8, from = x + w - 2 * half;
    panel_spot(n, (struct paint_rect){ from, y, half, line }, PANEL_DO_OLDER, 0);
    panel_spot(n, (struct paint_rect){ from + half, y, half, line }, PANEL_DO_NEWER, 0);
}

#define NOTE_LINES 2
#define MOST_METRICS 5 /* with the shares in the band two rows of three pictures */

static int
n_drawn(const struct panel_case *k)
{
    return k->n_metrics < MOST_METRICS ? k->n_metrics : MOST_METRICS;
}

/* Why dots are lacking: figures that are lacking in the same visits stand together. "": none is. */
static const char *
left_out_text(const struct panel_pen *n, char *out, size_t cap)
{
    const struct panel_case *k = &n->p->open.kase;
    out[0] = '\0';
    for (int i = 0, next; i < n_drawn(k); i = next) {
        char part[2 * PANEL_WORDS_MAX], figures[PANEL_WORDS_MAX] = "";
        for (next = i; next < n_drawn(k) && strcmp(k->left_out[next], k->left_out[i]) == 0; next++) {
            str_append(figures, sizeof figures, next > i ? "; " : "");
            str_append(figures, sizeof figures, panel_word(n, panel_metric_label(k->metric[next])));
        }
        if (k->left_out[i][0] == '\0')
            continue;
        PANEL_FILL(n, part, "{1}: not shown of visits {2}, which have it by another definition.", figures, k->left_out[i]);
        str_append(out, cap, out[0] ? "   " : "");
        str_append(out, cap, part);
    }
    return out;
}

void
panel_draw_course(struct panel_pen *n)
{
    const struct panel *p = n->p;
    const struct panel_case *k = &p->open.kase;
    const struct paint_rect b = n->body;
    if (!p->open.has_case || k->n_visits == 0) {
        panel_text(n, b.x_px, b.y_px, b.w_px, panel_ink(WIDGET_TITLE, n->w.theme->label),
                   p->open.is_loading ? "Reading the store\xE2\x80\xA6" : N_("No visit yet."));
        return;
    }
    const int n_pictures = n_drawn(k) + 1, n_columns = n_pictures <= 2 ? n_pictures : n_pictures == 4 ? 2 : 3;
    char note[4 * PANEL_WORDS_MAX];
    const bool is_part = k->n_older_visits + k->n_newer_visits > 0, is_noted = left_out_text(n, note, sizeof note)[0] != '\0';
    const int line = widget_line_px(&n->w, WIDGET_SMALL), place = is_part ? line : 0;
    const int n_rows = (n_pictures + n_columns - 1) / n_columns, foot = n->u * 4 + place + (is_noted ? NOTE_LINES * line : 0);
    const int cw = b.w_px / n_columns, ch = (b.h_px - foot) / n_rows;
    int y_foot = b.y_px + b.h_px - foot + n->u;
    for (int i = 0; i < n_pictures; i++) {
        const int x = b.x_px + (i % n_columns) * cw, y = b.y_px + (i / n_columns) * ch;
        const struct paint_rect plot = { x + 4 * n->u, y + line + n->u / 4, cw - 5 * n->u,
                                         ch - 2 * line - n->u * 5 / 4 };
        if (i < n_pictures - 1)
            draw_metric(n, plot, k->metric[i]);
        else
            draw_shares(n, plot, k->n_metrics > 0 ? k->metric[0] : METRIC_CADENCE_SPM);
    }
    if (is_part)
        draw_place(n, b.x_px, y_foot, b.w_px);
    y_foot += place;
    if (is_noted)
        widget_wrap(&n->w, b.x_px, y_foot, b.w_px, NOTE_LINES, WIDGET_SMALL, n->w.theme->figure, note);
    draw_chosen(n, b.x_px, b.y_px + b.h_px - 3 * n->u, b.w_px);
}
