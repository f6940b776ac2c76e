#include <math.h>
#include <stdio.h>
#include <string.h>

#include "runner/figure.h"
#include "runner/screen_parts.h"
#include "ui/bar.h"
#include "ui/foot.h"
#include "ui/trend.h"

uint64_t
screen_hash(uint64_t h, const void *data, size_t len)
{
    const unsigned char *byte = data;
    h ^= UINT64_C(14695981039346656037);
    for (; len >= 8; len -= 8, byte += 8) {
        uint64_t word;
        memcpy(&word, byte, 8);
        h = (h ^ word) * UINT64_C(1099511628211);
        h ^= h >> 29;
    }
    for (size_t i = 0; i < len; i++)
        h = (h ^ byte[i]) * UINT64_C(1099511628211);
    return h == 0 ? 1 : h;
}

bool
screen_begin(struct screen *s, int region, struct paint_rect r, uint64_t hash)
{
    if (s->drawn[region] == hash)
        return false;
    s->drawn[region] = hash;
    paint_set_clip(&s->canvas->picture, r);
    canvas_dirty(s->canvas, r);
    return true;
}

/* ---------------------------------------------------------------- bars */

/* What one column shows, in steps too fine to see; zeroed before it is filled, hashed whole. */
struct screen_column_key {
    int32_t height[2], look[2][SCREEN_LOOK_N];
    int32_t n_parts, has_stripe, is_stale, is_estimated;
    char figure[FIGURE_MAX];
};

static void
screen_column_key(struct screen *s, int i, struct host_time now, struct screen_column_key *k)
{
    const struct verdict_bar *b = &s->verdict.bar[i];
    memset(k, 0, sizeof *k);
    k->n_parts = screen_is_split(&s->verdict, i) ? 2 : 1;
    k->is_stale = screen_is_stale(s, now);
    k->has_stripe = screen_has_target(b) && !k->is_stale; /* what is not live is not judged */
    k->is_estimated = b->standing == METRIC_ESTIMATED;
    for (int half = 0; half < k->n_parts; half++) {
        k->height[half] = (int32_t) lround(4.0 * ease_value(&s->bar[i].top[half], now));
        for (int j = 0; j < SCREEN_LOOK_N; j++)
            k->look[half][j] =
                (int32_t) lround((j < 3 ? 1.0 : 64.0) * ease_value(&s->bar[i].look[half][j], now));
    }
    figure_value(k->figure, b->metric, b->value, s->words.word[WORDS_DECIMAL]);
}

static void
screen_draw_part(struct screen *s, int i, int half, const struct screen_column_key *k)
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
        .cap_px = 0.19 * room.h_px,
        .sign_px = (room.y_px + room.h_px - l->stripe.y_px - l->stripe.h_px) * 0.5,
        .line_px = l->line_px,
        .rgb = (uint32_t) k->look[half][0] << 16 | (uint32_t) k->look[half][1] << 8 | (uint32_t) k->look[half][2],
        .hollow = k->look[half][3] / 64.0,
        .hatch = k->look[half][4] / 64.0,
    };
    if (k->is_stale)
        b.rgb = paint_mix(b.rgb, s->theme.ground, 0.5);
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
screen_draw_figure(struct screen *s, int i, const struct screen_column_key *k)
{
    const struct screen_layout *l = &s->layout;
    const struct verdict_bar *b = &s->verdict.bar[i];
    struct paint_rect f = l->figure[i], at = l->label[i];
    char label[2 * WORDS_MAX + 8];
    int type = l->figure_type_px;
    if (screen_width(s, type, TEXT_BOLD, k->figure) > f.w_px)
        type = type * 7 / 10;
    screen_write(s, f.x_px + f.w_px / 2, f.y_px + f.h_px, TEXT_CENTRE, type, TEXT_BOLD,
                 k->is_stale ? s->theme.stale : s->theme.figure, k->figure);
    const char *name = s->words.metric[b->metric], *unit = s->words.unit[b->metric];
    const char *about = k->is_estimated ? "\xE2\x89\x88 " : ""; /* almost equal: estimated */
    if (l->label_lines == 2) {
        screen_centre_line(s, screen_band(at, 0.0, 0.5), l->label_type_px, TEXT_REGULAR, s->theme.label, name);
        snprintf(label, sizeof label, "%s%s", about, unit);
        at = screen_band(at, 0.5, 1.0);
    } else {
        snprintf(label, sizeof label, "%s  %s%s", name, about, unit);
    }
    screen_centre_line(s, at, l->label_type_px, TEXT_REGULAR, s->theme.label, label);
}

static bool
screen_draw_bar(struct screen *s, int i, struct host_time now)
{
    const struct screen_layout *l = &s->layout;
    struct paint_picture *p = &s->canvas->picture;
    struct paint_rect column = l->column[i], stripe = l->stripe;
    struct screen_column_key k;
    screen_column_key(s, i, now, &k);
    if (!screen_begin(s, REGION_BAR + i, column, screen_hash(5, &k, sizeof k)))
        return false;
    int ground = l->bars.y_px + l->bars.h_px;
    paint_fill(p, column, s->theme.ground, 1.0);
    if (k.has_stripe)
        paint_fill(p, stripe, s->theme.stripe, 1.0);
    for (int half = 0; half < k.n_parts; half++)
        screen_draw_part(s, i, half, &k);
    if (k.has_stripe) {
        screen_draw_edge(s, column, stripe.y_px);
        screen_draw_edge(s, column, stripe.y_px + stripe.h_px);
    }
    int line = (int) lround(l->line_px);
    paint_fill(p, (struct paint_rect) { column.x_px, ground, column.w_px, line }, s->theme.rule, 1.0);
    screen_draw_figure(s, i, &k);
    return true;
}

