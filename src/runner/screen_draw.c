#include <math.h>
#include <stdio.h>
#include <string.h>

#include "runner/figure.h"
#include "runner/screen_parts.h"
#include "ui/bar.h"
#include "ui/trend.h"

/* ---------------------------------------------------------------- bars */

/* What one bar shows, in steps too fine to see; zeroed before it is filled, hashed whole. */
struct screen_bar_key {
    int32_t height[2]; /* quarters of a pixel */
    int32_t look[2][SCREEN_LOOK_N];
    int32_t n_parts, has_stripe, is_stale;
};

/* And what stands under it. */
struct screen_figure_key {
    int32_t is_stale, is_estimated;
    char figure[FIGURE_MAX];
};

static void
screen_bar_key(struct screen *s, int i, struct host_time now, struct screen_bar_key *k)
{
    const struct verdict_bar *b = &s->verdict.bar[i];
    memset(k, 0, sizeof *k);
    k->n_parts = screen_is_split(&s->verdict, i) ? 2 : 1;
    k->is_stale = screen_is_stale(s, now);
    k->has_stripe = screen_has_target(b) && !k->is_stale; /* what is not live is not judged */
    for (int half = 0; half < k->n_parts; half++) {
        k->height[half] = (int32_t) lround(4.0 * ease_value(&s->bar[i].top[half], now));
        screen_look_now(&s->bar[i].look[half], now, k->look[half]);
    }
}

/* Height of the hollow end. */
static double
screen_cap_px(const struct screen_layout *l)
{
    return 0.19 * l->bars.h_px;
}

static void
screen_draw_part(struct screen *s, int i, int half, const struct screen_bar_key *k)
{
    const struct screen_layout *l = &s->layout;
    struct paint_rect room = l->bar[i];
    double gap = k->n_parts == 2 ? 0.06 * room.w_px : 0.0;
    double width = (room.w_px - gap) / k->n_parts;
    struct bar_shape b = {
        .x_px = room.x_px + half * (width + gap),
        .w_px = width,
        .ground_y_px = room.y_px + room.h_px,
        .height_px = k->height[half] / 4.0,
        .cap_px = screen_cap_px(l),
        .sign_px = (room.y_px + room.h_px - l->stripe.y_px - l->stripe.h_px) * 0.5,
        .line_px = l->line_px,
        .rgb = screen_look_rgb(s, k->look[half], k->is_stale),
        .hollow = k->look[half][3] / 64.0,
        .hatch = k->look[half][4] / 64.0,
    };
    if (b.height_px > 0.0)
        bar_draw(&s->canvas->picture, &s->theme, &b);
}

/* The stripe's edge over the bars, in a dark casing so that it stands out on every fill. */
static void
screen_draw_edge(struct screen *s, struct paint_rect column, int y_px)
{
    struct paint_picture *p = &s->canvas->picture;
    double line = s->layout.line_px;
    paint_fill_smooth(p, column.x_px, y_px - 1.2 * line, column.w_px, 2.4 * line, s->theme.ground, 0.75);
    paint_fill_smooth(p, column.x_px, y_px - 0.5 * line, column.w_px, line, s->theme.stripe_edge, 1.0);
}

static void
screen_ink_figure(struct screen *s, int i, const struct screen_figure_key *k)
{
    const struct screen_layout *l = &s->layout;
    const struct verdict_bar *b = &s->verdict.bar[i];
    struct paint_rect f = l->figure[i], at = l->label[i];
    char label[2 * WORDS_MAX + 8];
    int type = l->figure_type_px;
    if (screen_width(s, type, TEXT_BOLD, k->figure) > f.w_px)
        type = type * 7 / 10;
    screen_write(s, f.x_px + f.w_px / 2, f.y_px + f.h_px, TEXT_CENTRE,
                 (struct screen_type){ type, TEXT_BOLD, k->is_stale ? s->theme.stale : s->theme.figure }, k->figure);
    const char *name = s->words.metric[b->metric], *unit = s->words.unit[b->metric];
    const char *about = k->is_estimated ? "\xE2\x89\x88 " : ""; /* almost equal: estimated */
    if (l->label_lines == 2) {
        screen_centre_line(s, screen_band(at, 0.0, 0.5), l->label_type_px, TEXT_REGULAR, s->theme.label,
                           name);
        snprintf(label, sizeof label, "%s%s", about, unit);
        at = screen_band(at, 0.5, 1.0);
    } else {
        snprintf(label, sizeof label, "%s  %s%s", name, about, unit);
    }
    screen_centre_line(s, at, l->label_type_px, TEXT_REGULAR, s->theme.label, label);
}

