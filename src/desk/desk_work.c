#include "care/forget.h"
#include "desk/desk_work.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/mark.h"
#include "base/stop.h"
#include "base/str.h"
#include "desk/desk_read.h"
#include "report/page.h"
#include "setup/plan_copy.h"
#include "store/pages.h"
#include "store/reserve.h"
#include "store/whole.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* ---------------------------------------------------------------- jobs of the store */

static enum err
read_runners(struct desk_work *w, struct store *s, const struct panel_request *q)
{
    const enum err err = desk_read_runners(s, q, &w->runners);
    if (err == ERR_OK)
        desk_answers_runners(&w->answers, &w->runners);
    return err;
}

static enum err
read_case(struct desk_work *w, struct store *s, const char *code)
{
    const enum err err = desk_read_case(s, code, w->words, &w->kase);
    if (err != ERR_OK)
        return err;
    desk_answers_case(&w->answers, &w->kase);
    if (w->kase.n_put_off > 0)
        desk_answers_note(&w->answers, MESSAGE_TARGETS_ARE_PUT_OFF);
    return ERR_OK;
}

/* The window on the visits alone is turned: read aside, so that the one before stays where it can't be. */
static enum err
read_visits(struct desk_work *w, struct store *s, const struct panel_request *q)
{
    struct panel_case *turned = malloc(sizeof *turned);
    const enum err err = turned ? desk_read_older(s, q->runner.code, q->number, w->words, turned) : ERR_MEMORY;
    if (err == ERR_OK) {
        w->kase = *turned;
        desk_answers_case(&w->answers, &w->kase);
    } else if (!turned)
        message_init(&s->why, MESSAGE_DESK_NO_VISITS_MEMORY);
    free(turned);
    return err;
}

/* Nothing could be read: the panel stays at the visits that it shows, and waits for no others. */
static void
stay(struct desk_work *w, const struct panel_request *q)
{
    if (q->kind != PANEL_WANTS_VISITS || strcmp(w->kase.runner.code, q->runner.code) != 0)
        return;
    w->kase.is_turned = true;
    desk_answers_case(&w->answers, &w->kase);
}

static enum err
save_runner(struct desk_work *w, struct store *s, const struct panel_request *q)
{
    struct store_runner r, was;
    desk_read_to_row(&q->runner, &r);
    if (r.id != 0 && store_runner_get(s, r.code, &was) == ERR_OK && was.id == r.id)
        r.created_utc_ms = was.created_utc_ms;
    const enum err err = store_runner_save(s, &r);
    if (err != ERR_USAGE)
        return err;
    desk_answers_refused(&w->answers, &q->runner); /* the code: back to the form, with all that was typed */
    return ERR_OK;
}

static enum err
forget(struct desk_work *w, struct store *s, const struct panel_request *q)
{
    struct store_belongings had;
    struct message m;
    const enum err err = forget_runner(s, q->runner.id, &had);
    if (err != ERR_OK)
        return err;
    message_tell(&m, MESSAGE_RUNNER_IS_FORGOTTEN, q->runner.code, had.n_visits, had.n_recordings, had.n_pages);
    desk_answers_say(&w->answers, &m);
    return ERR_OK;
}

static enum err
keep_note(const struct desk_work *w, struct store *s, const struct panel_request *q)
{
    struct store_note note = { .at = { -1 } };
    if (q->visit_id == 0)
        note.at = q->pain.at;
    str_copy(note.text, sizeof note.text, q->text);
    return store_note_put(s, q->visit_id ? q->visit_id : w->run->run.visit.row.id, &note);
}

static enum err
keep_pain(const struct desk_work *w, struct store *s, const struct panel_request *q)
{
    const struct store_pain pain = { .when = (enum store_pain_when) q->pain.when,
                                     .at = q->pain.at,
                                     .pain = q->pain.pain,
                                     .effort = q->pain.effort };
    return w->run->run.visit.row.id ? store_pain_put(s, w->run->run.visit.row.id, &pain) : ERR_OK;
}

/* Forgotten by another program meanwhile: then the page that was just written must not stay. */
static enum err
check_still_there(struct store *s, const struct panel_request *q, const char *path)
{
    struct store_visit v;
    struct store_runner r;
    const enum err err =
        q->visit_id ? store_visit_get(s, q->visit_id, &v) : store_runner_get(s, q->runner.code, &r);
    if (err == ERR_GONE)
        remove(path);
    return err;
}

