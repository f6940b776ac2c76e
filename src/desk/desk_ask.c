/* desk_ask.c - what the panel asks for, done at once or handed to the worker; and the worker's answers. */
#include "base/str.h"
#include "desk/desk_parts.h"

#include <string.h>

#define DESK_READ_US (2 * UNITS_US_PER_S) /* so long a message stands before the next one comes */

/* The run did not take a pain or a note: where it keeps any, too much waits for the disc, and the worker is to keep it in its
 * turn. Gives false. */
static bool
is_said_late(struct desk *d)
{
    struct message m;
    message_init(&m, MESSAGE_DISC_IS_SLOW);
    if (atomic_load(&d->run.run.is_keeping))
        panel_tell(&d->panel, &m);
    return false;
}

/* So that a note which the worker keeps stands at its moment all the same. */
static struct panel_request
with_moment(const struct desk *d, const struct panel_request *q)
{
    struct panel_request job = *q;
    if (q->kind == PANEL_WANTS_NOTE && q->visit_id == 0)
        job.pain.at = d->is_run_open && q->number > 0 ? d->verdict.time : (struct dev_time){ -1 };
    return job;
}

static bool
put_note(struct desk *d, const struct panel_request *q)
{
    struct run_said said;
    if (!run_put_note(&d->run.run, d->verdict.time, q->text))
        return is_said_late(d);
    if (q->number == 2 && run_get_said(&d->run.run, &said))
        desk_marks_put(&d->marks, &said);
    return true;
}

/* What needs no worker. False: it does. */
static bool
obey_now(struct desk *d, const struct panel_request *q)
{
    switch ((int) q->kind) {
    case PANEL_WANTS_HIDE:
        desk_set_shown(d, false);
        return true;
    case PANEL_WANTS_MUTE:
        sound_set_muted(&d->show.sound, !d->show.sound.is_muted);
        return true;
    case PANEL_WANTS_LEAVE:
        d->is_leaving = true;
        return true;
    case PANEL_WANTS_COMMAND:
        return true; /* passed on already, or there is nobody to take it */
    case PANEL_WANTS_LOAD:
        if (d->is_run_open)
            desk_watch_load(&d->run.watch);
        return true;
    case PANEL_WANTS_NO_CALIBRATE:
        atomic_store(&d->work.is_calibration_left, true);
        return true;
    case PANEL_WANTS_PAIN:
        return d->is_run_open && q->visit_id == 0 && q->pain.when == VISIT_FLOW_PAIN_WAS_DURING &&
               (run_put_pain(&d->run.run, &q->pain) || is_said_late(d));
    case PANEL_WANTS_NOTE:
        return d->is_run_open && q->visit_id == 0 && put_note(d, q);
    default:
        return false;
    }
}

bool
desk_obey(struct desk *d, const struct panel_request *q)
{
    if (q->kind == PANEL_WANTS_COMMAND && d->is_run_open && !run_command(&d->run.run, &q->command))
        return false;
    const bool is_said = q->kind == PANEL_WANTS_PAIN || q->kind == PANEL_WANTS_NOTE; /* tried once: recorded once */
    if (is_said && !desk_work_has_room(&d->work))
        return false;
    if (obey_now(d, q))
        return true;
    if (!desk_work_has_room(&d->work))
        return false;
    const struct panel_request job = with_moment(d, q);
    switch ((int) q->kind) {
    case PANEL_WANTS_RUN:
        d->run.has_check = d->panel.visit.has_watch && d->panel.visit.watch.has_check; /* the worker's from now on */
        d->run.check = d->panel.visit.watch.check;
        d->is_begin_due = true;
        break;
    case PANEL_WANTS_CALIBRATE:
        atomic_store(&d->work.is_calibration_left, false);
        break;
    case PANEL_WANTS_SENSOR:
        desk_dress(d, &q->runner);
        d->n_sensors++;
        d->is_run_open = false;
        break;
    case PANEL_WANTS_END:
    case PANEL_WANTS_CLOSE:
        d->is_run_open = false; /* the worker's from now on */
        break;
    default:
        break;
    }
    desk_work_put(&d->work, &job);
    return true;
}

void
desk_take_requests(struct desk *d)
{
    const struct panel_request *q;
    while (!d->is_begin_due && (q = panel_first_request(&d->panel)) != NULL && desk_obey(d, q))
        panel_drop_request(&d->panel);
}

void
desk_leave_requests(struct desk *d)
{
    struct panel_request q;
    while (panel_take_request(&d->panel, &q))
        if (desk_keep_is_asked(q.kind)) {
            q = with_moment(d, &q);
            desk_work_put(&d->work, &q);
        }
}

/* The sensor as it is now, for as long as its step is seen. */
static void
take_watch(struct desk *d)
{
    if (!d->is_run_open)
        return;
    desk_watch_set_on(&d->run.watch, panel_sensor_is_seen(&d->panel));
    if (desk_watch_take(&d->run.watch, &d->watch) && panel_sensor_is_seen(&d->panel))
        panel_set_watch(&d->panel, &d->watch);
}

/* One after the other: the next of them when the one before was read, or is gone by what was done since. */
static void
take_message(struct desk *d)
{
    struct message m;
    const bool is_read = message_is_none(&d->answered_message) || !message_is_same(&d->panel.out.message, &d->answered_message) ||
                         units_host_since_us(d->panel.now, d->answered) > DESK_READ_US;
    if (!is_read || !desk_answers_take_message(&d->work.answers, &m))
        return;
    panel_tell(&d->panel, &m);
    d->answered_message = m;
    d->answered = d->panel.now;
    d->is_touched = true;
}

/* Of a run that is the worker's again nothing is told here: it says how its visit ends. */
static void
take_marks(struct desk *d)
{
    struct run_said said;
    int n_kept, n_refused;
    if (!d->is_run_open)
        d->marks = (struct desk_marks){ 0 };
    else if (d->marks.n[0] > 0 && run_get_said(&d->run.run, &said) && desk_marks_take(&d->marks, &said, &n_kept, &n_refused))
        panel_set_marked(&d->panel, n_kept, n_refused);
}

static void
obey_answer(struct desk *d, const struct desk_answer *a)
{
    /* Not of an opening that was given up meanwhile: the worker closes it, or opens another one. */
    if (a->has_sensor && a->n_sensors == d->n_sensors && d->panel.visit.is_on) {
        d->is_run_open = a->sensor == PANEL_SENSOR_OPEN;
        panel_set_sensor(&d->panel, a->sensor, &a->sensor_told);
    }
    if (a->is_begun || a->is_begin_refused)
        d->is_begin_due = false;
    if (a->is_begin_refused) /* nothing would be kept: do not run as if */
        panel_visit_refused(&d->panel);
    if (a->has_runners)
        panel_set_runners(&d->panel, &a->runners);
    if (a->has_refused)
        panel_runner_refused(&d->panel, &a->refused);
    if (a->has_case)
        panel_set_case(&d->panel, &a->kase);
    for (int i = 0; i < a->n_kept; i++)
        panel_set_kept(&d->panel, &a->kept[i]);
    if (a->n_marked > 0)
        panel_set_marked(&d->panel, a->n_marked, 0);
    if (a->has_calibration)
        panel_set_calibration(&d->panel, &a->calibration);
    d->is_touched = true;
}

void
desk_take_answers(struct desk *d)
{
    take_watch(d);
    take_marks(d);
    if (desk_answers_take(&d->work.answers, &d->answer))
        obey_answer(d, &d->answer);
    take_message(d);
}
