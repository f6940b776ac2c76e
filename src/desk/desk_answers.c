#include "desk/desk_answers.h"

#include "base/log.h"
#include "base/str.h"

#include <math.h>
#include <string.h>

void
desk_answers_init(struct desk_answers *a)
{
    memset(a, 0, sizeof *a);
    pthread_mutex_init(&a->guard, NULL);
}

void
desk_answers_destroy(struct desk_answers *a)
{
    for (int i = 0; i < a->n_messages; i++) /* the panel is gone: said all the same */
        log_tell(&a->message[i]);
    pthread_mutex_destroy(&a->guard);
}

static void
drop_first_message(struct desk_answers *a)
{
    memmove(a->message, a->message + 1, (size_t) --a->n_messages * sizeof a->message[0]);
}

void
desk_answers_say(struct desk_answers *a, const struct message *m)
{
    if (message_is_none(m))
        return;
    pthread_mutex_lock(&a->guard);
    if (a->n_messages == DESK_N_MESSAGES) {
        log_tell(&a->message[0]);
        drop_first_message(a);
    }
    a->message[a->n_messages++] = *m;
    pthread_mutex_unlock(&a->guard);
}

void
desk_answers_note(struct desk_answers *a, enum message_code code)
{
    struct message m;
    message_init(&m, code);
    desk_answers_say(a, &m);
}

void
desk_answers_sensor(struct desk_answers *a, enum panel_sensor sensor, const struct message *told)
{
    pthread_mutex_lock(&a->guard);
    a->waiting.has_sensor = true;
    a->waiting.n_sensors++;
    a->waiting.sensor = sensor;
    a->waiting.sensor_told = *told;
    pthread_mutex_unlock(&a->guard);
}

void
desk_answers_runners(struct desk_answers *a, const struct panel_runners *r)
{
    pthread_mutex_lock(&a->guard);
    a->waiting.has_runners = true;
    a->waiting.runners = *r;
    pthread_mutex_unlock(&a->guard);
}

void
desk_answers_refused(struct desk_answers *a, const struct panel_runner *r)
{
    struct message m;
    message_init(&m, MESSAGE_NONE);
    pthread_mutex_lock(&a->guard);
    if (a->waiting.has_refused)
        message_tell(&m, MESSAGE_RUNNER_CODE_IS_TAKEN, r->code);
    else
        a->waiting.refused = *r;
    a->waiting.has_refused = true;
    pthread_mutex_unlock(&a->guard);
    desk_answers_say(a, &m);
}

void
desk_answers_case(struct desk_answers *a, const struct panel_case *k)
{
    pthread_mutex_lock(&a->guard);
    a->waiting.has_case = true;
    for (int i = 0; i < a->waiting.n_kept; i++)
        a->waiting.kept[i].visit_id = 0; /* a note that was kept before it was read is in it */
    a->waiting.kase = *k;
    pthread_mutex_unlock(&a->guard);
}

void
desk_answers_calibration(struct desk_answers *a, const struct panel_calibration *c)
{
    pthread_mutex_lock(&a->guard);
    struct panel_calibration *to = &a->waiting.calibration;
    const bool is_due = a->waiting.has_calibration; /* not taken yet */
    const bool is_changed = is_due && to->is_changed, is_refused = is_due && to->is_refused;
    *to = *c;
    to->is_changed |= is_changed;
    to->is_refused |= is_refused;
    a->waiting.has_calibration = true;
    pthread_mutex_unlock(&a->guard);
}

void
desk_answers_kept(struct desk_answers *a, const struct panel_request *q)
{
    struct desk_answer *w = &a->waiting;
    const bool is_mark = q->kind == PANEL_WANTS_NOTE && q->number == 2;
    const bool is_note = q->kind == PANEL_WANTS_NOTE && !is_mark && q->visit_id != 0;
    const bool is_after = q->kind == PANEL_WANTS_PAIN && q->pain.when == VISIT_FLOW_PAIN_WAS_AFTER;
    pthread_mutex_lock(&a->guard);
    w->n_marked += is_mark;
    if ((is_note || is_after) && w->n_kept < DESK_N_KEPT) {
        struct panel_kept *k = &w->kept[w->n_kept++];
        *k = (struct panel_kept){ .pain_after = (double) NAN, .effort = (double) NAN, .visit_id = is_note ? q->visit_id : 0 };
        if (is_after) {
            k->pain_after = q->pain.pain;
            k->effort = q->pain.effort;
        }
        str_copy(k->note, sizeof k->note, is_note ? q->text : "");
    }
    pthread_mutex_unlock(&a->guard);
}

void
desk_answers_begun(struct desk_answers *a, bool is_begun)
{
    pthread_mutex_lock(&a->guard);
    a->waiting.is_begun |= is_begun;
    a->waiting.is_begin_refused |= !is_begun;
    pthread_mutex_unlock(&a->guard);
}

bool
desk_answers_take(struct desk_answers *a, struct desk_answer *out)
{
    struct desk_answer *w = &a->waiting;
    if (pthread_mutex_trylock(&a->guard) != 0)
        return false;
    const bool is_any = w->has_runners || w->has_case || w->has_sensor || w->is_begun || w->is_begin_refused ||
                        w->has_calibration || w->has_refused || w->n_marked > 0 || w->n_kept > 0;
    if (is_any) {
        *out = *w;
        w->has_runners = w->has_case = w->has_sensor = w->is_begun = w->is_begin_refused = w->has_calibration = false;
        w->has_refused = false;
        w->n_marked = w->n_kept = 0;
    }
    pthread_mutex_unlock(&a->guard);
    return is_any;
}

bool
desk_answers_take_message(struct desk_answers *a, struct message *out)
{
    if (pthread_mutex_trylock(&a->guard) != 0)
        return false;
    const bool is_any = a->n_messages > 0;
    if (is_any) {
        *out = a->message[0];
        drop_first_message(a);
    }
    pthread_mutex_unlock(&a->guard);
    return is_any;
}
