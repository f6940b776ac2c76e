#include "runner/screen.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/log.h"
#include "base/str.h"
#include "runner/figure.h"
#include "runner/screen_parts.h"
#include "ui/bar.h"
#include "ui/ruler.h"

#define SCREEN_DEFAULT_DIAGONAL_INCH 32.0
/* A height to measure the font's proportions at. */
#define SCREEN_MEASURE_PX 100

struct screen_config
screen_config_default(void)
{
    return (struct screen_config){
        .language = "en", .theme = THEME_DARK, .viewing_distance_mm = 2500.0, .diagonal_inch = NAN
    };
}

/* All signs of the language's cues and words are in the fonts. */
static bool
screen_can_show(struct screen *s)
{
    for (int i = 1; i < VERDICT_CUE_COUNT; i++)
        if (!text_can_show(&s->canvas->text, s->words.cue[i]))
            return false;
    for (int i = 0; i < WORDS_COUNT; i++)
        if (!text_can_show(&s->canvas->text, s->words.word[i]))
            return false;
    return true;
}

enum err
screen_init(struct screen *s, struct canvas *canvas, const struct screen_config *config)
{
    memset(s, 0, sizeof *s);
    assert(canvas != NULL && canvas->picture.pixel != NULL);
    assert(config->viewing_distance_mm > 0.0);
    s->canvas = canvas;
    s->config = *config;
    s->config.language = NULL;
    s->config.assets_dir = NULL;
    s->theme = theme_of(config->theme);
    s->scene = SCREEN_WAITING;
    enum err e = words_load(&s->words, config->language, config->assets_dir);
    if (e == ERR_OK && !screen_can_show(s)) {
        struct message told;
        message_tell(&told, MESSAGE_SCREEN_NO_FONT, s->words.language);
        log_tell(&told);
        e = words_load(&s->words, "en", config->assets_dir);
    }
    if (e == ERR_USAGE)
        s->why = s->words.why;
    else if (e != ERR_OK) /* all words are English then */
        log_tell(&s->words.why);
    return e == ERR_USAGE ? e : ERR_OK;
}

void
screen_destroy(struct screen *s)
{
    s->canvas = NULL; /* all else lives in the struct */
}

/* ---------------------------------------------------------------- layout and type */

/* The size at which each of n texts fits width_px, at most want_px. */
static int
screen_fit(struct screen *s, int want_px, enum text_weight w, const char *utf8, int width_px)
{
    return text_fit_px(&s->canvas->text, want_px, 8, w, utf8, width_px);
}

static void
screen_fit_type(struct screen *s)
{
    struct screen_layout *l = &s->layout;
    for (int i = 1; i < VERDICT_CUE_COUNT; i++)
        l->cue_type_px = screen_fit(s, l->cue_type_px, TEXT_BOLD, s->words.cue[i], l->cue.w_px);
    for (int i = WORDS_OFF; i <= WORDS_COUNTING; i++)
        l->cue_type_px = screen_fit(s, l->cue_type_px, TEXT_BOLD, s->words.word[i], l->cue.w_px);
    for (int i = WORDS_COACHED; i <= WORDS_ENDED; i++)
        l->cue_type_px = screen_fit(s, l->cue_type_px, TEXT_BOLD, s->words.word[i], l->centre.w_px);
    for (int i = 0; i < s->verdict.n_bars; i++) {
        char label[2 * WORDS_MAX + 8];
        bool is_one = l->label_lines == 1;
        snprintf(label, sizeof label, "%s%s%s", s->words.metric[s->verdict.bar[i].metric],
                 is_one ? "  \xE2\x89\x88 " : "", is_one ? s->words.unit[s->verdict.bar[i].metric] : "");
        l->label_type_px = screen_fit(s, l->label_type_px, TEXT_REGULAR, label, l->label[i].w_px);
    }
    for (int i = WORDS_LEFT; i <= WORDS_RIGHT; i++)
        l->foot_type_px =
            screen_fit(s, l->foot_type_px, TEXT_REGULAR, s->words.word[i], l->foot_label[0].w_px);
    l->ruler_type_px = screen_fit(s, l->ruler_type_px, TEXT_REGULAR, s->words.word[WORDS_BODY],
                                  l->ruler_scale.w_px - (int) lround(34.0 * l->ruler_unit_px)); /* the ticks take the rest */
    for (int i = WORDS_WARM_UP; i <= WORDS_COOL_DOWN; i++)
        l->status_type_px = screen_fit(s, l->status_type_px, TEXT_REGULAR, s->words.word[i], l->status.w_px);
    l->ring_type_px = screen_fit(s, l->ring_type_px, TEXT_BOLD, "88:88", l->status.w_px);
    int room_px = (int) (SCREEN_RING_ROOM * l->silent_ring.w_px);
    l->silent_type_px[0] = screen_fit(s, l->silent_type_px[0], TEXT_BOLD, "8:88", room_px);
    l->silent_type_px[1] = screen_fit(s, l->silent_type_px[1], TEXT_BOLD, "88:88", room_px);
}

