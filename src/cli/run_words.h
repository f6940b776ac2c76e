/* run_words.h - the options that desk, live, demo and replay share: the sensor, the body, the targets, the screen,
 * the picture.
 *
 * One table for all of them, so that they read and explain them alike.
 */
#ifndef CLI_RUN_WORDS_H
#define CLI_RUN_WORDS_H

#include "base/options.h"
#include "runner/choices.h"
#include "visit/app.h"

#define RUN_WORDS_N_ROWS 22
#define RUN_WORDS_N_PLAN_ROWS 3
#define RUN_WORDS_MAX_ROWS 40

struct run_words {
    bool is_window, is_headless, has_signs, has_no_signs, is_forced;
    const char *port, *store; /* of the commands that read a sensor; their own rows name them */
    double baud;
    const char *size, *language, *theme, *metronome, *shot, *profile_path; /* NULL: not said */
    double display, distance_m, diagonal_inch, volume_pct, shot_at_s, seconds;
    double mass_kg, speed_m_s, foot_mm, leg_mm, baseline_s;
    const char *plan;                 /* --plan; NULL: none */
    double course_visit, pain_before; /* NAN: not said */
    const char *target[VERDICT_MAX_BARS];
    struct option_row rows[RUN_WORDS_MAX_ROWS]; /* the command's own, then the shared ones */
    int n_rows;
    struct show_as choices;          /* of the runner, once applied */
    struct sense_profile profile;    /* of --profile, once applied */
    char store_path[STORE_PATH_MAX]; /* of --store, once applied */
};

/* Sets defaults (unknown, until stopped, full screen) and builds the table: n own rows (copied), then the
 * shared ones. w must stay where it is until the options are read. */
void run_words_init(struct run_words *w, const struct option_row *own, int n_own);

/* Adds --plan, --course-visit and --pain, of the commands that keep a visit; course.h applies them. */
void run_words_add_plan(struct run_words *w);

/* Puts what was read into c. Returns 0, or 2 after one line on stderr; 1 when the picture of --shot may not be
 * written. c points into w, which must outlive it.
 * Without a display it is made headless, and c->lacks_display is set: app_note_screen() says it once all else is well. */
int run_words_apply(struct run_words *w, const struct options_spec *spec, struct app_config *c);

/* The runner's display choices, where the command line leaves them open. Likewise c points into w. */
void run_words_apply_choices(struct run_words *w, const char *code, const char *text, struct app_config *c);

/* Of the commands that read a sensor: its port, and the store where its visits are kept. Returns likewise. */
int run_words_apply_sensor(struct run_words *w, const struct options_spec *spec, struct app_config *c);

#endif
