/* desk_run.h - the panel's run (visit/run.h): what of it follows from the runner's case, the sensor's profile and check.
 *
 *      open    the run, from case and request; verdicts flow, the sensor can be watched (desk_watch.h), nothing is stored
 *      begin   the sensor's check, then the visit; steps are stored from now on
 *      end     the visit is in the store, whole or cut short
 *
 * Threads: open, begin, end by the worker; run.h's own by the main thread, between open and end; both are told of each
 *      by the worker's queue.   Errors: enum err, a sentence in why.
 */
#ifndef DESK_DESK_RUN_H
#define DESK_DESK_RUN_H

#include "base/message.h"
#include "base/places.h"
#include "desk/desk_watch.h"
#include "panel/panel.h"
#include "setup/calibration.h"
#include "store/store.h"
#include "visit/app.h"

struct desk_run {
    const struct app_config *config; /* borrowed; must outlive */
    struct run run;
    struct target targets[VERDICT_MAX_BARS];
    char code[PANEL_CODE_MAX];
    struct calibration calibration; /* of the profile that is named */
    char profile[PLACES_PATH_MAX];  /* "": none */
    const char *kind;               /* of the sensor, as it said itself when it was opened without a profile; NULL */
    struct desk_watch watch;
    struct check_report check; /* as the visit begins; valid when has_check */
    bool has_check;
    struct store_check check_row; /* of it */
    struct message says; /* of the sensor, once open: kind, place, rate */
    struct message why;
};

/* request: PANEL_WANTS_SENSOR; kase: its runner, plans. */
enum err desk_run_open(struct desk_run *r, const struct panel_request *request,
                       const struct panel_case *kase);

/* request: PANEL_WANTS_RUN. */
enum err desk_run_begin(struct desk_run *r, const struct panel_request *request, double pain_before);

/* Accepts one that is not open. Once more where r->run.visit.is_open stays: nobody took the visit yet. */
enum err desk_run_end(struct desk_run *r);

/* Where the rows of the visit are now, that runs or has ended: NULL: the worker's store. out is where it is put together. */
const char *desk_run_where(struct desk_run *r, char out[STORE_PATH_MAX]);

#endif
