#include "gait/engine.h"

#include <math.h>
#include <stddef.h>

/* A foot shows on the mat from this share of the threshold on: before the contact is sure, after the noise. */
#define FOOT_SHOWS_SHARE 0.5

void
engine_init(struct engine *e, const struct engine_config *c)
{
    signal_init(&e->signal, c);
    sequence_init(&e->sequence);
    measure_init(&e->measure, c);
    activity_init(&e->activity);
    e->n_rejected = e->n_taps = 0;
}

/* ------------------------------------------------------------------ runs */

static void
follow(struct activity *a, enum sequence_change change)
{
    if (change == SEQUENCE_RUN_KNOWN)
        activity_set_running(a);
    else if (change == SEQUENCE_RUN_ENDED)
        activity_end_running(a);
}

static void
handle(struct engine *e, int channel, const struct contact_event *ev)
{
    enum sequence_change change = SEQUENCE_AS_BEFORE;
    switch (ev->kind) {
    case CONTACT_DOWN:
        change = sequence_down(&e->sequence, &e->signal, &e->measure, channel, ev);
        break;
    case CONTACT_UP:
        change = sequence_up(&e->sequence, &e->signal, &e->measure, channel, ev);
        prints_turn(&e->measure.prints);
        break;
    case CONTACT_TOO_LONG:
        change = sequence_too_long(&e->sequence, &e->signal, &e->measure, channel);
        break;
    case CONTACT_DIP:
        change = sequence_dip(&e->sequence, &e->signal, &e->measure, ev);
        break;
    case CONTACT_TAP:
        e->n_taps++;
        break;
    case CONTACT_NOTHING:
        break;
    }
    follow(&e->activity, change);
}

/* Nothing before a break joins what comes after it. */
static void
break_data(struct engine *e)
{
    follow(&e->activity, sequence_close(&e->sequence, &e->signal, &e->measure));
    signal_break(&e->signal);
    prints_reset(&e->measure.prints);
}

/* False: the frame can't be used. */
static bool
take_time(struct engine *e, const struct frame *f)
{
    unsigned news = sampling_feed(&e->signal.sampling, f);
    if (news & SAMPLING_REFUSED)
        return false;
    if (news & SAMPLING_NEW_PERIOD)
        signal_configure(&e->signal);
    if (news & (SAMPLING_BROKEN | SAMPLING_RESET))
        break_data(e);
    if (news & SAMPLING_RESET) {
        signal_reset(&e->signal);
        sequence_reset(&e->sequence);
        activity_reset(&e->activity);
    }
    return true;
}

/* ------------------------------------------------------------------ force */

/* A zero or a scale found late: the contacts of the last while were not seen as such, so the detector sees their samples
 * again. A contact under way at the start has no touchdown, and what comes before its end shows no zero. */
static void
see_again(struct engine *e)
{
    struct signal *s = &e->signal;
    double now_us = s->sampling.now_us;
    for (uint64_t i = signal_rewind(s, now_us - SIGNAL_AGAIN_US); i < s->channel[0].trace.n_fed; i++) {
        s->sampling.now_us = trace_at(&s->channel[0].trace, i)->time_us;
        struct contact_event ev = signal_detect(s, 0, i);
        handle(e, 0, &ev);
    }
    s->sampling.now_us = now_us;
    prints_lose(&e->measure.prints, s->channel[0].detector.state == CONTACT_IS_UP);
}

/* Nothing of the present run was given out yet: its contacts are found again with the threshold as it is now. */
static void
find_run_again(struct engine *e)
{
    e->signal.scale.is_new = false;
    sequence_discard(&e->sequence, &e->measure.weight);
    contact_set_threshold(&e->signal.channel[0].detector, signal_threshold_n(&e->signal));
    see_again(e);
}

/* True when the last seconds were seen again with a new threshold. */
static bool
find_scale(struct engine *e, double load_n)
{
    struct signal *s = &e->signal;
    switch (scale_feed(&s->scale, &s->channel[0].trace, s->sampling.now_us, s->sampling.period_us, load_n, s->scratch)) {
    case SCALE_AS_BEFORE:
        return false;
    case SCALE_WAS_WRONG:
        sequence_discard(&e->sequence, &e->measure.weight);
        contact_reset(&s->channel[0].detector);
        return false;
    case SCALE_SEE_AGAIN:
        break;
    }
    find_run_again(e);
    return true;
}