/* pages/visit-12.pdf in the data folder. */
static enum err
print(struct desk_work *w, struct store *s, const struct panel_request *q)
{
    struct course c;
    char path[STORE_PATH_MAX];
    enum err err =
        q->visit_id ? course_of_visit(s, q->visit_id, &c) : course_of_runner(s, q->runner.code, "", &c);
    if (err != ERR_OK)
        return err;
    err = pages_path(s, q->visit_id, q->runner.code, path);
    if (err == ERR_OK)
        err = (q->visit_id ? page_visit : page_course)(&c, w->words, path, &s->why);
    course_destroy(&c);
    if (err == ERR_OK)
        err = check_still_there(s, q, path);
    if (err == ERR_OK)
        desk_keep_say(w, MESSAGE_PAGE_IS_AT, message_path(path));
    return err;
}

/* The list of plans is read anew with the runner's case. */
static enum err
copy_plan(struct desk_work *w, struct store *s, const struct panel_request *q)
{
    char path[PLACES_PATH_MAX];
    if (q->plan < 0 || q->plan >= w->kase.n_plans || w->kase.plan[q->plan].why.code != MESSAGE_NONE || strcmp(w->kase.runner.code, q->runner.code) != 0)
        return ERR_OK;
    enum err err = plan_copy(w->kase.plan[q->plan].id, q->text, path, &s->why);
    if (err == ERR_OK)
        err = read_case(w, s, q->runner.code);
    if (err != ERR_OK)
        return err;
    desk_keep_say(w, MESSAGE_PLAN_COPY_IS_AT, message_path(path));
    return ERR_OK;
}

static enum err
store_job(struct desk_work *w, struct store *s, const struct panel_request *q)
{
    switch (q->kind) {
    case PANEL_WANTS_RUNNERS:
        return read_runners(w, s, q);
    case PANEL_WANTS_SAVE_RUNNER:
        return save_runner(w, s, q);
    case PANEL_WANTS_FORGET:
        return forget(w, s, q);
    case PANEL_WANTS_CASE:
        return read_case(w, s, q->runner.code);
    case PANEL_WANTS_VISITS:
        return read_visits(w, s, q);
    case PANEL_WANTS_NOTE:
        return keep_note(w, s, q);
    case PANEL_WANTS_PAIN:
        return keep_pain(w, s, q);
    case PANEL_WANTS_TICKS:
        return store_visit_set_ticks(s, q->visit_id ? q->visit_id : w->run->run.visit.row.id, q->text);
    case PANEL_WANTS_PRINT:
        return print(w, s, q);
    case PANEL_WANTS_COPY:
        return copy_plan(w, s, q);
    case PANEL_WANTS_NOTHING:
    case PANEL_WANTS_SENSOR:
    case PANEL_WANTS_RUN:
    case PANEL_WANTS_COMMAND:
    case PANEL_WANTS_END:
    case PANEL_WANTS_CLOSE:
    case PANEL_WANTS_LOAD:
    case PANEL_WANTS_CALIBRATE:
    case PANEL_WANTS_NO_CALIBRATE:
    case PANEL_WANTS_UNDO_CALIBRATION:
    case PANEL_WANTS_PROFILE:
    case PANEL_WANTS_SAVED:
    case PANEL_WANTS_HIDE:
    case PANEL_WANTS_MUTE:
    case PANEL_WANTS_LEAVE:
        break;
    }
    return ERR_OK;
}

/* What was typed is gone then: said with what it was. */
static void
say_refused(struct desk_work *w, const struct panel_request *q, const struct message *why)
{
    if (q->kind == PANEL_WANTS_NOTE)
        desk_keep_say(w, MESSAGE_NOTE_NOT_KEPT, message_of(why));
    else if (q->kind == PANEL_WANTS_PAIN)
        desk_keep_say(w, MESSAGE_PAIN_NOT_KEPT, message_of(why));
    else
        desk_answers_say(&w->answers, why);
}

/* What was said of the visit that runs, or has just ended, goes where its rows are. */
static bool
is_of_visit(const struct panel_request *q)
{
    return q->visit_id == 0 &&
           (q->kind == PANEL_WANTS_NOTE || q->kind == PANEL_WANTS_PAIN || q->kind == PANEL_WANTS_TICKS);
}

static enum err
do_aside(struct desk_work *w, const struct panel_request *q, const char *path, struct message *why)
{
    struct store s;
    enum err err = store_open(&s, path, STORE_MUST_EXIST | STORE_UNCHECKED);
    if (err == ERR_OK)
        err = store_job(w, &s, q);
    *why = s.why;
    store_close(&s);
    return err;
}

