/* canvas.h - the picture that everything is drawn into, and the window that shows it.
 *
 * In:  drawing into canvas->picture, canvas_dirty() for each changed rectangle, canvas_present().
 * Out: the changed rectangles on the display; keys and the window's events; PNG files.
 * How: one picture in memory. With a GPU renderer the changed parts go to one texture, vsynced; without,
 *      they go to the window's own surface, or where there is none (Wayland) to an emulated renderer.
 *      Headless there is no window and no display, only the picture:
 *      the same, bit for bit.
 *
 * Display gone and back: a window in full screen returns to its own. Once a second it is looked for, and for a new
 *      size or pitch besides.
 *
 * Memory: taken in canvas_open and when the window's size changes; none while drawing.
 * Threads: main only (SDL's rule).  Errors: canvas_open says why in c->why.
 */
#ifndef UI_CANVAS_H
#define UI_CANVAS_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/message.h"
#include "base/units.h"
#include "ui/displays.h"
#include "ui/paint.h"
#include "ui/text.h"

#define CANVAS_MAX_DIRTY 32
#define CANVAS_EARLY_MAX 12 /* a queue of pictures in the driver swallows a few */

struct SDL_Window;
struct SDL_Renderer;
struct SDL_Texture;
struct SDL_Surface;

struct canvas_config {
    const char *title;
    bool is_headless;       /* no window at all */
    bool is_full_screen;    /* else a window */
    bool is_software;       /* never ask for a GPU renderer */
    bool is_unpaced;        /* present does not wait for the display: for a second window in one loop */
    int display;            /* 0 = first */
    int width_px, height_px; /* of the window or the headless picture; ignored in full screen */
    const char *language;   /* two letters: picks the fallback font; borrowed for the call */
};

enum canvas_event_kind {
    CANVAS_EVENT_NONE = 0,
    CANVAS_EVENT_QUIT,    /* the window was closed */
    CANVAS_EVENT_KEY,     /* key holds it */
    CANVAS_EVENT_RESIZED, /* the picture is new and empty: draw all (screen_draw sees it by itself) */
    CANVAS_EVENT_EXPOSED, /* shown again; the next present sends everything */
    CANVAS_EVENT_TEXT,    /* text was typed; after the key of its sign */
    CANVAS_EVENT_DOWN,    /* mouse's left button or a finger, at x_px, y_px of the picture */
    CANVAS_EVENT_MOVE,    /* likewise, while down or not */
    CANVAS_EVENT_UP,
    CANVAS_EVENT_WHEEL, /* n_steps */
};

#define CANVAS_TEXT_MAX 32

struct canvas_event {
    enum canvas_event_kind kind;
    int key; /* ASCII for printable keys (lower case), 27 Escape, 13 Return, else SDL's key code */
    bool is_shifted, is_ctrl; /* valid for a key */
    int x_px, y_px;
    int n_steps; /* of the wheel; > 0: away from the hand, up */
    char text[CANVAS_TEXT_MAX];
};

/* Presents that came back too early, one after the other. */
struct canvas_pace {
    int n_early;
};

struct canvas {
    struct paint_picture picture;
    struct text text;
    uint32_t generation; /* goes up when the picture is new: everything must be drawn again */
    bool is_headless;
    bool has_gpu;        /* a renderer carries the picture; it may be an emulated one where nothing else does */
    bool is_paced;       /* present waits for the display; turns false when it is found not to */
    struct canvas_pace pace;
    struct host_time presented;
    int n_dirty;
    struct paint_rect dirty[CANVAS_MAX_DIRTY];
    uint64_t n_presents;
    int n_displays;      /* of the computer, looked at once a second while events are taken */
    struct displays_home home; /* of a window in full screen, which goes back there after its display was away */
    bool is_full_screen;
    double pitch_mm; /* told last */
    struct host_time looked;
    struct SDL_Window *window;
    struct SDL_Renderer *renderer;
    struct SDL_Texture *texture;
    struct SDL_Surface *surface; /* wraps the picture */
    struct message why;
};

/* Window of 1280x720 on the first display, English. */
struct canvas_config canvas_config_default(void);

/* Opens the window (or only the picture) and the fonts. On failure c->why is one sentence for the
 * operator and c may be closed or thrown away. */
enum err canvas_open(struct canvas *c, const struct canvas_config *config);

/* Gives everything back; accepts a half-opened or zeroed struct. */
void canvas_close(struct canvas *c);

/* Marks r (cut to the picture) as changed. */
void canvas_dirty(struct canvas *c, struct paint_rect r);

/* Shows what changed since the last call. Does nothing when nothing did. */
void canvas_present(struct canvas *c);

/* One more present, gap_us after the last one, on a display with that period. False once CANVAS_EARLY_MAX in a row
 * came in less than 0.6 periods: then nothing waits for the display, whatever the driver said. Pure. */
bool canvas_pace_feed(struct canvas_pace *p, int64_t gap_us, int64_t period_us);

/* The next event, or CANVAS_EVENT_NONE. Never waits. */
struct canvas_event canvas_take_event(struct canvas *c);

/* The same for several open windows of one program; *which is the index of the one that it belongs to. n >= 1. */
struct canvas_event canvas_take_event_of(struct canvas *const *canvas, int n, int *which);

/* The window's title, as lists of windows and screen readers have it. Headless it does nothing. */
void canvas_set_title(struct canvas *c, const char *title);

/* Brings the window to the front, and the keys to it. Headless it does nothing. */
void canvas_raise(struct canvas *c);

/* How many displays with a picture of their own there are by SDL's list, which may be that of the start; 0 before a
 * window was opened. */
int canvas_n_displays(void);

/* Shows or hides the mouse's arrow over the program's windows. */
void canvas_show_pointer(bool is_shown);

/* Waits for an event, at most max_ms: for frames in which nothing changed. Headless it only waits. */
void canvas_wait(struct canvas *c, int max_ms);

/* Millimetres a pixel from the display's own data; NAN when it does not say (or headless). */
double canvas_pitch_mm(const struct canvas *c);

/* Saves the picture as PNG. ERR_OS with c->why when the file can't be written. */
enum err canvas_shot(struct canvas *c, const char *path);

#endif
