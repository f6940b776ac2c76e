#include <math.h>
#include <stdio.h>
#include <string.h>

#include "runner/figure.h"
#include "runner/screen_parts.h"
#include "ui/bar.h"
#include "ui/foot.h"
#include "ui/trend.h"

/* The regions: each is drawn alone, when the hash of what it shows has changed. */
enum screen_region {
    REGION_GROUND = 0,
    REGION_CUE,
    REGION_STATUS,
    REGION_MESSAGE,
    REGION_BAR, /* and the next VERDICT_MAX_BARS - 1 */
    REGION_FEET = REGION_BAR + VERDICT_MAX_BARS,
    REGION_TREND,
    REGION_CENTRE,
    REGION_COUNT
};

_Static_assert(REGION_COUNT <= SCREEN_N_REGIONS, "a hash for each region");

/* FNV-1a, 64 bit, eight bytes at a stride where there are as many; never 0. */
static uint64_t
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

/* True when the region must be drawn: then its clip is set and its rectangle marked as changed. */
static bool
screen_begin(struct screen *s, int region, struct paint_rect r, uint64_t hash)
{
    if (s->drawn[region] == hash)
        return false;
    s->drawn[region] = hash;
    paint_set_clip(&s->canvas->picture, r);
    canvas_dirty(s->canvas, r);
    return true;
}

static int
screen_write(struct screen *s, int x_px, int baseline_px, enum text_align align, int type_px, enum text_weight w,
             uint32_t rgb, const char *utf8)
{
    return text_draw(&s->canvas->text, &s->canvas->picture, x_px, baseline_px, align, type_px, w, rgb, 1.0, utf8);
}

static int
screen_width(struct screen *s, int type_px, enum text_weight w, const char *utf8)
{
    return text_width_px(&s->canvas->text, type_px, w, utf8);
}

/* Baseline that puts digits of that size in the middle of r. */
static int
screen_middle(struct screen *s, struct paint_rect r, int type_px, enum text_weight w)
{
    return r.y_px + (r.h_px + text_digit_height_px(&s->canvas->text, type_px, w)) / 2;
}

/* r cut in horizontal bands: the part from share a to share b of its height. */
static struct paint_rect
screen_band(struct paint_rect r, double a, double b)
{
    int y0 = (int) lround(r.y_px + a * r.h_px), y1 = (int) lround(r.y_px + b * r.h_px);
    return (struct paint_rect) { r.x_px, y0, r.w_px, y1 - y0 };
}

static void
screen_centre_line(struct screen *s, struct paint_rect r, int type_px, enum text_weight w, uint32_t rgb, const char *utf8)
{
    screen_write(s, r.x_px + r.w_px / 2, screen_middle(s, r, type_px, w), TEXT_CENTRE, type_px, w, rgb, utf8);
}

/* ---------------------------------------------------------------- sentences */

/* Bytes of utf8 that fit width_px, cut at a space (or, where there is none, between signs). */
static int
screen_line_len(struct screen *s, int type_px, enum text_weight w, const char *utf8, int width_px)
{
    char line[WORDS_SENTENCE_MAX + 8];
    int fits = 0, total = (int) strlen(utf8);
    for (int i = 1; i <= total && i < (int) sizeof line; i++) {
        bool is_start = (utf8[i] & 0xC0) != 0x80;
        bool is_cut = i == total || utf8[i] == ' ' || (is_start && (unsigned char) utf8[i] >= 0xE3);
        if (!is_cut)
            continue;
        memcpy(line, utf8, (size_t) i);
        line[i] = '\0';
        if (screen_width(s, type_px, w, line) > width_px)
            break;
        fits = i;
    }
    return fits > 0 ? fits : total;
}

static int
screen_count_lines(struct screen *s, int type_px, enum text_weight w, const char *utf8, int width_px)
{
    int n = 0;
    for (const char *at = utf8; *at != '\0'; n++) {
        at += screen_line_len(s, type_px, w, at, width_px);
        at += *at == ' ' ? 1 : 0;
    }
    return n;
}

