/* screen_landing.c - the landings: where each foot's middle comes down ahead of the body, eased, and the ruler beside it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "runner/figure.h"
#include "runner/screen_parts.h"
#include "ui/ruler.h"

_Static_assert(RULER_MAX_EARLIER >= VERDICT_N_LANDINGS, "room for all earlier landings");

/* ---------------------------------------------------------------- motion */

/* Heads for value; from nothing it is there at once. False when there is no value. */
static bool
landing_go(struct ease *e, bool had, double value, struct host_time now, bool is_first)
{
    if (isnan(value))
        return false;
    if (is_first || !had)
        ease_set(e, value);
    else
        ease_go(e, value, SCREEN_EASE_US, now);
    return true;
}

void
screen_advance_landings(struct screen *s, struct host_time now, bool is_first)
{
    const struct verdict *v = &s->verdict;
    bool is_stale = screen_is_stale(s, now);
    ruler_fit(&s->ruler_low_mm, &s->ruler_high_mm, v->landing_low_mm);
    ruler_fit(&s->ruler_low_mm, &s->ruler_high_mm, v->landing_high_mm);
    for (int foot = 0; foot < 2; foot++) {
        const struct verdict_landing *l = &v->landing[foot];
        struct screen_landing *at = &s->landing[foot];
        ruler_fit(&s->ruler_low_mm, &s->ruler_high_mm, l->middle_mm);
        ruler_fit(&s->ruler_low_mm, &s->ruler_high_mm, l->first_mm);
        at->has_middle = landing_go(&at->middle_mm, at->has_middle, l->middle_mm, now, is_first);
        at->has_first = landing_go(&at->first_mm, at->has_first, l->first_mm, now, is_first);
        screen_advance_look(&at->look, is_stale ? VERDICT_UNKNOWN : l->side, &s->theme, now, is_first);
    }
}

/* ---------------------------------------------------------------- ink */

/* What one column shows, in steps too fine to see; zeroed before it is filled, hashed whole. */
struct landing_key {
    int32_t look[SCREEN_LOOK_N];
    int32_t middle, first; /* quarters of a pixel on the picture; -1: none */
    int32_t n_earlier, is_stale, is_shown;
    int32_t earlier[RULER_MAX_EARLIER]; /* quarters of a millimetre */
    double band_mm[2], scale_mm[2];
};

static struct ruler_scale
landing_scale(const struct screen *s)
{
    const struct paint_rect *r = &s->layout.foot[0];
    return (struct ruler_scale){ r->y_px, r->y_px + r->h_px, s->layout.ruler_unit_px, s->ruler_low_mm, s->ruler_high_mm };
}

static void
landing_key(struct screen *s, int foot, struct host_time now, struct landing_key *k)
{
    const struct verdict_landing *l = &s->verdict.landing[foot];
    const struct screen_landing *at = &s->landing[foot];
    struct ruler_scale scale = landing_scale(s);
    memset(k, 0, sizeof *k);
    k->middle = k->first = -1;
    k->is_shown = s->verdict.has_landing;
    if (!k->is_shown)
        return;
    k->is_stale = screen_is_stale(s, now);
    screen_look_now(&at->look, now, k->look);
    if (at->has_middle)
        k->middle = (int32_t) lround(4.0 * ruler_y_px(&scale, ease_value(&at->middle_mm, now)));
    if (at->has_middle && at->has_first)
        k->first = (int32_t) lround(4.0 * ruler_y_px(&scale, ease_value(&at->first_mm, now)));
    k->n_earlier = l->n_earlier;
    for (int i = 0; i < l->n_earlier; i++)
        k->earlier[i] = (int32_t) lround(4.0 * l->earlier_mm[i]);
    k->band_mm[0] = k->is_stale ? (double) NAN : s->verdict.landing_low_mm; /* what is not live is not judged */
    k->band_mm[1] = k->is_stale ? (double) NAN : s->verdict.landing_high_mm;
    k->scale_mm[0] = s->ruler_low_mm;
    k->scale_mm[1] = s->ruler_high_mm;
}

static void
landing_column(const struct screen *s, int foot, const struct landing_key *k, struct ruler_column *c)
{
    *c = (struct ruler_column){
        .room = s->layout.foot[foot],
        .scale = landing_scale(s),
        .band_low_mm = k->band_mm[0],
        .band_high_mm = k->band_mm[1],
        .n_earlier = k->n_earlier,
        .has_mark = k->middle >= 0,
        .has_stem = k->first >= 0,
        .middle_y_px = k->middle / 4.0,
        .first_y_px = k->first / 4.0,
        .rgb = screen_look_rgb(s, k->look, k->is_stale),
        .hollow = k->look[3] / 64.0,
        .hatch = k->look[4] / 64.0,
        .outline = k->is_stale ? s->theme.stale : s->theme.figure,
    };
    for (int i = 0; i < k->n_earlier; i++)
        c->earlier_mm[i] = k->earlier[i] / 4.0;
}

/* The rows that differ from what is on the picture: those of mark and stem, before and now, while nothing else changed; else
 * all. Remembers what is drawn. */
