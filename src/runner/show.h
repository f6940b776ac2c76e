/* show.h - the runner's screen in its window, or in memory for a picture; and what the runner hears.
 *
 * Sound: only with a window. A missing device is told once and the screen goes on. Key v mutes and lets it sound again.
 * Latency: from the arrival of a verdict's deciding bytes to the return of the present that shows it.
 * Threads: main only.   Errors: show_open() with a sentence in s->why.
 */
#ifndef RUNNER_SHOW_H
#define RUNNER_SHOW_H

#include "base/message.h"
#include "runner/hearing.h"
#include "runner/screen.h"
#include "ui/canvas.h"
#include "ui/sound.h"

enum show_place {
    SHOW_FULL_SCREEN = 0,
    SHOW_WINDOW,
    SHOW_HEADLESS, /* a picture in memory: for --shot */
};

struct show_config {
    enum show_place place;
    int display;             /* 0 = first */
    int width_px, height_px; /* window or picture */
    const char *language;
    enum theme_kind theme;
    double viewing_distance_mm;
    double diagonal_inch;    /* NAN = ask the display */
    struct hearing_config hearing;
    double volume;           /* 0..1 */
    unsigned given;          /* bits of runner/show_as.h: what was said by hand, and stands over a runner's choices */
};

struct show {
    struct canvas canvas;
    struct screen screen;
    struct hearing hearing;
    struct sound sound;
    bool is_open, is_headless, has_lost_sound, has_lost_pace;
    unsigned n_warnings;                /* messages of screen.warning told so far; each is told once while it stands */
    struct message warned;              /* the newest of them */
    struct host_time presented; /* when the newest verdict was on the display; us 0 = none yet */
    int64_t wire_to_glass_us;   /* presented - verdict.arrived; -1 when there was no arrival */
    int64_t drawing_us;         /* update, draw and present of the newest turn */
    struct message why;
};

struct show_config show_config_default(void);

/* True when there is a display to open a window on. */
bool show_has_display(void);

/* "1280x720"; false when it is not a size from 320x240 to 7680x4320. */
bool show_parse_size(const char *text, int *width_px, int *height_px);

enum err show_open(struct show *s, const struct show_config *c);

/* One turn: news (NULL: none), events, drawing; waits for the display or at most one frame. False when the
 * runner's screen was closed (window closed, Escape or q). */
bool show_turn(struct show *s, const struct verdict *news, struct host_time now);

/* A turn of a page that was drawn over the runner's screen: presents it and takes the events. False when the screen was
 * closed; *is_passed_over: a key or a touch. After a new size (canvas.generation) the page
 * is to be drawn again. */
bool show_turn_page(struct show *s, bool *is_passed_over);

/* The page is over: the runner's screen is drawn anew. */
void show_end_page(struct show *s);

/* What the runner hears of a new verdict; show_advance() does it too. */
void show_hear(struct show *s, const struct verdict *news);

/* Another beat, signs and volume from now on; muted stays muted. */
void show_set_sound(struct show *s, const struct show_config *c);

/* The parts of a turn, for one who takes the events and shows more than the runner's screen. Hears, updates and
 * draws; true when anything changed. */
bool show_advance(struct show *s, const struct verdict *news, struct host_time now);

/* Presents what was drawn. Call after show_advance() with the same news. */
void show_present(struct show *s, const struct verdict *news, struct host_time now);

/* Waits for the display or at most one frame. */
void show_rest(struct show *s, bool has_changed);

/* Draws as it will look once all motion has come to rest; for pictures without a window. */
void show_settle(struct show *s, const struct verdict *news, struct host_time now);

/* Writes the picture as PNG. */
enum err show_shot(struct show *s, const char *path);

void show_close(struct show *s); /* also one that never opened, when zeroed */

#endif