/* Draws a sentence in as many lines as it needs, centred in r; smaller until it fits. */
static void
screen_paragraph(struct screen *s, struct paint_rect r, int type_px, enum text_align align, enum text_weight w,
                 uint32_t rgb, const char *utf8)
{
    char line[WORDS_SENTENCE_MAX + 8];
    int n = screen_count_lines(s, type_px, w, utf8, r.w_px);
    while (type_px > 10 && n * type_px * 13 / 10 > r.h_px) {
        type_px = type_px * 8 / 10;
        n = screen_count_lines(s, type_px, w, utf8, r.w_px);
    }
    int step = type_px * 13 / 10;
    int digit = text_digit_height_px(&s->canvas->text, type_px, w);
    int baseline = r.y_px + (r.h_px - (n - 1) * step + digit) / 2;
    int x = align == TEXT_LEFT ? r.x_px : r.x_px + r.w_px / 2;
    /* Lines of about the same length: as narrow as the same number of lines allows. */
    while (r.w_px > 4 * type_px && screen_count_lines(s, type_px, w, utf8, r.w_px * 24 / 25) == n)
        r.w_px = r.w_px * 24 / 25;
    for (const char *at = utf8; *at != '\0'; baseline += step) {
        int len = screen_line_len(s, type_px, w, at, r.w_px);
        snprintf(line, sizeof line, "%.*s", len, at);
        screen_write(s, x, baseline, align, type_px, w, rgb, line);
        at += len;
        at += *at == ' ' ? 1 : 0;
    }
}

/* ---------------------------------------------------------------- cue, status, message */

static bool
screen_draw_cue(struct screen *s)
{
    const struct screen_layout *l = &s->layout;
    const struct verdict *v = &s->verdict;
    static const enum words_id gait_word[] = {
        [STEP_GAIT_UNKNOWN] = WORDS_COUNTING,
        [STEP_GAIT_OFF] = WORDS_OFF,
        [STEP_GAIT_STANDING] = WORDS_STANDING,
        [STEP_GAIT_WALKING] = WORDS_WALKING,
    };
    bool is_running = v->gait == STEP_GAIT_RUNNING;
    const char *line = is_running ? s->words.cue[v->cue] : s->words.word[gait_word[v->gait]];
    uint64_t hash = screen_hash(is_running ? 1 : 2, line, strlen(line));
    if (!screen_begin(s, REGION_CUE, l->cue, hash))
        return false;
    enum text_weight w = is_running ? TEXT_BOLD : TEXT_REGULAR;
    paint_fill(&s->canvas->picture, l->cue, s->theme.ground, 1.0);
    screen_write(s, l->cue.x_px, screen_middle(s, l->cue, l->cue_type_px, w), TEXT_LEFT, l->cue_type_px, w,
                 is_running ? s->theme.figure : s->theme.label, line);
    return true;
}

/* Time left as an arc that empties clockwise. */
static void
screen_ring(struct screen *s, struct paint_rect r, double width_px)
{
    const struct verdict *v = &s->verdict;
    double radius = (fmin(r.w_px, r.h_px) - width_px) / 2.0 - 1.0;
    struct paint_point centre = { r.x_px + r.w_px / 2.0, r.y_px + r.h_px / 2.0 };
    double share = v->block_length_s > 0.0 ? ceil(v->block_left_s) / v->block_length_s : 0.0;
    paint_arc(&s->canvas->picture, centre, radius, width_px, 1.0, s->theme.track, 1.0);
    paint_arc(&s->canvas->picture, centre, radius, width_px, fmin(1.0, share), s->theme.figure, 1.0);
}

static const char *
screen_block_word(const struct screen *s)
{
    static const enum words_id word[] = {
        [VERDICT_BLOCK_WARM_UP] = WORDS_WARM_UP, [VERDICT_BLOCK_BASELINE] = WORDS_BASELINE,
        [VERDICT_BLOCK_COACHED] = WORDS_COACHED, [VERDICT_BLOCK_SILENT] = WORDS_SILENT,
        [VERDICT_BLOCK_COOL_DOWN] = WORDS_COOL_DOWN, [VERDICT_BLOCK_PAUSED] = WORDS_PAUSED,
        [VERDICT_BLOCK_ENDED] = WORDS_ENDED,
    };
    return s->verdict.block == VERDICT_BLOCK_FREE ? "" : s->words.word[word[s->verdict.block]];
}