static struct paint_rect
landing_change(struct screen *s, int foot, const struct landing_key *k, struct paint_rect all)
{
    struct landing_key rest = *k;
    struct ruler_column c;
    int y0, y1, *was = s->drawn_rows[foot];
    rest.middle = k->middle >= 0;
    rest.first = k->first >= 0;
    uint64_t hash = screen_hash(11, &rest, sizeof rest);
    bool is_moved_only = s->drawn[REGION_FOOT + foot] != 0 && s->drawn_column[foot] == hash;
    landing_column(s, foot, k, &c);
    ruler_ink_rows(&c, &y0, &y1);
    int low = was[0] < y0 ? was[0] : y0, high = was[1] > y1 ? was[1] : y1;
    was[0] = y0;
    was[1] = y1;
    s->drawn_column[foot] = hash;
    if (!is_moved_only)
        return all;
    return paint_intersect((struct paint_rect){ all.x_px, low, all.w_px, high - low }, all);
}

static bool
landing_draw_column(struct screen *s, int foot, struct host_time now)
{
    const struct screen_layout *l = &s->layout;
    struct paint_rect label = l->foot_label[foot], all = l->foot[foot];
    struct landing_key k;
    struct ruler_column c;
    all.h_px = label.y_px + label.h_px - all.y_px;
    landing_key(s, foot, now, &k);
    uint64_t hash = screen_hash(6, &k, sizeof k);
    if (s->drawn[REGION_FOOT + foot] == hash)
        return false;
    struct paint_rect part = landing_change(s, foot, &k, all);
    screen_begin(s, REGION_FOOT + foot, part, hash);
    screen_clear(s, part);
    if (!k.is_shown)
        return true;
    landing_column(s, foot, &k, &c);
    ruler_draw_column(&s->canvas->picture, &s->theme, &c);
    screen_centre_line(s, label, l->foot_type_px, TEXT_REGULAR, s->theme.label,
                       s->words.word[foot == 0 ? WORDS_LEFT : WORDS_RIGHT]);
    return true;
}

/* Figures and ticks: whole steps, and the body's word in the place of 0. */
static bool
landing_draw_scale(struct screen *s)
{
    const struct screen_layout *l = &s->layout;
    double key[] = { s->ruler_low_mm, s->ruler_high_mm, s->verdict.has_landing };
    struct paint_rect r = l->ruler_scale;
    if (!screen_begin(s, REGION_RULER, r, screen_hash(12, key, sizeof key)))
        return false;
    screen_clear(s, r);
    if (!s->verdict.has_landing)
        return true;
    struct ruler_scale scale = landing_scale(s);
    int type = l->ruler_type_px, right = r.x_px + r.w_px;
    ruler_draw_ticks(&s->canvas->picture, &s->theme, &scale, right);
    for (double mm = s->ruler_low_mm; mm < s->ruler_high_mm + 1.0; mm += RULER_STEP_MM) {
        bool is_body = fabs(mm) < 1.0;
        char text[FIGURE_MAX];
        figure_value(text, METRIC_LANDING_AHEAD_MM, mm, s->words.word[WORDS_DECIMAL]);
        int half = type, y = (int) lround(ruler_y_px(&scale, mm));
        struct paint_rect line = { r.x_px, y - half, r.w_px, 2 * half };
        screen_write(s, right - (int) lround(34.0 * l->ruler_unit_px), screen_middle(s, line, type, TEXT_REGULAR),
                     TEXT_RIGHT, (struct screen_type){ type, TEXT_REGULAR, is_body ? s->theme.figure : s->theme.label },
                     is_body ? s->words.word[WORDS_BODY] : text);
    }
    return true;
}

/* "Ahead", with its unit, and an arrow that says which way that is. */
static bool
landing_draw_head(struct screen *s)
{
    const struct screen_layout *l = &s->layout;
    int32_t key[] = { s->verdict.has_landing, (int32_t) s->verdict.landing_standing };
    struct paint_rect r = l->ruler_head;
    if (!screen_begin(s, REGION_AHEAD, r, screen_hash(13, key, sizeof key)))
        return false;
    screen_clear(s, r);
    if (!s->verdict.has_landing)
        return true;
    char text[2 * WORDS_SENTENCE_MAX];
    snprintf(text, sizeof text, "%s  %s%s", s->words.word[WORDS_AHEAD],
             s->verdict.landing_standing == METRIC_ESTIMATED ? "\xE2\x89\x88 " : "", s->words.unit[METRIC_LANDING_AHEAD_MM]);
    int type = l->foot_type_px, width = screen_width(s, type, TEXT_REGULAR, text), arrow = type * 8 / 10;
    struct paint_rect at = { r.x_px, r.y_px, r.w_px, r.h_px };
    int x = at.x_px + (at.w_px - width - arrow) / 2;
    screen_write(s, x + arrow, screen_middle(s, at, type, TEXT_REGULAR), TEXT_LEFT,
                 (struct screen_type){ type, TEXT_REGULAR, s->theme.label }, text);
    struct paint_rect sign = { x - arrow / 3, r.y_px + (r.h_px - arrow) / 2, arrow, arrow };
    ruler_draw_arrow(&s->canvas->picture, sign, 5.0 * l->ruler_unit_px, s->theme.figure);
    return true;
}

bool
screen_draw_landings(struct screen *s, struct host_time now)
{
    bool any = landing_draw_scale(s);
    any = landing_draw_head(s) || any;
    for (int foot = 0; foot < 2; foot++)
        any = landing_draw_column(s, foot, now) || any;
    return any;
}