/* The scenes without bars: their words, and any sentence at the sizes that a paragraph may shrink to. */
static void
screen_preload_centre(struct screen *s)
{
    const struct screen_layout *l = &s->layout;
    struct text *t = &s->canvas->text;
    static const char ascii[] =
        " !\"%'()+,-./0123456789:;=?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz\xC2\xB0";
    for (int i = 0; i < 2; i++)
        text_preload(t, l->silent_type_px[i], TEXT_BOLD, "0123456789:");
    text_preload(t, l->figure_type_px, TEXT_BOLD, "m/s 0123456789:.,");
    for (int i = WORDS_WARM_UP; i <= WORDS_ENDED; i++) {
        text_preload(t, l->label_type_px, TEXT_REGULAR, s->words.word[i]);
        text_preload(t, l->cue_type_px, TEXT_BOLD, s->words.word[i]);
    }
    text_preload(t, l->label_type_px, TEXT_REGULAR, s->words.word[WORDS_BELT]);
    text_preload(t, l->message_type_px, TEXT_REGULAR, "0123456789.,m/s \xE2\x80\x93");
    text_preload(t, l->message_type_px, TEXT_REGULAR, s->words.word[WORDS_STEPS]);
    for (int px = l->message_type_px, i = 0; i < 3 && px > 10; i++, px = px * 8 / 10) {
        text_preload(t, px, TEXT_BOLD, ascii);
        for (int k = WORDS_WAITING; k <= WORDS_GARBLED; k++)
            text_preload(t, px, TEXT_BOLD, s->words.word[k]);
        text_preload(t, px, TEXT_REGULAR, s->words.word[WORDS_STEP_OFF]);
        text_preload(t, px, TEXT_REGULAR, s->words.word[WORDS_PAIN]);
    }
    for (int px = l->message_type_px * 5 / 4, i = 0; i < 3 && px > 10; i++, px = px * 8 / 10) {
        text_preload(t, px, TEXT_BOLD, ascii);
        for (int k = WORDS_WAITING; k <= WORDS_GARBLED; k++)
            text_preload(t, px, TEXT_BOLD, s->words.word[k]);
    }
    for (int px = l->status_type_px, i = 0; i < 2; i++, px = px * 8 / 10) {
        text_preload(t, px, TEXT_REGULAR, "0123456789");
        text_preload(t, px, TEXT_REGULAR, s->words.word[WORDS_AGO_S]);
    }
}