/* The column's upper part, down to the ground line. */
static struct paint_rect
screen_bar_rect(const struct screen_layout *l, int i)
{
    struct paint_rect c = l->column[i];
    int ground = l->bars.y_px + l->bars.h_px + (int) lround(l->line_px);
    return (struct paint_rect){ c.x_px, c.y_px, c.w_px, ground - c.y_px };
}

/* The part of a bar that differs from what is on the picture: while only heights move, a band round the
 * tops; else all. Remembers k as drawn. */
static struct paint_rect
screen_bar_change(struct screen *s, int i, const struct screen_bar_key *k)
{
    const struct screen_layout *l = &s->layout;
    struct paint_rect all = screen_bar_rect(l, i);
    struct screen_bar_key look = *k;
    int32_t high = 0, low = INT32_MAX;
    look.height[0] = look.height[1] = 0;
    uint64_t hash = screen_hash(5, &look, sizeof look);
    bool is_moved_only = s->drawn[REGION_BAR + i] != 0 && s->drawn_look[i] == hash;
    for (int half = 0; half < k->n_parts; half++) {
        int32_t a = k->height[half], b = s->drawn_height[i][half];
        high = a > high ? a : high;
        high = b > high ? b : high;
        low = a < low ? a : low;
        low = b < low ? b : low;
        s->drawn_height[i][half] = a;
    }
    s->drawn_look[i] = hash;
    if (!is_moved_only)
        return all;
    bool is_hollow = k->look[0][3] > 0 || k->look[1][3] > 0;
    double ground = l->bars.y_px + l->bars.h_px;
    int y0 = (int) floor(ground - high / 4.0) - 2;
    int y1 = (int) ceil(ground - low / 4.0 + (is_hollow ? screen_cap_px(l) : 0.0)) + 2;
    return paint_intersect((struct paint_rect){ all.x_px, y0, all.w_px, y1 - y0 }, all);
}

static bool
screen_draw_bar(struct screen *s, int i, struct host_time now)
{
    const struct screen_layout *l = &s->layout;
    struct paint_picture *p = &s->canvas->picture;
    struct paint_rect column = l->column[i], stripe = l->stripe;
    struct screen_bar_key k;
    screen_bar_key(s, i, now, &k);
    uint64_t hash = screen_hash(5, &k, sizeof k);
    if (s->drawn[REGION_BAR + i] == hash)
        return false;
    struct paint_rect part = screen_bar_change(s, i, &k);
    screen_begin(s, REGION_BAR + i, part, hash);
    int ground = l->bars.y_px + l->bars.h_px;
    screen_clear(s, part);
    if (k.has_stripe)
        paint_fill(p, stripe, s->theme.stripe, 1.0);
    for (int half = 0; half < k.n_parts; half++)
        screen_draw_part(s, i, half, &k);
    if (k.has_stripe) {
        screen_draw_edge(s, column, stripe.y_px);
        screen_draw_edge(s, column, stripe.y_px + stripe.h_px);
    }
    int line = (int) lround(l->line_px);
    paint_fill(p, (struct paint_rect){ column.x_px, ground, column.w_px, line }, s->theme.rule, 1.0);
    return true;
}

static bool
screen_draw_figure(struct screen *s, int i, struct host_time now)
{
    const struct verdict_bar *b = &s->verdict.bar[i];
    struct paint_rect c = s->layout.column[i], bar = screen_bar_rect(&s->layout, i);
    struct paint_rect r = { c.x_px, bar.y_px + bar.h_px, c.w_px, c.h_px - bar.h_px };
    struct screen_figure_key k;
    memset(&k, 0, sizeof k);
    k.is_stale = screen_is_stale(s, now);
    k.is_estimated = b->standing == METRIC_ESTIMATED;
    figure_value(k.figure, b->metric, b->value, s->words.word[WORDS_DECIMAL]);
    if (!screen_begin(s, REGION_FIGURE + i, r, screen_hash(9, &k, sizeof k)))
        return false;
    screen_clear(s, r);
    screen_ink_figure(s, i, &k);
    return true;
}

/* ---------------------------------------------------------------- trend */

