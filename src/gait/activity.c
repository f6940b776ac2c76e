#include "gait/activity.h"

#include <math.h>

/* Swing of the load about its mean, as a share of it, that tells a walk from standing. common practice, no source */
#define WALK_SWING 0.12

void
activity_init(struct activity *a)
{
    a->gait = STEP_GAIT_UNKNOWN;
    activity_reset(a);
}

void
activity_reset(struct activity *a)
{
    a->overlap_us = a->standing_since_us = NAN;
}

void
activity_set_running(struct activity *a)
{
    a->gait = STEP_GAIT_RUNNING;
}

void
activity_end_running(struct activity *a)
{
    if (a->gait == STEP_GAIT_RUNNING)
        a->gait = STEP_GAIT_UNKNOWN;
}

void
activity_feed_feet(struct activity *a, const struct signal *s)
{
    /* Both down and then one up is half a walk's step; both down alone may be somebody stepping on. */
    bool both_down = contact_is_down(&s->channel[0].detector) && contact_is_down(&s->channel[1].detector);
    if (both_down == !isnan(a->standing_since_us))
        return;
    if (!both_down)
        a->overlap_us = s->sampling.now_us;
    a->standing_since_us = both_down ? s->sampling.now_us : (double) NAN;
}

/* Whether the load of the last while swings as a walk does. */
static bool
load_swings(const struct signal *s)
{
    double low_n = INFINITY, high_n = -INFINITY, sum = 0;
    int n = 0;
    const struct trace *t = &s->channel[0].trace;
    for (uint64_t i = trace_find(t, s->sampling.now_us - ACTIVITY_AFTER_US); i < t->n_fed; i++) {
        double force_n = trace_at(t, i)->force_n - s->zero.force_n;
        low_n = fmin(low_n, force_n);
        high_n = fmax(high_n, force_n);
        sum += force_n;
        n++;
    }
    return n > 0 && high_n - low_n > 2 * WALK_SWING * sum / n;
}

void
activity_feed(struct activity *a, const struct signal *s, bool is_run_open)
{
    double now_us = s->sampling.now_us, up_us = -INFINITY;
    for (int i = 0; i < s->n_channels; i++)
        if (!isnan(s->channel[i].last_up_us))
            up_us = fmax(up_us, s->channel[i].last_up_us);
    if (is_run_open && a->gait == STEP_GAIT_RUNNING)
        return;
    if (!signal_is_touched(s)) {
        if (now_us - up_us > ACTIVITY_AFTER_US)
            a->gait = STEP_GAIT_OFF;
        return;
    }
    if (s->n_channels == 2) {
        if (now_us - a->standing_since_us > ACTIVITY_AFTER_US)
            a->gait = STEP_GAIT_STANDING;
        else if (now_us - a->overlap_us < ACTIVITY_AFTER_US)
            a->gait = STEP_GAIT_WALKING;
        return;
    }
    /* One load: it must have been on for the whole window before its swing says anything; look now and then. */
    if (now_us - s->channel[0].detector.on_us > ACTIVITY_AFTER_US && s->zero_checked_us == now_us)
        a->gait = load_swings(s) ? STEP_GAIT_WALKING : STEP_GAIT_STANDING;
}