/* Every sign that may come, at its size, so that drawing takes no memory. */
static void
screen_preload(struct screen *s)
{
    const char *figures = "0123456789.,:\xE2\x80\x93\xE2\x88\x92";
    const struct screen_layout *l = &s->layout;
    struct text *t = &s->canvas->text;
    int figure_px[] = { l->figure_type_px, l->figure_type_px * 7 / 10, l->ring_type_px };
    for (size_t i = 0; i < sizeof figure_px / sizeof figure_px[0]; i++)
        text_preload(t, figure_px[i], TEXT_BOLD, figures);
    for (int i = 1; i < VERDICT_CUE_COUNT; i++)
        text_preload(t, l->cue_type_px, TEXT_BOLD, s->words.cue[i]);
    for (int i = WORDS_OFF; i <= WORDS_COUNTING; i++)
        text_preload(t, l->cue_type_px, TEXT_REGULAR, s->words.word[i]);
    text_preload(t, l->label_type_px, TEXT_REGULAR, "\xE2\x89\x88/");
    for (int i = 0; i < s->verdict.n_bars; i++) {
        text_preload(t, l->label_type_px, TEXT_REGULAR, s->words.metric[s->verdict.bar[i].metric]);
        text_preload(t, l->label_type_px, TEXT_REGULAR, s->words.unit[s->verdict.bar[i].metric]);
    }
    text_preload(t, l->foot_type_px, TEXT_REGULAR, s->words.word[WORDS_LEFT]);
    text_preload(t, l->foot_type_px, TEXT_REGULAR, s->words.word[WORDS_RIGHT]);
    text_preload(t, l->foot_type_px, TEXT_REGULAR, s->words.word[WORDS_AHEAD]);
    text_preload(t, l->foot_type_px, TEXT_REGULAR, s->words.unit[METRIC_LANDING_AHEAD_MM]);
    text_preload(t, l->foot_type_px, TEXT_REGULAR, " \xE2\x89\x88");
    text_preload(t, l->ruler_type_px, TEXT_REGULAR, s->words.word[WORDS_BODY]);
    text_preload(t, l->ruler_type_px, TEXT_REGULAR, "0123456789\xE2\x88\x92");
    for (int i = WORDS_WARM_UP; i <= WORDS_COOL_DOWN; i++)
        text_preload(t, l->status_type_px, TEXT_REGULAR, s->words.word[i]);
    text_preload(t, l->status_type_px, TEXT_REGULAR, "0123456789.,m/s \xE2\x80\x93");
    text_preload(t, l->status_type_px, TEXT_REGULAR, s->words.word[WORDS_BELT]);
    text_preload(t, l->ring_type_px, TEXT_BOLD, "m/s ");
    int trend_px = l->trend_label.h_px * 76 / 100;
    text_preload(t, trend_px, TEXT_REGULAR, s->words.word[WORDS_LAST_MINUTES]);
    for (int m = 0; m < METRIC_COUNT; m++)
        text_preload(t, trend_px, TEXT_REGULAR, s->words.metric[m]);
    screen_preload_centre(s);
}

static void
screen_make_layout(struct screen *s)
{
    struct canvas *c = s->canvas;
    /* Other bars in the same picture: most sizes stay, and making glyphs anew would cost a frame. */
    if (s->generation != c->generation || c->text.n_faces > TEXT_MAX_FACES / 2 + 6)
        text_reset(&c->text);
    double pitch = isnan(s->config.diagonal_inch)
                       ? canvas_pitch_mm(c)
                       : screen_pitch_mm(c->picture.width_px, c->picture.height_px, s->config.diagonal_inch);
    if (isnan(pitch))
        pitch = screen_pitch_mm(c->picture.width_px, c->picture.height_px, SCREEN_DEFAULT_DIAGONAL_INCH);
    double digit = text_digit_height_px(&c->text, SCREEN_MEASURE_PX, TEXT_BOLD);
    double advance = text_width_px(&c->text, SCREEN_MEASURE_PX, TEXT_BOLD, "8");
    struct screen_geometry g = {
        .width_px = c->picture.width_px,
        .height_px = c->picture.height_px,
        .n_bars = s->verdict.n_bars,
        .pitch_mm = pitch,
        .viewing_distance_mm = s->config.viewing_distance_mm,
        .digit_height_ratio = digit > 0 ? digit / SCREEN_MEASURE_PX : 0.70,
        .digit_advance_ratio = advance > 0 ? advance / SCREEN_MEASURE_PX : 0.67,
    };
    screen_layout(&s->layout, &g);
    s->ruler_low_mm = RULER_LOW_MM;
    s->ruler_high_mm = RULER_HIGH_MM;
    screen_fit_type(s);
    screen_preload(s);
    s->generation = c->generation;
    message_init(&s->warning, MESSAGE_NONE);
    if (!s->layout.figure_is_tall_enough)
        message_tell(&s->warning, MESSAGE_SCREEN_FIGURES_ARE_SMALL,
                     message_real(floor(s->layout.figure_height_px * pitch), 0, MESSAGE_UNIT_MM),
                     message_real(ceil(s->layout.figure_want_px * pitch), 0, MESSAGE_UNIT_MM),
                     message_real(s->config.viewing_distance_mm / 1000.0, 1, MESSAGE_UNIT_M));
}

/* ---------------------------------------------------------------- what is shown */