struct screen_times {
    char left[FIGURE_MAX];  /* "3:12" */
    char speed[FIGURE_MAX + 8]; /* "3.1 m/s" */
    bool has_left;
};

static struct screen_times
screen_times_of(const struct screen *s)
{
    struct screen_times t;
    char number[FIGURE_MAX];
    memset(&t, 0, sizeof t); /* hashed whole */
    t.has_left = !isnan(s->verdict.block_left_s);
    if (t.has_left)
        figure_clock(t.left, s->verdict.block_left_s);
    figure_speed(number, s->verdict.belt_speed_m_s, s->words.word[WORDS_DECIMAL]);
    snprintf(t.speed, sizeof t.speed, "%s m/s", number);
    return t;
}

static bool
screen_draw_status(struct screen *s)
{
    const struct screen_layout *l = &s->layout;
    struct screen_times t = screen_times_of(s);
    struct paint_rect r = { l->ring.x_px, l->status.y_px, l->status.x_px + l->status.w_px - l->ring.x_px,
                            l->status.h_px };
    const char *word = screen_block_word(s);
    uint64_t hash = screen_hash(screen_hash(3, &t, sizeof t), word, strlen(word));
    if (!screen_begin(s, REGION_STATUS, r, hash))
        return false;
    int x = t.has_left ? l->status.x_px : l->ring.x_px, bottom = l->ring.y_px + l->ring.h_px, type = l->status_type_px;
    paint_fill(&s->canvas->picture, r, s->theme.ground, 1.0);
    if (t.has_left) {
        int digit = text_digit_height_px(&s->canvas->text, l->ring_type_px, TEXT_BOLD);
        screen_ring(s, l->ring, l->ring.w_px * 0.13);
        screen_write(s, x, l->ring.y_px + digit, TEXT_LEFT, l->ring_type_px, TEXT_BOLD, s->theme.figure, t.left);
    }
    int small = text_digit_height_px(&s->canvas->text, type, TEXT_REGULAR);
    screen_write(s, x, bottom - small - (int) (small * 0.75), TEXT_LEFT, type, TEXT_REGULAR, s->theme.label, word);
    screen_write(s, x, bottom, TEXT_LEFT, type, TEXT_REGULAR, s->theme.figure, t.speed);
    return true;
}

