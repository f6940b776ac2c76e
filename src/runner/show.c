#include "runner/show.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FRAME_MS 16     /* without a GPU nothing else paces the loop */
#define IDLE_MS 4       /* nothing changed: how long to wait for an event */
#define SETTLE_FRAMES 90

struct show_config
show_config_default(void)
{
    const struct screen_config screen = screen_config_default();
    return (struct show_config){ .width_px = 1280,
                                 .height_px = 720,
                                 .language = screen.language,
                                 .theme = screen.theme,
                                 .viewing_distance_mm = screen.viewing_distance_mm,
                                 .diagonal_inch = screen.diagonal_inch,
                                 .hearing = hearing_config_default(),
                                 .volume = 0.5 };
}

static bool
is_set(const char *variable)
{
    const char *value = getenv(variable);
    return value && value[0];
}

bool
show_has_display(void)
{
    return is_set("DISPLAY") || is_set("WAYLAND_DISPLAY") || is_set("SDL_VIDEODRIVER");
}

bool
show_parse_size(const char *text, int *width_px, int *height_px)
{
    char first[16];
    int64_t w, h;
    const char *x = strchr(text, 'x');
    if (!x || (size_t) (x - text) >= sizeof first)
        return false;
    snprintf(first, sizeof first, "%.*s", (int) (x - text), text);
    if (!str_to_i64(first, &w) || !str_to_i64(x + 1, &h) || w < 320 || w > 7680 || h < 240 || h > 4320)
        return false;
    *width_px = (int) w;
    *height_px = (int) h;
    return true;
}

static void
tell(enum message_code code)
{
    struct message told;
    message_init(&told, code);
    log_tell(&told);
}

/* A session without sound is a session all the same. */
static void
open_sound(struct show *s, const struct show_config *c)
{
    hearing_init(&s->hearing, &c->hearing);
    if (c->place == SHOW_HEADLESS || hearing_is_off(&c->hearing))
        return;
    if (sound_open(&s->sound, c->volume) != ERR_OK) {
        struct message told;
        message_tell(&told, MESSAGE_SHOW_GOES_ON_WITHOUT, message_of(&s->sound.why));
        log_tell(&told);
    }
}

enum err
show_open(struct show *s, const struct show_config *c)
{
    memset(s, 0, sizeof *s);
    s->wire_to_glass_us = -1;
    struct canvas_config canvas = canvas_config_default();
    canvas.is_headless = c->place == SHOW_HEADLESS;
    canvas.is_full_screen = c->place == SHOW_FULL_SCREEN;
    canvas.display = c->display;
    canvas.width_px = c->width_px;
    canvas.height_px = c->height_px;
    canvas.language = c->language;
    enum err err = canvas_open(&s->canvas, &canvas);
    if (err != ERR_OK) {
        s->why = s->canvas.why;
        canvas_close(&s->canvas);
        return err;
    }
    struct screen_config screen = screen_config_default();
    screen.language = c->language;
    screen.theme = c->theme;
    screen.viewing_distance_mm = c->viewing_distance_mm;
    screen.diagonal_inch = c->diagonal_inch;
    err = screen_init(&s->screen, &s->canvas, &screen);
    if (err != ERR_OK) {
        s->why = s->screen.why;
        screen_destroy(&s->screen);
        canvas_close(&s->canvas);
        return err;
    }
    s->is_headless = c->place == SHOW_HEADLESS;
    open_sound(s, c);
    s->is_open = true;
    return ERR_OK;
}

void
show_set_sound(struct show *s, const struct show_config *c)
{
    const bool is_muted = s->sound.is_muted;
    sound_close(&s->sound);
    s->has_lost_sound = false;
    open_sound(s, c);
    sound_set_muted(&s->sound, is_muted);
}

static bool
take_events(struct show *s)
{
    for (;;) {
        const struct canvas_event e = canvas_take_event(&s->canvas);
        if (e.kind == CANVAS_EVENT_NONE)
            return true;
        if (e.kind == CANVAS_EVENT_QUIT || (e.kind == CANVAS_EVENT_KEY && (e.key == 27 || e.key == 'q')))
            return false;
        if (e.kind == CANVAS_EVENT_KEY && e.key == 'v')
            sound_set_muted(&s->sound, !s->sound.is_muted);
    }
}