static enum screen_scene
screen_scene_of(const struct screen *s)
{
    const struct verdict *v = &s->verdict;
    if (!s->has_verdict)
        return SCREEN_WAITING;
    if (v->block == VERDICT_BLOCK_PAUSED || v->block == VERDICT_BLOCK_ENDED)
        return SCREEN_REST;
    if (v->sensor == VERDICT_SENSOR_WAITING)
        return SCREEN_WAITING;
    if (v->sensor != VERDICT_SENSOR_LIVE) /* in silence no value may show, not even an old one */
        return v->is_feedback_shown ? SCREEN_LOST : SCREEN_WAITING;
    return v->is_feedback_shown ? SCREEN_LIVE : SCREEN_SILENT;
}

/* enum verdict_side and enum theme_side stand in the same order (asserted in the tests). */
static enum verdict_side
screen_side_of(const struct screen *s, int bar, int half, bool is_stale)
{
    const struct verdict_bar *b = &s->verdict.bar[bar];
    if (is_stale || !screen_has_target(b) || isnan(b->value))
        return VERDICT_UNKNOWN;
    if (!screen_is_split(&s->verdict, bar))
        return b->side;
    double value = half == 0 ? b->value_left : b->value_right;
    if (value < b->low)
        return VERDICT_BELOW;
    return value > b->high ? VERDICT_ABOVE : VERDICT_IN;
}

static void
screen_advance_bar(struct screen *s, int i, struct host_time now, bool is_first)
{
    const struct verdict_bar *b = &s->verdict.bar[i];
    const struct screen_layout *l = &s->layout;
    struct screen_bar *bar = &s->bar[i];
    double ground = l->bars.y_px + l->bars.h_px, room = l->bars.h_px;
    struct bar_scale scale = { 0.24 * room, ground - (l->stripe.y_px + l->stripe.h_px),
                               ground - l->stripe.y_px, room };
    double low = b->low, high = b->high;
    bool is_split = screen_is_split(&s->verdict, i), is_stale = screen_is_stale(s, now);
    if (!screen_has_target(b))
        figure_range(b->metric, &low, &high);
    for (int half = 0; half < 2; half++) {
        double value = !is_split ? b->value : half == 0 ? b->value_left : b->value_right;
        double height = bar_height_px(&scale, low, high, value);
        height = isnan(height) ? 0.0 : height;
        if (is_first)
            ease_set(&bar->top[half], height);
        else
            ease_go(&bar->top[half], height, SCREEN_EASE_US, now);
        screen_advance_look(&bar->look[half], screen_side_of(s, i, half, is_stale), &s->theme, now, is_first);
    }
}

/* A new layout when the canvas or the set of bars is another; true when made. */
static bool
screen_refresh_layout(struct screen *s)
{
    if (s->generation == s->canvas->generation && !s->bars_changed)
        return false;
    screen_make_layout(s);
    s->bars_changed = false;
    return true;
}

void
screen_set_unsaved(struct screen *s, bool is_unsaved, bool is_aside)
{
    s->is_unsaved = is_unsaved;
    s->is_aside = is_aside;
}

void
screen_update(struct screen *s, const struct verdict *v, struct host_time now)
{
    if (v != NULL) {
        assert(v->n_bars >= 0 && v->n_bars <= VERDICT_MAX_BARS);
        bool is_same = s->has_verdict && v->n_bars == s->verdict.n_bars;
        for (int i = 0; is_same && i < v->n_bars; i++)
            is_same = v->bar[i].metric == s->verdict.bar[i].metric;
        s->bars_changed = s->bars_changed || !is_same;
        s->verdict = *v;
        s->has_verdict = true;
        str_copy(s->sentence, sizeof s->sentence, message_english(&v->message));
    }
    bool is_first = screen_refresh_layout(s);
    if (is_first)
        memset(s->drawn, 0, sizeof s->drawn);
    enum screen_scene scene = screen_scene_of(s);
    if (scene != s->scene && (!s->was_drawn || units_host_since_us(now, s->scene_since) >= SCREEN_DWELL_US)) {
        is_first = is_first || s->scene != SCREEN_LOST; /* nothing glides in from another scene */
        s->scene = scene;
        s->scene_since = now;
        memset(s->drawn, 0, sizeof s->drawn);
    }
    for (int i = 0; i < s->verdict.n_bars; i++)
        screen_advance_bar(s, i, now, is_first);
    screen_advance_landings(s, now, is_first);
}

void
screen_forget_drawn(struct screen *s)
{
    memset(s->drawn, 0, sizeof s->drawn);
}

bool
screen_draw(struct screen *s, struct host_time now)
{
    screen_update(s, NULL, now);
    s->was_drawn = true;
    return screen_draw_regions(s, now);
}
