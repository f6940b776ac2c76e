/* desk_work.h - what takes its time behind the panel, in a thread of its own: store, sensor, pages to print.
 *
 * In:  the panel's requests, one after the other.   Out: answers, taken by the main thread when they are
 * there. The main thread waits for nothing but the end (desk_work_stop), and asks for room first. Threads: start, put, take, stop by
 * the main thread. The guard covers the queue; while a job runs, the run belongs to the worker
 * for what desk_run.h says.
 */
#ifndef DESK_DESK_WORK_H
#define DESK_DESK_WORK_H

#include "desk/desk_answers.h"
#include "desk/desk_care.h"
#include "desk/desk_run.h"
#include "desk/desk_store.h"

#include <pthread.h>

#define DESK_WORK_N_JOBS 32
#define DESK_WORK_LOOK_US (500 * UNITS_US_PER_MS) /* how often the store is looked after while there is nothing to do */
#define DESK_WORK_AGAIN_US (2 * UNITS_US_PER_S)

struct desk_work {
    struct desk_run *run;   /* borrowed */
    const struct catalogue *words; /* borrowed; of what is said of a visit and printed; set before start; NULL: English */
    pthread_t thread;
    bool is_running;
    pthread_mutex_t guard;
    pthread_cond_t wake, done; /* a job came; one is done */
    struct panel_request job[DESK_WORK_N_JOBS];
    int n_jobs; /* the first one may be at work */
    bool is_stopping;
    bool is_left; /* an ended visit is not in its store, as far as was looked */
    struct desk_answers answers;
    atomic_bool is_calibration_left; /* main sets: never mind the one that is measured */
    /* the worker's own */
    struct desk_store store;
    struct host_time kept_tried; /* when an ended visit that its store does not have was tried to be kept there */
    struct panel_case kase;
    struct panel_runners runners;
    struct desk_care care;
    double pain_before; /* of the visit that is to begin */
};

enum err desk_work_start(struct desk_work *w, const char *store_path, struct desk_run *run);

/* False: DESK_WORK_N_JOBS wait; whoever asks waits with the next. */
bool desk_work_has_room(struct desk_work *w);

/* Takes a job; waits until there is room, so that none is lost. */
void desk_work_put(struct desk_work *w, const struct panel_request *job);

/* False: a job that keeps something waits or is at work, or an ended visit is not in its store yet. */
bool desk_work_has_kept_all(struct desk_work *w);

/* desk_calib.c, by the worker: CALIBRATE, UNDO_CALIBRATION, PROFILE. */
void desk_calib_do(struct desk_work *w, const struct panel_request *q);
/* The profile that the program was started with. */
void desk_calib_begin(struct desk_work *w);
/* For the panel: what is in force, and the profiles that the sensor may be read by. */
void desk_calib_show(struct desk_work *w);

/* desk_keep.c, by the worker: the store it works in (ERR_OK), and what became of visits that were kept elsewhere. */
enum err desk_keep_store(struct desk_work *w, struct store **out);
/* Whether the visit that has ended is in its store, read back: said. */
void desk_keep_tell_saved(struct desk_work *w);
/* Nothing else is to be done: is the store still there; is a visit still to be kept? */
void desk_keep_look(struct desk_work *w);
/* True while an ended visit, or the store itself, is kept elsewhere. */
bool desk_keep_is_elsewhere(const struct desk_work *w);
/* Whether such a request changes what is kept. Any thread. */
bool desk_keep_is_asked(enum panel_request_kind kind);
/* A message that has {1} {2} in it. */
void desk_keep_say(struct desk_work *w, enum message_code code, struct message_arg part);

/* Does what waits, ends a visit that is open, ends the thread. Accepts one that never started, when zeroed.
 */
void desk_work_stop(struct desk_work *w);

#endif
