/* screen.h - the runner's screen: verdicts in, large bars out. Knows nothing of packets.
 *
 * In:  the newest struct verdict and the host's time.   Out: pixels in a canvas, only where they changed.
 * How: one level stripe; every bar is scaled so that its target band is that stripe. One of five scenes:
 *
 *      scene 1  live      bars, landings, trend, cue or gait word, ring, belt speed
 *      scene 2  silent    time left and belt speed only
 *      scene 3  lost      the sentence that says what and what to do; last values grey with their age
 *      scene 4  waiting   no sensor yet: the sentence alone
 *      scene 5  rest      paused or ended: the word, time left or steps
 *
 * Motion: heights and looks ease over 150 ms; a bar's look changes at most once in SCREEN_DWELL_US, so
 *      nothing flashes above 3 Hz whatever the verdicts do (WCAG 2.3.1).
 * Memory: in init, and when the canvas has a new size; drawing takes none.  Threads: main only.
 * Errors: screen_init says why in s->why. A display too small for the distance is told in s->warning.
 */
#ifndef RUNNER_SCREEN_H
#define RUNNER_SCREEN_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/message.h"
#include "base/units.h"
#include "coach/verdict.h"
#include "runner/screen_layout.h"
#include "runner/words.h"
#include "ui/canvas.h"
#include "ui/ease.h"
#include "ui/theme.h"

#define SCREEN_SENTENCE_MAX 480
#define SCREEN_EASE_US     INT64_C(150000)
#define SCREEN_DWELL_US    INT64_C(350000)
#define SCREEN_LOOK_N      5

struct screen_config {
    const char *language; /* "en", "de", "fr", "es", "ja"; borrowed for the call */
    enum theme_kind theme;
    double viewing_distance_mm; /* 2500 */
    double diagonal_inch;       /* of the display; NAN = ask the display, else 32 */
    const char *assets_dir;     /* NULL = look in the usual places; borrowed for the call */
};

/* How something judged looks at the moment; eased. */
struct screen_look {
    enum verdict_side side; /* in force */
    struct host_time since;
    struct ease part[SCREEN_LOOK_N]; /* red, green, blue, hollow, hatch */
};

/* What a bar shows at the moment; eased. */
struct screen_bar {
    struct ease top[2]; /* height above the ground line, px; [1] only when split by foot */
    struct screen_look look[2];
};

/* What one foot's landing shows at the moment; eased. */
struct screen_landing {
    bool has_middle, has_first;
    struct ease middle_mm, first_mm; /* valid when has_middle, has_first */
    struct screen_look look;
};

enum screen_scene {
    SCREEN_LIVE = 0,
    SCREEN_SILENT,
    SCREEN_LOST,
    SCREEN_WAITING,
    SCREEN_REST,
};

#define SCREEN_N_REGIONS 20

struct screen {
    struct canvas *canvas;       /* borrowed, must outlive */
    struct screen_config config; /* pointers in it are not kept */
    struct theme theme;
    struct words words;
    struct screen_layout layout;
    uint32_t generation;    /* of the canvas when the layout was made; 0 = none yet */
    struct verdict verdict; /* the newest */
    bool has_verdict;
    bool bars_changed; /* since the layout was made */
    bool is_unsaved;   /* the visit is not being kept: said where belt speed stands */
    bool is_aside;     /* unsaved, but kept elsewhere */
    bool was_drawn;
    enum screen_scene scene; /* in force; changes at most once in SCREEN_DWELL_US */
    struct host_time scene_since;
    struct screen_bar bar[VERDICT_MAX_BARS];
    struct screen_landing landing[2]; /* left, right */
    double ruler_low_mm, ruler_high_mm; /* the scale's ends; they widen, and begin anew with another layout */
    uint64_t drawn[SCREEN_N_REGIONS];          /* hash of what each region shows; 0 = nothing yet */
    uint64_t drawn_look[VERDICT_MAX_BARS];     /* of a bar but for its height */
    int32_t drawn_height[VERDICT_MAX_BARS][2]; /* quarters of a pixel */
    uint64_t drawn_column[2];                  /* of a foot's column but for where its mark and stem are */
    int drawn_rows[2][2];                      /* which those took */
    uint64_t drawn_past;                       /* of the trend but for its newest value */
    bool is_ground_fresh;                      /* while drawing: the whole picture is bare ground already */
    struct message warning;                    /* MESSAGE_NONE, or that figures are too small for the distance */
    char sentence[SCREEN_SENTENCE_MAX];          /* the verdict's message, in English; "" */
    struct message why;
};

/* English, dark, 2.5 m, display asked. */
struct screen_config screen_config_default(void);

/* Loads the words and makes the layout. canvas must be open and outlive s. ERR_FORMAT or ERR_OS when the
 * language's words are missing or broken: s->why says which file. */
enum err screen_init(struct screen *s, struct canvas *canvas, const struct screen_config *config);

/* Takes the newest verdict; NULL = no news, only time passes. */
void screen_update(struct screen *s, const struct verdict *v, struct host_time now);

/* Whether what is run is not being kept at the moment. */
void screen_set_unsaved(struct screen *s, bool is_unsaved, bool is_aside);

/* Something else was painted over it: all of it is drawn at the next screen_draw(), in the same layout. */
void screen_forget_drawn(struct screen *s);

/* Draws what changed into the canvas and marks it dirty. Returns true when anything changed: then call
 * canvas_present(). A false costs next to nothing. */
bool screen_draw(struct screen *s, struct host_time now);

/* Gives memory back; accepts a half-made or zeroed struct. Leaves the canvas open. */
void screen_destroy(struct screen *s);

#endif
