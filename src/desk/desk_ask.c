/* desk_ask.c - what the panel asks for, done at once or handed to the worker; and the worker's answers. */
#include "base/str.h"
#include "desk/desk_parts.h"

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
        if (d->is_run_open && !run_command(&d->run.run, &q->command))
            panel_say(&d->panel, "Too much at once: try that again.");
        return true;
    case PANEL_WANTS_LOAD:
        if (d->is_run_open)
            desk_watch_load(&d->run.watch);
        return true;
    case PANEL_WANTS_NO_CALIBRATE:
        atomic_store(&d->work.is_calibration_left, true);
        return true;
    case PANEL_WANTS_PAIN:
        return d->is_run_open && q->visit_id == 0 && q->pain.when == VISIT_FLOW_PAIN_WAS_DURING &&
               run_put_pain(&d->run.run, &q->pain);
    case PANEL_WANTS_NOTE:
        return d->is_run_open && q->visit_id == 0 && run_put_note(&d->run.run, d->verdict.time, q->text);
    default:
        return false;
    }
}

void
desk_obey(struct desk *d, const struct panel_request *q)
{
    if (obey_now(d, q))
        return;
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
    if (!desk_work_put(&d->work, q))
        panel_say(&d->panel, "Too much at once: try that again.");
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

void
desk_take_answers(struct desk *d)
{
    const struct desk_answer *a = &d->answer;
    take_watch(d);
    if (!desk_work_take(&d->work, &d->answer))
        return;
    /* Not of an opening that was given up meanwhile: the worker closes it, or opens another one. */
    if (a->has_sensor && a->n_sensors == d->n_sensors && d->panel.visit.is_on) {
        d->is_run_open = a->sensor == PANEL_SENSOR_OPEN;
        panel_set_sensor(&d->panel, a->sensor, a->sensor_text);
    }
    if (a->is_begun || a->is_begin_refused)
        d->is_begin_due = false;
    if (a->is_begin_refused) /* nothing would be kept: do not run as if */
        panel_visit_refused(&d->panel);
    if (a->has_runners)
        panel_set_runners(&d->panel, &a->runners);
    if (a->has_case)
        panel_set_case(&d->panel, &a->kase);
    if (a->has_calibration)
        panel_set_calibration(&d->panel, &a->calibration);
    if (a->message[0])
        panel_say(&d->panel, a->message);
    d->is_touched = true;
}
