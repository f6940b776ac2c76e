/* desk_run.h - the sensor and the visit behind the panel: opened, begun, ended; one at a time.
 *
 *      open    source, first frame, reading thread; verdicts flow, the sensor can be watched (desk_watch.h), nothing
 *              is stored
 *      begin   the sensor's check, the visit's rows and the writer's thread; steps are stored from now on
 *      end     reading thread, then writer; the visit is in the store, whole or cut short
 *
 * Threads: open, begin, end by the worker; the rest by the main thread, between open and end. is_open and
 *      is_keeping are handed over by the worker's queue.   Errors: enum err, a sentence in why.
 */
#ifndef DESK_DESK_RUN_H
#define DESK_DESK_RUN_H

#include "base/mailbox.h"
#include "base/places.h"
#include "desk/desk_watch.h"
#include "panel/panel.h"
#include "setup/calibration.h"
#include "store/store.h"
#include "visit/app.h"
#include "visit/reader.h"
#include "visit/store_watch.h"

struct desk_run {
    const struct app_config *config; /* borrowed; must outlive */
    struct session session;
    struct reader reader;
    struct visit visit;
    struct store_watch store_watch; /* reading thread's */
    struct mailbox to_main;         /* struct store_told, from it */
    struct store_told slots[MAILBOX_N_BUFFERS];
    struct visit_config visit_config;
    struct target targets[VERDICT_MAX_BARS];
    char code[PANEL_CODE_MAX];
    char sensor_name[SOURCE_PATH_MAX];
    struct calibration calibration; /* of the profile that is named */
    char profile[PLACES_PATH_MAX];  /* "": none */
    const char *kind;               /* of the sensor, as it said itself when it was opened without a profile; NULL */
    struct desk_watch watch;
    struct check_report check; /* as the visit begins; valid when has_check */
    bool has_check;
    struct store_check check_row; /* of it */
    bool is_open;                 /* the reading thread runs */
    atomic_bool is_keeping;       /* steps go to the store */
    char says[PANEL_MESSAGE_MAX]; /* of the sensor, once open: kind, place, rate */
    char why[ERR_WHY_MAX];
};

/* request: PANEL_WANTS_SENSOR; kase: its runner, plans. */
enum err desk_run_open(struct desk_run *r, const struct panel_request *request,
                       const struct panel_case *kase);

/* request: PANEL_WANTS_RUN. */
enum err desk_run_begin(struct desk_run *r, const struct panel_request *request, double pain_before);

/* True: whether the visit is being saved has changed; out says it. Main thread. */
bool desk_run_take_told(struct desk_run *r, struct store_told *out);

/* Accepts one that is not open. */
enum err desk_run_end(struct desk_run *r);

#endif
