#include <math.h>
#include <stdio.h>
#include <string.h>

#include "runner/figure.h"
#include "runner/screen_parts.h"

/* ---------------------------------------------------------------- cue, status, message */

bool
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
    screen_clear(s, l->cue);
    screen_write(s, l->cue.x_px, screen_middle(s, l->cue, l->cue_type_px, w), TEXT_LEFT,
                 (struct screen_type){ l->cue_type_px, w, is_running ? s->theme.figure : s->theme.label }, line);
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
        [VERDICT_BLOCK_WARM_UP] = WORDS_WARM_UP,     [VERDICT_BLOCK_BASELINE] = WORDS_BASELINE,
        [VERDICT_BLOCK_COACHED] = WORDS_COACHED,     [VERDICT_BLOCK_SILENT] = WORDS_SILENT,
        [VERDICT_BLOCK_COOL_DOWN] = WORDS_COOL_DOWN, [VERDICT_BLOCK_PAUSED] = WORDS_PAUSED,
        [VERDICT_BLOCK_ENDED] = WORDS_ENDED,
    };
    return s->verdict.block == VERDICT_BLOCK_FREE ? "" : s->words.word[word[s->verdict.block]];
}

struct screen_times {
    char left[FIGURE_MAX];      /* "3:12" */
    char speed[FIGURE_MAX + 8]; /* "3.1 m/s" */
    bool has_left;
    bool is_unsaved, is_aside;
};

static struct screen_times
screen_times_of(const struct screen *s)
{
    struct screen_times t;
    char number[FIGURE_MAX];
    memset(&t, 0, sizeof t); /* hashed whole */
    t.is_unsaved = s->is_unsaved;
    t.is_aside = s->is_aside;
    t.has_left = !isnan(s->verdict.block_left_s);
    if (t.has_left)
        figure_clock(t.left, s->verdict.block_left_s);
    figure_speed(number, s->verdict.belt_speed_m_s, s->words.word[WORDS_DECIMAL]);
    snprintf(t.speed, sizeof t.speed, "%s m/s", number);
    return t;
}

/* The line at the foot of the status: belt speed, or, on a ground of its own, that nothing is being saved. */
static void
screen_write_foot(struct screen *s, int x, int y, int width_px, uint32_t rgb, const char *line)
{
    const char *word = s->words.word[s->is_aside ? WORDS_KEPT_ASIDE : WORDS_NOT_SAVED];
    struct text *t = &s->canvas->text;
    int type = s->layout.status_type_px;
    if (!s->is_unsaved) {
        screen_write(s, x, y, TEXT_LEFT, (struct screen_type){ type, TEXT_REGULAR, rgb }, line);
        return;
    }
    const int pad = text_digit_height_px(t, type, TEXT_BOLD) / 3;
    type = text_fit_px(t, type, 8, TEXT_BOLD, word, width_px - 2 * pad);
    const int high = text_digit_height_px(t, type, TEXT_BOLD);
    paint_fill(&s->canvas->picture,
               (struct paint_rect){ x, y - high - pad, text_width_px(t, type, TEXT_BOLD, word) + 2 * pad, high + 2 * pad },
               s->theme.alert, 1.0);
    screen_write(s, x + pad, y, TEXT_LEFT, (struct screen_type){ type, TEXT_BOLD, s->theme.alert_text }, word);
}

bool
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
    int x = l->status.x_px, bottom = l->ring.y_px + l->ring.h_px, type = l->status_type_px;
    screen_clear(s, r);
    int digit = text_digit_height_px(&s->canvas->text, l->ring_type_px, TEXT_BOLD);
    if (!t.has_left) { /* no block, no ring: the belt's speed takes its place */
        x = l->ring.x_px;
        screen_write(s, x, l->ring.y_px + digit, TEXT_LEFT,
                     (struct screen_type){ l->ring_type_px, TEXT_BOLD, s->theme.figure }, t.speed);
        screen_write_foot(s, x, l->ring.y_px + 2 * digit, r.w_px, s->theme.label, s->words.word[WORDS_BELT]);
        return true;
    }
    screen_ring(s, l->ring, l->ring.w_px * 0.13);
    screen_write(s, x, l->ring.y_px + digit, TEXT_LEFT,
                 (struct screen_type){ l->ring_type_px, TEXT_BOLD, s->theme.figure }, t.left);
    int small = text_digit_height_px(&s->canvas->text, type, TEXT_REGULAR);
    screen_write(s, x, bottom - small - (int) (small * 0.75), TEXT_LEFT,
                 (struct screen_type){ type, TEXT_REGULAR, s->theme.label }, word);
    screen_write_foot(s, x, bottom, l->status.w_px, s->theme.figure, t.speed);
    return true;
}