static bool
screen_draw_message(struct screen *s, struct host_time now)
{
    const struct screen_layout *l = &s->layout;
    const char *sentence = screen_sentence(s);
    char age[FIGURE_MAX], line[WORDS_SENTENCE_MAX + FIGURE_MAX] = "";
    if (s->verdict.last_value_at.us > 0) {
        snprintf(age, sizeof age, "%lld", (long long) (units_host_since_us(now, s->verdict.last_value_at) / UNITS_US_PER_S));
        screen_fill_in(line, sizeof line, s->words.word[WORDS_AGO_S], age);
    }
    uint64_t hash = screen_hash(screen_hash(4, sentence, strlen(sentence)), line, strlen(line));
    if (!screen_begin(s, REGION_MESSAGE, l->message, hash))
        return false;
    struct paint_rect r = l->message;
    int pad = r.h_px / 9, age_px = line[0] != '\0' ? r.h_px * 30 / 100 : 0;
    paint_fill(&s->canvas->picture, r, s->theme.alert, 1.0);
    struct paint_rect text = { r.x_px + 2 * pad, r.y_px + pad / 2, r.w_px - 4 * pad, r.h_px - pad - age_px };
    screen_paragraph(s, text, l->message_type_px, TEXT_LEFT, TEXT_BOLD, s->theme.alert_text, sentence);
    struct paint_rect foot = { text.x_px, text.y_px + text.h_px, text.w_px, age_px };
    if (age_px > 0)
        screen_paragraph(s, foot, l->status_type_px, TEXT_LEFT, TEXT_REGULAR, s->theme.alert_text, line);
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
    if (v->focus == METRIC_COUNT)
        return false;
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

/* ---------------------------------------------------------------- the other scenes */

/* Time left in a large ring, the belt's speed under it; nothing that a foot could follow. */
static void
screen_silent(struct screen *s, const struct screen_times *t)
{
    const struct screen_layout *l = &s->layout;
    struct paint_rect c = l->centre;
    if (t->has_left) {
        struct paint_rect upper = screen_band(c, 0.0, 0.70);
        int side = upper.w_px < upper.h_px ? upper.w_px : upper.h_px;
        struct paint_rect ring = { c.x_px + (c.w_px - side) / 2, upper.y_px, side, side };
        int type = l->figure_type_px * 13 / 10;
        screen_ring(s, ring, side * 0.075);
        struct paint_rect word = { ring.x_px, ring.y_px + side * 63 / 100, side, side * 16 / 100 };
        screen_centre_line(s, ring, type, TEXT_BOLD, s->theme.figure, t->left);
        screen_centre_line(s, word, l->label_type_px, TEXT_REGULAR, s->theme.label, screen_block_word(s));
        c.y_px = upper.y_px + side;
        c.h_px = l->centre.y_px + l->centre.h_px - c.y_px;
        if (c.h_px > 3 * l->figure_type_px)
            c.h_px = 3 * l->figure_type_px;
    }
    char line[FIGURE_MAX + 8 + WORDS_SENTENCE_MAX + 4];
    struct paint_rect speed = t->has_left ? screen_band(c, 0.22, 0.70) : screen_band(c, 0.3, 0.6);
    struct paint_rect belt = t->has_left ? screen_band(c, 0.74, 1.0) : screen_band(c, 0.6, 0.7);
    snprintf(line, sizeof line, "%s", t->speed);
    screen_centre_line(s, speed, l->figure_type_px, TEXT_BOLD, s->theme.figure, line);
    screen_centre_line(s, belt, l->label_type_px, TEXT_REGULAR, s->theme.label, s->words.word[WORDS_BELT]);
}

static void
screen_rest(struct screen *s, const struct screen_times *t)
{
    const struct screen_layout *l = &s->layout;
    struct paint_rect c = l->centre;
    char number[FIGURE_MAX], line[WORDS_SENTENCE_MAX + FIGURE_MAX];
    screen_centre_line(s, screen_band(c, 0.2, 0.45), l->cue_type_px, TEXT_BOLD, s->theme.figure, screen_block_word(s));
    if (s->verdict.block == VERDICT_BLOCK_ENDED) {
        snprintf(number, sizeof number, "%lu", (unsigned long) s->verdict.n_steps);
        screen_fill_in(line, sizeof line, s->words.word[WORDS_STEPS], number);
        screen_centre_line(s, screen_band(c, 0.48, 0.62), l->message_type_px, TEXT_REGULAR, s->theme.label, line);
        screen_paragraph(s, screen_band(c, 0.66, 0.86), l->message_type_px, TEXT_CENTRE, TEXT_REGULAR, s->theme.figure,
                         s->words.word[WORDS_STEP_OFF]);
        return;
    }
    if (t->has_left)
        screen_centre_line(s, screen_band(c, 0.48, 0.68), l->figure_type_px, TEXT_BOLD, s->theme.figure, t->left);
    screen_centre_line(s, screen_band(c, 0.72, 0.86), l->message_type_px, TEXT_REGULAR, s->theme.label, t->speed);
}

static bool
screen_draw_centre(struct screen *s)
{
    const struct screen_layout *l = &s->layout;
    struct screen_times t = screen_times_of(s);
    const char *sentence = screen_sentence(s), *word = screen_block_word(s);
    uint64_t hash = screen_hash(screen_hash(8, &t, sizeof t), sentence, strlen(sentence));
    hash = screen_hash(hash, word, strlen(word));
    if (s->scene == SCREEN_REST)
        hash = screen_hash(hash, &s->verdict.n_steps, sizeof s->verdict.n_steps);
    if (!screen_begin(s, REGION_CENTRE, l->centre, hash))
        return false;
    paint_fill(&s->canvas->picture, l->centre, s->theme.ground, 1.0);
    if (s->scene == SCREEN_SILENT)
        screen_silent(s, &t);
    else if (s->scene == SCREEN_REST)
        screen_rest(s, &t);
    else
        screen_paragraph(s, screen_band(l->centre, 0.25, 0.75), l->message_type_px * 5 / 4, TEXT_CENTRE, TEXT_BOLD,
                         s->theme.figure, sentence);
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
