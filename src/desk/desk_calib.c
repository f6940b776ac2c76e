/* desk_calib.c - the panel's calibrations, by the worker: measured by the reading thread, finished and kept here. */
#include "base/mark.h"
#include "base/monotime.h"
#include "base/str.h"
#include "desk/desk_work.h"
#include "report/check_report.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define POLL_US  (20 * UNITS_US_PER_MS)
#define SLACK_S  4.0 /* so much longer than it should take before the sensor counts as silent */

static int
compare(const void *a, const void *b)
{
    return strcmp(a, b);
}

struct profile_list {
    struct panel_calibration *out;
    struct sense_profile *profile; /* scratch; NULL: no memory, then all of them */
    const char *kind;              /* of the sensor; NULL: not known */
};

/* Only those that the sensor may be read by. */
static bool
take_profile(void *context, const char *name, const char *path, bool is_own)
{
    struct profile_list *l = context;
    struct panel_calibration *c = l->out;
    struct message why;
    (void) is_own;
    if (l->profile && (profile_load(l->profile, path, &why) != ERR_OK ||
                       (l->kind && strcmp(check_report_kind(l->profile), l->kind) != 0)))
        return true;
    if (c->n_profiles == PANEL_MAX_PROFILES || !str_copy(c->profiles[c->n_profiles], sizeof c->profiles[0], name))
        c->n_more_profiles++;
    else
        c->n_profiles++;
    return true;
}

static void
list_profiles(const struct desk_run *r, struct panel_calibration *out)
{
    struct profile_list list = { out, malloc(sizeof *list.profile), r->kind };
    places_list("sensors", take_profile, &list);
    free(list.profile);
    qsort(out->profiles, (size_t) out->n_profiles, sizeof out->profiles[0], compare);
}

/* What the panel shows of it. is_changed: something else is in force now. is_refused: what was measured can't be taken. */
static void
show(struct desk_work *w, bool is_changed, bool is_refused)
{
    const struct calibration *c = &w->run->calibration;
    struct panel_calibration out = { .is_changed = is_changed, .is_refused = is_refused };
    list_profiles(w->run, &out);
    if (w->run->profile[0]) {
        const char *slash = strrchr(w->run->profile, '/');
        str_copy(out.profile, sizeof out.profile, slash ? slash + 1 : w->run->profile);
        char *end = strrchr(out.profile, '.');
        if (end && strcmp(end, ".ini") == 0)
            *end = '\0';
        out.is_due = calibration_tell(c, &out.says);
        const int from = c->history.n > PANEL_MAX_CALIBRATIONS ? c->history.n - PANEL_MAX_CALIBRATIONS : 0;
        out.n_older = from + c->history.n_older;
        for (int i = from; i < c->history.n; i++) {
            calibration_entry_tell(&c->history.entry[i], &out.entry[out.n++]);
            out.can_undo |= !c->history.entry[i].is_undone;
        }
    }
    desk_answers_calibration(&w->answers, &out);
}

void
desk_calib_show(struct desk_work *w)
{
    show(w, false, false);
}

/* Loads what is in force now. False: said why. */
static bool
load(struct desk_work *w, const char *name)
{
    struct calibration *c = &w->run->calibration;
    if (calibration_load(c, name) == ERR_OK) {
        if (name != w->run->profile)
            str_copy(w->run->profile, sizeof w->run->profile, name);
        return true;
    }
    desk_answers_say(&w->answers, &c->why);
    if (w->run->profile[0] && calibration_load(c, w->run->profile) != ERR_OK) /* the one before stays, if it can */
        w->run->profile[0] = '\0';
    return false;
}

void
desk_calib_begin(struct desk_work *w)
{
    const char *name = w->run->config->session.profile_path;
    w->run->profile[0] = '\0';
    if (name)
        load(w, name);
    show(w, false, false);
}

/* Until the reading thread has it. False: left, or nothing came. */
static bool
wait_measured(struct desk_work *w, double seconds)
{
    const struct host_time begun = monotime_now();
    while (!desk_watch_is_calibrated(&w->run->watch)) {
        pthread_mutex_lock(&w->guard);
        const bool is_stopping = w->is_stopping;
        pthread_mutex_unlock(&w->guard);
        if (is_stopping || atomic_load(&w->is_calibration_left)) {
            desk_answers_note(&w->answers, MESSAGE_CALIB_LEFT_ALONE);
            return false;
        }
        if (units_s_from_us(units_host_since_us(monotime_now(), begun)) > seconds + SLACK_S) {
            desk_answers_note(&w->answers, MESSAGE_CALIB_HEARS_NOTHING);
            return false;
        }
        monotime_sleep_us(POLL_US);
    }
    return true;
}

static bool
keep(struct desk_work *w, const struct panel_request *q, bool *is_refused)
{
    struct calibration *c = &w->run->calibration;
    struct calib_entry entry;
    struct message why, m;
    if (calib_finish(&w->run->watch.calib, q->value, &c->changed, &entry, &why) != ERR_OK) {
        *is_refused = true;
        message_tell(&m, MESSAGE_CALIB_CHANGES_NOTHING, message_of(&why));
        desk_answers_say(&w->answers, &m);
        return false;
    }
    if (calibration_keep(c, &entry) != ERR_OK) {
        desk_answers_say(&w->answers, &c->why);
        return false;
    }
    if (!calibration_was_off(c, &entry, &m))
        calibration_entry_tell(&entry, &m);
    desk_answers_say(&w->answers, &m);
    return true;
}

static bool
measure(struct desk_work *w, const struct panel_request *q, bool *is_refused)
{
    const enum calib_what what = (enum calib_what) q->number;
    const double seconds = calibration_seconds(what);
    if (!w->run->run.is_open || w->run->profile[0] == '\0')
        return false;
    desk_watch_calibrate(&w->run->watch, what, seconds, what == CALIB_ZERO && q->value > 0);
    const bool is_kept = wait_measured(w, seconds) && keep(w, q, is_refused);
    desk_watch_leave_calibration(&w->run->watch);
    return is_kept;
}

void
desk_calib_do(struct desk_work *w, const struct panel_request *q)
{
    struct calibration *c = &w->run->calibration;
    struct calib_entry undone;
    bool is_changed = false, is_refused = false;
    if (q->kind == PANEL_WANTS_CALIBRATE)
        is_changed = measure(w, q, &is_refused);
    else if (q->kind == PANEL_WANTS_UNDO_CALIBRATION) {
        is_changed = calibration_undo(c, &undone) == ERR_OK;
        if (!is_changed)
            desk_answers_say(&w->answers, &c->why);
    }
    if (q->kind == PANEL_WANTS_PROFILE)
        is_changed = load(w, q->text);
    else if (is_changed)
        is_changed = load(w, w->run->profile);
    show(w, is_changed, is_refused);
}