bool
screen_draw_message(struct screen *s, struct host_time now)
{
    const struct screen_layout *l = &s->layout;
    const char *sentence = screen_sentence(s);
    char age[FIGURE_MAX], line[WORDS_SENTENCE_MAX + FIGURE_MAX] = "";
    if (s->verdict.last_value_at.us > 0) {
        snprintf(age, sizeof age, "%lld",
                 (long long) (units_host_since_us(now, s->verdict.last_value_at) / UNITS_US_PER_S));
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

/* ---------------------------------------------------------------- the other scenes */

/* Time left in a large ring, the belt's speed under it; nothing that a foot could follow. */
static void
screen_silent(struct screen *s, const struct screen_times *t)
{
    const struct screen_layout *l = &s->layout;
    struct paint_rect c = l->centre;
    if (t->has_left) {
        struct paint_rect ring = l->silent_ring;
        int side = ring.w_px, type = l->silent_type_px[strlen(t->left) > strlen("8:88")];
        screen_ring(s, ring, side * SCREEN_RING_WIDTH);
        struct paint_rect word = { ring.x_px, ring.y_px + side * 63 / 100, side, side * 16 / 100 };
        screen_centre_line(s, ring, type, TEXT_BOLD, s->theme.figure, t->left);
        screen_centre_line(s, word, l->label_type_px, TEXT_REGULAR, s->theme.label, screen_block_word(s));
        c.y_px = ring.y_px + side;
        c.h_px = l->centre.y_px + l->centre.h_px - c.y_px;
        if (c.h_px > 3 * l->figure_type_px)
            c.h_px = 3 * l->figure_type_px;
    }
    char line[FIGURE_MAX + 8 + WORDS_SENTENCE_MAX + 4];
    struct paint_rect speed = t->has_left ? screen_band(c, 0.22, 0.70) : screen_band(c, 0.3, 0.6);
    struct paint_rect belt = t->has_left ? screen_band(c, 0.74, 1.0) : screen_band(c, 0.6, 0.7);
    snprintf(line, sizeof line, "%s", t->speed);
    screen_centre_line(s, speed, l->figure_type_px, TEXT_BOLD, s->theme.figure, line);
    if (!s->is_unsaved) {
        screen_centre_line(s, belt, l->label_type_px, TEXT_REGULAR, s->theme.label, s->words.word[WORDS_BELT]);
        return;
    }
    const char *word = s->words.word[s->is_aside ? WORDS_KEPT_ASIDE : WORDS_NOT_SAVED];
    const int wide = text_width_px(&s->canvas->text, l->label_type_px, TEXT_BOLD, word) + belt.h_px / 2;
    paint_fill(&s->canvas->picture, (struct paint_rect){ belt.x_px + (belt.w_px - wide) / 2, belt.y_px, wide, belt.h_px },
               s->theme.alert, 1.0);
    screen_centre_line(s, belt, l->label_type_px, TEXT_BOLD, s->theme.alert_text, word);
}

/* Paused or ended; what keeps the runner safe stands below. */
static void
screen_rest(struct screen *s, const struct screen_times *t)
{
    const struct screen_layout *l = &s->layout;
    struct paint_rect c = l->centre;
    if (c.h_px > c.w_px) { /* lines stay together on a tall picture */
        c.y_px += (c.h_px - c.w_px) / 2;
        c.h_px = c.w_px;
    }
    screen_paragraph(s, screen_band(c, 0.84, 1.0), l->message_type_px, TEXT_CENTRE, TEXT_REGULAR,
                     s->theme.figure, s->words.word[WORDS_PAIN]);
    char number[FIGURE_MAX], line[WORDS_SENTENCE_MAX + FIGURE_MAX];
    screen_centre_line(s, screen_band(c, 0.08, 0.33), l->cue_type_px, TEXT_BOLD, s->theme.figure,
                       screen_block_word(s));
    if (s->verdict.block == VERDICT_BLOCK_ENDED) {
        snprintf(number, sizeof number, "%lu", (unsigned long) s->verdict.n_steps);
        screen_fill_in(line, sizeof line, s->words.word[WORDS_STEPS], number);
        screen_centre_line(s, screen_band(c, 0.38, 0.50), l->message_type_px, TEXT_REGULAR, s->theme.label,
                           line);
        screen_paragraph(s, screen_band(c, 0.56, 0.82), l->message_type_px, TEXT_CENTRE, TEXT_REGULAR,
                         s->theme.figure, s->words.word[WORDS_STEP_OFF]);
        return;
    }
    if (t->has_left)
        screen_centre_line(s, screen_band(c, 0.36, 0.56), l->figure_type_px, TEXT_BOLD, s->theme.figure,
                           t->left);
    screen_centre_line(s, screen_band(c, 0.61, 0.75), l->message_type_px, TEXT_REGULAR, s->theme.label,
                       t->speed);
}

bool
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
    screen_clear(s, l->centre);
    if (s->scene == SCREEN_SILENT)
        screen_silent(s, &t);
    else if (s->scene == SCREEN_REST)
        screen_rest(s, &t);
    else
        screen_paragraph(s, screen_band(l->centre, 0.25, 0.75), l->message_type_px * 5 / 4, TEXT_CENTRE,
                         TEXT_BOLD, s->theme.figure, sentence);
    return true;
}
