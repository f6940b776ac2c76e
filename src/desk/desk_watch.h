/* desk_watch.h - the sensor itself while it is looked at before the run: its elements, the check, a calibration.
 *
 *      reading thread --> check, elements, calibration --> newest view --> main thread
 *
 *      off       from the cautions on; costs nothing then
 *      empty     nobody on it; judged from DESK_WATCH_EMPTY_S on, and better the longer it stays so
 *      loaded    told by the panel, or somebody stepped on a sensor that was quiet: the last moments before that are
 *                not counted as empty; dead, saturated and cross-talking elements are judged from now on
 *      calibration    asked for by the worker; the check stands still meanwhile
 *
 * How: the reader passes each frame on (pipeline.h, on_frame), so the port is opened once, and nothing is old.
 * Threads: feed by the reading one; set_on, load, take by the main one; calibrate, take_calibration by the worker.
 * Memory: the struct (about 1.6 MB).   Errors: none.
 */
#ifndef DESK_DESK_WATCH_H
#define DESK_DESK_WATCH_H

#include "live/session.h"
#include "panel/panel.h"
#include "setup/calib.h"
#include "setup/check.h"

#define DESK_WATCH_HZ      5
#define DESK_WATCH_EMPTY_S 3.0
#define DESK_WATCH_STEP_N  100.0 /* above the empty reading, DESK_WATCH_STEP_FRAMES in a row: somebody stepped on */
#define DESK_WATCH_STILL_N 25.0  /* only a sensor whose empty force spreads by less is quiet */
#define DESK_WATCH_STEP_FRAMES 3

enum desk_watch_calib { DESK_CALIB_IDLE = 0, DESK_CALIB_ASKED, DESK_CALIB_RUNS, DESK_CALIB_DONE };

struct desk_watch {
    const struct session *session; /* borrowed; whose frames they are */
    atomic_bool is_on;             /* main sets */
    atomic_bool is_load_asked;     /* likewise */
    atomic_int calib_state;        /* enum desk_watch_calib; worker: to ASKED and IDLE; reading thread: the others */
    enum calib_what what;          /* worker's, while IDLE; reading thread's then */
    double calib_s;
    bool is_surely_empty; /* likewise */
    struct calib calib; /* reading thread's; worker's once DONE */
    /* the reading thread's own */
    struct dev_time calib_begun, shown;
    bool was_calibrating; /* frames went there since the check's last one */
    bool has_begun;
    int n_stepped; /* frames in a row that look as if somebody stepped on */
    struct check check, before;
    struct panel_watch view;
    struct mailbox mailbox;
    struct panel_watch slots[MAILBOX_N_BUFFERS];
};

/* Before the session's first frame: w is off until told. session must outlive it. */
void desk_watch_init(struct desk_watch *w, const struct session *session);

/* As pipeline_config.on_frame, context is the watch. */
void desk_watch_feed(void *context, const struct packet *packet, const struct frame *frame);

void desk_watch_set_on(struct desk_watch *w, bool is_on);
void desk_watch_load(struct desk_watch *w);

/* The newest view since the last call. */
bool desk_watch_take(struct desk_watch *w, struct panel_watch *out);

/* Begins a calibration over so many seconds; drops the one before. is_surely_empty: as in calib.h. */
void desk_watch_calibrate(struct desk_watch *w, enum calib_what what, double seconds, bool is_surely_empty);
bool desk_watch_is_calibrated(const struct desk_watch *w); /* then w->calib is the worker's */
void desk_watch_leave_calibration(struct desk_watch *w);

#endif