static void
do_in_store(struct desk_work *w, const struct panel_request *q)
{
    struct store *s;
    char path[STORE_PATH_MAX];
    struct message why;
    const char *aside = is_of_visit(q) ? desk_run_where(w->run, path) : NULL;
    enum err err;
    if (aside)
        err = do_aside(w, q, aside, &why);
    else {
        err = desk_keep_store(w, &s);
        if (err == ERR_OK)
            err = store_job(w, s, q);
        if (err == ERR_OS && s->is_full && reserve_give_up(s->path))
            err = store_job(w, s, q);
        why = s->why;
    }
    if (err != ERR_OK && !aside && is_of_visit(q) && (aside = desk_run_where(w->run, path)) != NULL) /* it went there meanwhile */
        err = do_aside(w, q, aside, &why);
    if (err != ERR_OK) {
        say_refused(w, q, &why);
        stay(w, q);
    } else
        desk_answers_kept(&w->answers, q);
}

/* ---------------------------------------------------------------- jobs of the sensor and the visit */

static void
begin(struct desk_work *w, const struct panel_request *q)
{
    const char *aside = desk_store_aside(&w->store);
    if (aside)
        w->run->run.config.visit.store_path = aside;
    const enum err err = desk_run_begin(w->run, q, w->pain_before);
    if (err != ERR_OK)
        desk_answers_say(&w->answers, &w->run->why);
    else if (q->text[0]) {
        struct panel_request ticks = *q;
        ticks.kind = PANEL_WANTS_TICKS;
        ticks.visit_id = 0;
        do_in_store(w, &ticks);
    }
    desk_answers_begun(&w->answers, err == ERR_OK);
}

static void
open_sensor(struct desk_work *w, const struct panel_request *q)
{
    if (desk_run_end(w->run) != ERR_OK && w->run->run.visit.is_open) { /* it has to go somewhere before the next begins */
        desk_answers_sensor(&w->answers, PANEL_SENSOR_REFUSED, &w->run->why);
        return;
    }
    w->pain_before = (double) NAN;
    memset(&w->run->run.visit, 0, sizeof w->run->run.visit);
    if (strcmp(w->kase.runner.code, q->runner.code) != 0) {
        struct panel_request kase = *q;
        kase.kind = PANEL_WANTS_CASE;
        do_in_store(w, &kase);
    }
    if (desk_run_open(w->run, q, &w->kase) == ERR_OK)
        desk_answers_sensor(&w->answers, PANEL_SENSOR_OPEN, &w->run->says);
    else
        desk_answers_sensor(&w->answers, PANEL_SENSOR_REFUSED, &w->run->why);
    desk_calib_show(w);
}

static void
end(struct desk_work *w, const struct panel_request *q)
{
    const struct visit *v = &w->run->run.visit;
    const bool is_visit = v->is_open;
    w->care.is_copy_due |= is_visit;
    if (desk_run_end(w->run) != ERR_OK) {
        if (is_visit && v->aside[0])
            desk_keep_say(w, MESSAGE_VISIT_IS_ELSEWHERE, message_path(v->aside));
        else
            desk_answers_say(&w->answers, &w->run->why);
    } else
        desk_answers_say(&w->answers, &w->run->run.tidied);
    if (q->kind == PANEL_WANTS_END) {
        struct panel_request again = *q;
        again.kind = PANEL_WANTS_CASE;
        do_in_store(w, &again);
    }
}

static void
do_job(struct desk_work *w, const struct panel_request *q)
{
    switch ((int) q->kind) {
    case PANEL_WANTS_SENSOR:
        open_sensor(w, q);
        break;
    case PANEL_WANTS_RUN:
        begin(w, q);
        break;
    case PANEL_WANTS_END:
    case PANEL_WANTS_CLOSE:
        end(w, q);
        break;
    case PANEL_WANTS_SAVED:
        desk_keep_tell_saved(w);
        break;
    case PANEL_WANTS_CALIBRATE:
    case PANEL_WANTS_UNDO_CALIBRATION:
    case PANEL_WANTS_PROFILE:
        desk_calib_do(w, q);
        break;
    case PANEL_WANTS_PAIN:
        if (q->pain.when == VISIT_FLOW_PAIN_WAS_BEFORE)
            w->pain_before = q->pain.pain;
        else
            do_in_store(w, q);
        break;
    default:
        do_in_store(w, q);
        break;
    }
}