static struct trend_plot
screen_trend_of(const struct screen *s, bool is_stale)
{
    const struct verdict *v = &s->verdict;
    const struct screen_layout *l = &s->layout;
    double bottom = l->trend_plot.y_px + l->trend_plot.h_px, room = l->trend_plot.h_px;
    struct trend_plot t = {
        .plot = l->trend_plot,
        .scale = { 0.06 * room, bottom - (l->trend_stripe.y_px + l->trend_stripe.h_px),
                   bottom - l->trend_stripe.y_px, 0.94 * room },
        .line_px = l->line_px * 0.6,
        .n_slots = VERDICT_TREND_SLOTS,
        .head = v->trend_head,
        .value = v->trend,
        .is_silent = v->trend_is_silent,
        .low = NAN,
        .high = NAN,
        .is_stale = is_stale,
    };
    figure_range(v->focus, &t.base_low, &t.base_high);
    for (int i = 0; i < v->n_bars; i++) {
        if (v->bar[i].metric != v->focus)
            continue;
        t.low = v->bar[i].low;
        t.high = v->bar[i].high;
        t.side = (enum theme_side) s->bar[i].look[0].side;
    }
    return t;
}

static bool
screen_draw_trend(struct screen *s, struct host_time now)
{
    const struct screen_layout *l = &s->layout;
    const struct verdict *v = &s->verdict;
    if (v->focus == METRIC_COUNT) { /* nothing leads: no plot */
        if (!screen_begin(s, REGION_TREND, l->trend, 1))
            return false;
        screen_clear(s, l->trend);
        return true;
    }
    struct trend_plot t = screen_trend_of(s, screen_is_stale(s, now));
    double key[] = { t.low, t.high, (double) t.head, (double) t.is_stale, (double) v->focus };
    double newest[] = { (double) v->trend[v->trend_head], (double) t.side };
    uint64_t past = screen_hash(7, key, sizeof key);
    past = screen_hash(past, v->trend, (size_t) v->trend_head * sizeof v->trend[0]);
    past = screen_hash(past, v->trend + v->trend_head + 1,
                       (size_t) (VERDICT_TREND_SLOTS - 1 - v->trend_head) * sizeof v->trend[0]);
    past = screen_hash(past, v->trend_is_silent, sizeof v->trend_is_silent);
    bool is_newest_only = s->drawn[REGION_TREND] != 0 && s->drawn_past == past;
    struct paint_rect part = is_newest_only ? paint_intersect(trend_tail(&t), l->trend) : l->trend;
    if (!screen_begin(s, REGION_TREND, part, screen_hash(past, newest, sizeof newest)))
        return false;
    s->drawn_past = past;
    char label[2 * WORDS_SENTENCE_MAX + 4];
    snprintf(label, sizeof label, "%s, %s", s->words.metric[v->focus], s->words.word[WORDS_LAST_MINUTES]);
    screen_clear(s, part);
    int type = l->trend_label.h_px * 76 / 100;
    screen_write(s, l->trend_label.x_px, screen_middle(s, l->trend_label, type, TEXT_REGULAR) - l->trend_label.h_px / 12, TEXT_LEFT,
                 (struct screen_type){ type, TEXT_REGULAR, s->theme.label }, label);
    trend_draw(&s->canvas->picture, &s->theme, &t);
    return true;
}

/* ---------------------------------------------------------------- all */

bool
screen_draw_regions(struct screen *s, struct host_time now)
{
    const struct screen_layout *l = &s->layout;
    bool any = false;
    s->is_ground_fresh = false;
    if (screen_begin(s, REGION_GROUND, l->whole, 1)) {
        paint_fill(&s->canvas->picture, l->whole, s->theme.ground, 1.0);
        s->is_ground_fresh = true;
        any = true;
    }
    if (s->scene != SCREEN_LIVE && s->scene != SCREEN_LOST) {
        any = screen_draw_centre(s) || any;
    } else {
        if (s->scene == SCREEN_LOST) {
            any = screen_draw_message(s, now) || any;
        } else {
            any = screen_draw_cue(s) || any;
            any = screen_draw_status(s) || any;
        }
        for (int i = 0; i < s->verdict.n_bars; i++)
            any = screen_draw_figure(s, i, now) || any;
        for (int i = 0; i < s->verdict.n_bars; i++)
            any = screen_draw_bar(s, i, now) || any;
        any = screen_draw_landings(s, now) || any;
        any = screen_draw_trend(s, now) || any;
    }
    paint_set_clip(&s->canvas->picture, l->whole);
    return any;
}