static void
feed_force(struct engine *e, const struct frame *f)
{
    struct signal *s = &e->signal;
    struct trace_sample sample = signal_sample(s, f);
    double load_n = f->force_n - s->zero.force_n;
    s->is_relative = e->measure.weight.is_relative = f->flags & FRAME_RELATIVE;
    double on_n = signal_threshold_n(s);
    signal_follow_threshold(s, on_n);
    if (f->image != NULL)
        prints_feed(&e->measure.prints, f, s->channel[0].detector.state == CONTACT_IS_UP,
                    load_n >= FOOT_SHOWS_SHARE * on_n, &sample);
    uint64_t index = trace_feed(&s->channel[0].trace, &sample);
    if (s->is_relative && find_scale(e, load_n))
        return; /* the sample was seen with the others */
    if (isnan(on_n))
        return;
    struct contact_event ev = signal_detect(s, 0, index);
    handle(e, 0, &ev);
    if (s->scale.is_new)
        find_run_again(e);
    if (signal_check_zero(s, e->sequence.row.is_run_open))
        see_again(e);
}

/* ------------------------------------------------------------------ the object */

void
engine_feed(struct engine *e, const struct frame *f)
{
    bool are_switches = f->kind == FRAME_KIND_SWITCHES;
    double before_us = e->signal.sampling.now_us;
    bool is_bad = are_switches ? f->switches == NULL : !isfinite(f->force_n);
    if (is_bad || are_switches != (e->signal.kind == FRAME_KIND_SWITCHES) || !take_time(e, f)) {
        e->n_rejected++;
        return;
    }
    sampling_count(&e->signal.sampling, f);
    if (are_switches) {
        for (int channel = 0; channel < 2; channel++) {
            struct contact_event ev = signal_feed_foot(&e->signal, channel, f, before_us);
            handle(e, channel, &ev);
        }
        activity_feed_feet(&e->activity, &e->signal);
    } else {
        feed_force(e, f);
    }
    follow(&e->activity, sequence_feed_time(&e->sequence, &e->signal, &e->measure));
    activity_feed(&e->activity, &e->signal, e->sequence.row.is_run_open);
}

bool
engine_take(struct engine *e, struct step *out)
{
    return step_queue_take(&e->sequence.queue, out);
}

void
engine_finish(struct engine *e)
{
    for (int i = 0; i < e->signal.n_channels; i++) {
        struct contact_event ev = contact_finish(&e->signal.channel[i].detector);
        handle(e, i, &ev);
    }
    follow(&e->activity, sequence_close(&e->sequence, &e->signal, &e->measure));
}

enum step_gait
engine_gait(const struct engine *e)
{
    return e->activity.gait;
}

bool
engine_is_relative(const struct engine *e)
{
    return e->signal.is_relative;
}

bool
engine_is_loaded(const struct engine *e)
{
    return contact_is_down(&e->signal.channel[0].detector);
}

double
engine_period_us(const struct engine *e)
{
    return e->signal.sampling.period_us;
}

void
engine_set_belt_speed(struct engine *e, double m_s)
{
    e->measure.belt.entered_m_s = m_s;
}

double
engine_momentum_weight_n(const struct engine *e)
{
    return weight_momentum_n(&e->measure.weight);
}

double
engine_body_weight_n(const struct engine *e, enum engine_weight_source *from)
{
    return weight_in_use_n(&e->measure.weight, from);
}

struct engine_health
engine_health(const struct engine *e)
{
    return (struct engine_health) {
        .n_frames = e->signal.sampling.n_frames,
        .n_rejected = e->n_rejected,
        .n_gaps = e->signal.sampling.n_gaps,
        .n_taps = e->n_taps,
        .n_long = e->sequence.n_long,
        .n_stray = e->sequence.n_stray,
        .n_bridged = e->sequence.n_bridged,
        .n_overflow = e->sequence.queue.n_overflow,
        .zero_n = e->signal.zero.force_n,
        .noise_n = e->signal.zero.noise_n,
    };
}