/* A job waits, or the end: what is done meanwhile stops then. */
static bool
is_wanted(void *context)
{
    struct desk_work *w = context;
    pthread_mutex_lock(&w->guard);
    const bool is = w->n_jobs > 0 || w->is_stopping;
    pthread_mutex_unlock(&w->guard);
    return is;
}

/* Until a job comes; meanwhile, now and then, the store is looked after. With the guard held, but for that. */
static void
wait_or_look(struct desk_work *w)
{
    const int64_t until_us = monotime_now().us + DESK_WORK_LOOK_US;
    const struct timespec until = { until_us / UNITS_US_PER_S, (until_us % UNITS_US_PER_S) * 1000 };
    if (pthread_cond_timedwait(&w->wake, &w->guard, &until) == 0)
        return;
    pthread_mutex_unlock(&w->guard);
    desk_keep_look(w);
    if (desk_care_is_due(w))
        desk_care_do(w, &(const struct store_stop){ is_wanted, w });
    pthread_mutex_lock(&w->guard);
    w->is_left = desk_keep_is_elsewhere(w);
}

static void *
work(void *context)
{
    struct desk_work *w = context;
    bool is_first = true;
    desk_calib_begin(w);
    pthread_mutex_lock(&w->guard);
    for (;;) {
        while (w->n_jobs == 0 && !w->is_stopping)
            wait_or_look(w);
        if (w->n_jobs == 0)
            break;
        const struct panel_request job = w->job[0];
        pthread_mutex_unlock(&w->guard);
        do_job(w, &job);
        w->care.is_check_due |= is_first; /* the panel shows something by now */
        is_first = false;
        pthread_mutex_lock(&w->guard);
        w->is_left = desk_keep_is_elsewhere(w);
        memmove(w->job, w->job + 1, (size_t) --w->n_jobs * sizeof *w->job);
        pthread_cond_signal(&w->done);
    }
    pthread_mutex_unlock(&w->guard);
    w->care.is_copy_due |= w->run->run.visit.is_open;
    if (desk_run_end(w->run) != ERR_OK)
        log_tell(&w->run->why);
    run_abandon(&w->run->run);
    if (w->care.is_copy_due)
        desk_care_do(w, &(const struct store_stop){ NULL, NULL });
    desk_store_close(&w->store);
    return NULL;
}

enum err
desk_work_start(struct desk_work *w, const char *store_path, struct desk_run *run)
{
    pthread_condattr_t monotonic;
    w->store.path = store_path;
    w->run = run;
    w->pain_before = (double) NAN;
    pthread_mutex_init(&w->guard, NULL);
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_cond_init(&w->wake, &monotonic);
    pthread_condattr_destroy(&monotonic);
    pthread_cond_init(&w->done, NULL);
    desk_answers_init(&w->answers);
    stop_block_signals(true);
    w->is_running = pthread_create(&w->thread, NULL, work, w) == 0;
    stop_block_signals(false);
    return w->is_running ? ERR_OK : ERR_OS;
}

bool
desk_work_has_room(struct desk_work *w)
{
    pthread_mutex_lock(&w->guard);
    const bool has_room = w->n_jobs < DESK_WORK_N_JOBS;
    pthread_mutex_unlock(&w->guard);
    return has_room;
}

bool
desk_work_has_kept_all(struct desk_work *w)
{
    pthread_mutex_lock(&w->guard);
    bool has = !w->is_left;
    for (int i = 0; i < w->n_jobs; i++)
        has = has && !desk_keep_is_asked(w->job[i].kind);
    pthread_mutex_unlock(&w->guard);
    return has;
}

void
desk_work_put(struct desk_work *w, const struct panel_request *job)
{
    pthread_mutex_lock(&w->guard);
    while (w->n_jobs == DESK_WORK_N_JOBS)
        pthread_cond_wait(&w->done, &w->guard);
    w->job[w->n_jobs++] = *job;
    pthread_cond_signal(&w->wake);
    pthread_mutex_unlock(&w->guard);
}

void
desk_work_stop(struct desk_work *w)
{
    if (!w->is_running)
        return;
    pthread_mutex_lock(&w->guard);
    w->is_stopping = true;
    pthread_cond_signal(&w->wake);
    pthread_mutex_unlock(&w->guard);
    pthread_join(w->thread, NULL);
    desk_answers_destroy(&w->answers);
    pthread_cond_destroy(&w->wake);
    pthread_cond_destroy(&w->done);
    pthread_mutex_destroy(&w->guard);
    w->is_running = false;
}