/* ---------------------------------------------------------------- feet and trend */

/* A landing's own sideways place, from its time: it must not move while it ages. */
static double
screen_sideways(struct dev_time t)
{
    uint64_t h = (uint64_t) t.us * UINT64_C(0x9E3779B97F4A7C15);
    return (double) (h >> 40) / (double) (1 << 23) - 1.0;
}

static struct foot_shape
screen_foot_of(const struct screen *s, int foot, bool is_stale)
{
    const struct verdict *v = &s->verdict;
    struct foot_shape f;
    memset(&f, 0, sizeof f); /* hashed whole */
    f.room = s->layout.foot[foot];
    f.is_left = foot == 0;
    f.is_stale = is_stale;
    f.line_px = s->layout.line_px;
    f.zone_low_pct = v->zone_low_pct;
    f.zone_high_pct = v->zone_high_pct;
    f.n_dots = v->n_landings[foot] < FOOT_MAX_DOTS ? v->n_landings[foot] : FOOT_MAX_DOTS;
    for (int i = 0; i < f.n_dots; i++) {
        const struct verdict_landing *at = &v->landing[foot][i];
        f.dot[i].index_pct = at->strike_index_pct;
        f.dot[i].third = at->zone == STEP_ZONE_REAR ? 1 : at->zone == STEP_ZONE_MID ? 2 : at->zone == STEP_ZONE_FORE ? 3 : 0;
        f.dot[i].sideways = screen_sideways(at->time);
    }
    return f;
}

static bool
screen_draw_feet(struct screen *s, struct host_time now)
{
    const struct screen_layout *l = &s->layout;
    bool is_stale = screen_is_stale(s, now);
    struct foot_shape left = screen_foot_of(s, 0, is_stale), right = screen_foot_of(s, 1, is_stale);
    uint64_t hash = screen_hash(screen_hash(6, &left, sizeof left), &right, sizeof right);
    if (!screen_begin(s, REGION_FEET, l->feet, hash))
        return false;
    paint_fill(&s->canvas->picture, l->feet, s->theme.ground, 1.0);
    foot_draw(&s->canvas->picture, &s->theme, &left);
    foot_draw(&s->canvas->picture, &s->theme, &right);
    for (int i = 0; i < 2; i++) {
        struct paint_rect at = l->foot_label[i];
        int middle = l->foot[i].x_px + l->foot[i].w_px / 2;
        screen_write(s, middle, screen_middle(s, at, l->foot_type_px, TEXT_REGULAR), TEXT_CENTRE, l->foot_type_px,
                     TEXT_REGULAR, s->theme.label, s->words.word[i == 0 ? WORDS_LEFT : WORDS_RIGHT]);
    }
    return true;
}

static struct trend_plot
screen_trend_of(const struct screen *s, bool is_stale)
{
    const struct verdict *v = &s->verdict;
    const struct screen_layout *l = &s->layout;
    double bottom = l->trend_plot.y_px + l->trend_plot.h_px, room = l->trend_plot.h_px;
    struct trend_plot t = {
        .plot = l->trend_plot,
        .scale = { 0.06 * room, bottom - (l->trend_stripe.y_px + l->trend_stripe.h_px), bottom - l->trend_stripe.y_px,
                   0.94 * room },
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
        t.side = (enum theme_side) s->bar[i].side[0];
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
        paint_fill(&s->canvas->picture, l->trend, s->theme.ground, 1.0);
        return true;
    }
    struct trend_plot t = screen_trend_of(s, screen_is_stale(s, now));
    double key[] = { t.low, t.high, (double) t.side, (double) t.head, (double) t.is_stale, (double) v->focus };
    uint64_t hash = screen_hash(7, key, sizeof key);
    hash = screen_hash(hash, v->trend, sizeof v->trend);
    hash = screen_hash(hash, v->trend_is_silent, sizeof v->trend_is_silent);
    if (!screen_begin(s, REGION_TREND, l->trend, hash))
        return false;
    char label[2 * WORDS_SENTENCE_MAX + 4];
    snprintf(label, sizeof label, "%s, %s", s->words.metric[v->focus], s->words.word[WORDS_LAST_MINUTES]);
    paint_fill(&s->canvas->picture, l->trend, s->theme.ground, 1.0);
    int type = l->trend_label.h_px * 76 / 100;
    screen_write(s, l->trend_label.x_px, screen_middle(s, l->trend_label, type, TEXT_REGULAR) - l->trend_label.h_px / 12,
                 TEXT_LEFT, type, TEXT_REGULAR, s->theme.label, label);
    trend_draw(&s->canvas->picture, &s->theme, &t);
    return true;
}

/* ---------------------------------------------------------------- all */

bool
screen_draw_regions(struct screen *s, struct host_time now)
{
    const struct screen_layout *l = &s->layout;
    bool any = false;
    if (screen_begin(s, REGION_GROUND, l->whole, 1)) {
        paint_fill(&s->canvas->picture, l->whole, s->theme.ground, 1.0);
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
            any = screen_draw_bar(s, i, now) || any;
        any = screen_draw_feet(s, now) || any;
        any = screen_draw_trend(s, now) || any;
    }
    paint_set_clip(&s->canvas->picture, l->whole);
    return any;
}