void
show_hear(struct show *s, const struct verdict *news)
{
    const struct hearing_now heard = hearing_feed(&s->hearing, news);
    sound_set_beat(&s->sound, heard.beat_spm, heard.beat_is_heard);
    sound_signal(&s->sound, heard.sign);
    if (s->has_lost_sound || sound_is_there(&s->sound))
        return;
    s->has_lost_sound = true;
    tell(MESSAGE_SHOW_SOUND_IS_GONE);
}

bool
show_advance(struct show *s, const struct verdict *news, struct host_time now)
{
    if (news)
        show_hear(s, news);
    screen_update(&s->screen, news, now);
    return screen_draw(&s->screen, now);
}

/* The layout is made anew when bars or display change: what it then warns of is told once. */
static void
tell_warning(struct show *s)
{
    const struct screen *screen = &s->screen;
    if (s->canvas.has_gpu && !s->canvas.is_paced && !s->has_lost_pace) {
        s->has_lost_pace = true;
        tell(MESSAGE_SHOW_NO_VSYNC);
    }
    if (s->is_headless || screen->verdict.n_bars == 0 || message_is_same(&screen->warning, &s->warned))
        return;
    s->warned = screen->warning;
    if (message_is_none(&s->warned))
        return;
    s->n_warnings++;
    log_tell(&s->warned);
}

void
show_present(struct show *s, const struct verdict *news, struct host_time now)
{
    tell_warning(s);
    canvas_present(&s->canvas); /* also what an uncovered window asked for */
    const struct host_time end = monotime_now();
    s->drawing_us = units_host_since_us(end, now);
    if (news) {
        s->presented = end;
        s->wire_to_glass_us = news->arrived.us > 0 ? units_host_since_us(end, news->arrived) : -1;
    }
}

void
show_rest(struct show *s, bool has_changed)
{
    const int rest_ms = FRAME_MS - (int) (s->drawing_us / UNITS_US_PER_MS);
    if (!has_changed)
        canvas_wait(&s->canvas, IDLE_MS);
    else if (!s->canvas.is_paced && rest_ms > 0)
        canvas_wait(&s->canvas, rest_ms);
}

bool
show_turn(struct show *s, const struct verdict *news, struct host_time now)
{
    if (!take_events(s))
        return false;
    const bool has_changed = show_advance(s, news, now);
    show_present(s, news, now);
    show_rest(s, has_changed);
    return true;
}

bool
show_turn_page(struct show *s, bool *is_passed_over)
{
    canvas_present(&s->canvas);
    for (;;) {
        const struct canvas_event e = canvas_take_event(&s->canvas);
        if (e.kind == CANVAS_EVENT_NONE)
            break;
        if (e.kind == CANVAS_EVENT_QUIT || (e.kind == CANVAS_EVENT_KEY && (e.key == 27 || e.key == 'q')))
            return false;
        *is_passed_over = *is_passed_over || e.kind == CANVAS_EVENT_KEY || e.kind == CANVAS_EVENT_DOWN;
    }
    canvas_wait(&s->canvas, FRAME_MS);
    return true;
}

void
show_end_page(struct show *s)
{
    screen_forget_drawn(&s->screen);
}

void
show_settle(struct show *s, const struct verdict *news, struct host_time now)
{
    for (int i = SETTLE_FRAMES; i >= 0; i--) {
        const struct host_time then = { now.us - i * FRAME_MS * UNITS_US_PER_MS };
        screen_update(&s->screen, i == SETTLE_FRAMES ? news : NULL, then);
        if (screen_draw(&s->screen, then))
            canvas_present(&s->canvas);
    }
}

enum err
show_shot(struct show *s, const char *path)
{
    const enum err err = canvas_shot(&s->canvas, path);
    if (err != ERR_OK)
        s->why = s->canvas.why;
    return err;
}

void
show_close(struct show *s)
{
    if (!s->is_open)
        return;
    sound_close(&s->sound);
    screen_destroy(&s->screen);
    canvas_close(&s->canvas);
    s->is_open = false;
}
