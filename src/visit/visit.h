/* visit.h - a visit in the store around a session: begun before the first step, ended or left unfinished.
 *
 * In:  steps and blocks from the reading thread, handed to the writer thread (store/writer.h).
 * Out: rows; at the end the summary on stdout.
 * Threads: begin, end and print by the main thread; put_* by the reading thread.
 * Errors: enum err with a sentence in v->why.
 */
#ifndef VISIT_VISIT_H
#define VISIT_VISIT_H

#include "base/message.h"
#include "live/pipeline.h"
#include "store/writer.h"

#include <stdio.h>

struct visit_config {
    const char *store_path;  /* NULL: the usual place */
    const char *runner_code;
    const char *sensor_kind; /* as pipeline_kind_name() */
    const char *sensor_name; /* port or profile */
    double rate_hz, belt_speed_m_s; /* NAN: not known */
    double body_mass_kg, foot_length_mm, leg_length_mm; /* kept with the runner where given; else NAN */
    int n_targets;           /* by hand; 0: none yet */
    const struct target *targets;
    enum metric focus;
    char plan[64];    /* "": free */
    int course_visit; /* 0: none */
    double pain_before; /* 0-10; NAN: not asked */
    char calibration[STORE_TEXT_MAX]; /* what to tell of the sensor's calibration; "": nothing */
    struct host_time (*now)(void); /* the clock that is never set: how long the visit takes; NULL: monotime_now() */
    int64_t (*wall_us)(void);      /* the one that may be: when it began; NULL: monotime_wall_us() */
};

/* Nothing known. */
struct visit_config visit_config_default(void);

struct visit {
    struct writer writer;
    struct store_visit row;
    bool is_open;
    struct store_block block; /* the one that runs; reading thread only */
    bool has_block;
    const char *store_path;
    struct host_time (*now)(void);
    int64_t (*wall_us)(void);
    struct host_time begun;
    struct store_visit_end end; /* valid when is_ending */
    bool is_ending;             /* visit_end() was called, and nobody took all of it yet */
    char aside[STORE_PATH_MAX]; /* after the end: the folder of the spill that has the visit; "": its own store has it */
    struct message why;
};

/* What the runner's row knows of the body, for figures that the command line left open. ERR_GONE: there is no such
 * runner, or no store yet. Any other error: the store can't be read, which visit_begin() tells. */
enum err visit_known_runner(const char *store_path, const char *code, struct store_runner *out);

/* Opens the store, makes the visit's row, starts the writer. */
enum err visit_begin(struct visit *v, const struct visit_config *c);

void visit_put_step(struct visit *v, const struct coached_step *step);
void visit_put_block(struct visit *v, const struct coach_block *block, struct dev_time now);

/* Targets that came about or changed on the way. Reading thread. */
void visit_put_targets(struct visit *v, const struct coach *coach);

/* Pain at this moment, a note, and what was asked before or after. False: too much waits for the disc, it is not taken. Main
 * thread. */
bool visit_put_pain(struct visit *v, const struct store_pain *pain);
bool visit_put_note(struct visit *v, const struct store_note *note);

/* Its length is by the clock that is never set; a step of the other one by more than VISIT_CLOCK_STEP_S while it ran changes
 * nothing but is noted with the visit, and said. */
#define VISIT_CLOCK_STEP_S 2.0 /* a clock that is only steered goes wrong by less in an hour: 500 ppm, adjtimex(2) */

/* Ends the last block, writes what is left, ends the visit: now, or in virtual time length_s after its start
 * (NAN: now). Cut short when its plan was not over. The reading thread must have ended. ERR_OK: it is in its store, read back.
 * Else why says where it is: with is_open nowhere yet, and visit_end() is to be called again, or visit_abandon(). */
enum err visit_end(struct visit *v, const struct pipeline *p, double length_s);

/* Gives up what visit_end() could not write anywhere. Accepts one that is not open. */
void visit_abandon(struct visit *v);

/* The path of the store that has the ended visit; NULL: the usual place. out is where it is put together. */
const char *visit_where(const struct visit *v, char out[STORE_PATH_MAX]);

/* Reads the visit back and prints its summary. */
enum err visit_print_summary(struct visit *v, FILE *f);

#endif
