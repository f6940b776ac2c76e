#include "gait/sequence.h"

#include "gait/edge.h"
#include "gait/parting.h"

#include <math.h>
#include <string.h>

/* A stride whose mean force differs by more than this share from body weight is not steady running.
 * common practice, no source */
#define UNSTEADY_SHARE 0.25
/* Mass centre: this many steps before touchdown and after it, settled and live (tests/VALIDITY.md). */
#define WINDOW_STEPS 2
#define WINDOW_STEPS_LIVE 1
/* A break shorter than this is a missed foot, not a stop: about three strides. common practice, no source */
#define RESUME_US 2000000.0
/* Step times whose median says how many feet missed: eight strides. common practice, no source */
#define STEP_SPAN 16
/* So many steps may have passed unseen, and so far from a whole number may their time be, for the side to be counted
 * on: step times of one runner spread by less than 2.5 % (facts P), so the time of four stays well within 0.3 of a step.
 * common practice, no source */
#define PASSED_MOST 4.5
#define PASSED_OFF 0.3
/* An event names the newest contact of its channel, or the one before it where the other foot has come down since. */
#define LOOK_BACK 2

/* ------------------------------------------------------------------ settling */

static void
settle(struct sequence *q, const struct measure *m, double period_us, uint64_t n, uint64_t end)
{
    struct footfall *c = footfall_at(&q->row, n);
    if (!c->is_live || c->is_settled)
        return;
    const struct strides_centre at = strides_centre(&q->row, n, end, WINDOW_STEPS);
    c->step.flags &= ~(uint32_t) STEP_FLAG_SIDE_GUESS;
    if (measure_sees_force(m)) {
        c->step.foot = footside_foot(&q->side, c->rank);
        if (c->step.foot != STEP_FOOT_UNKNOWN && !footside_is_sure(&q->side))
            c->step.flags |= STEP_FLAG_SIDE_GUESS;
    }
    measure_again(m, &q->row, period_us, c);
    measure_place(m, period_us, c, &at);
    rolling_feed(&q->rolling_settled, &c->step);
    c->step.is_settled = true;
    c->is_settled = true;
    step_queue_feed(&q->queue, &c->step);
}

/* Settles contacts of the run up to, not including, limit. end: contacts before it have their sums. */
static void
settle_until(struct sequence *q, const struct measure *m, double period_us, uint64_t limit, uint64_t end)
{
    for (; q->row.next_settle < limit; q->row.next_settle++)
        settle(q, m, period_us, q->row.next_settle, end);
}

/* ------------------------------------------------------------------ a step is complete */

static void
give_live(struct sequence *q, struct footfall *c)
{
    c->step.number = ++q->n_steps;
    c->is_live = true;
    q->last_live_us = c->touchdown_us;
    rolling_feed(&q->rolling_live, &c->step);
    step_queue_feed(&q->queue, &c->step);
}

/* What the frames under a contact said of themselves, and holes between them. */
static uint32_t
read_flags(const struct trace *t, const struct footfall *c, double hole_us)
{
    uint32_t seen = 0, flags = 0;
    double last_us = NAN;
    for (uint64_t i = trace_find(t, c->touchdown_us); i < t->n_fed; i++) {
        const struct trace_sample *s = trace_at(t, i);
        if (s->time_us > c->toe_off_us)
            break;
        seen |= s->flags;
        if (s->time_us - last_us > hole_us)
            seen |= FRAME_GAP_BEFORE;
        last_us = s->time_us;
    }
    flags |= seen & FRAME_GAP_BEFORE ? STEP_FLAG_GAP : 0;
    flags |= seen & FRAME_SATURATED ? STEP_FLAG_SATURATED : 0;
    flags |= seen & FRAME_AT_EDGE ? STEP_FLAG_EDGE : 0;
    flags |= seen & FRAME_RELATIVE ? STEP_FLAG_RELATIVE : 0;
    return flags;
}

/* The mass centre's travel in the stride that ends with this step; the run's first contact has no other stride. */
static void
measure_stride(struct footfall_row *r, const struct trace *t, struct footfall *c)
{
    if (!c->is_linked)
        return;
    struct footfall *before = footfall_at(r, c->serial - 1);
    if ((c->flags | before->flags) & FOOTFALL_FORCE_LOST)
        return; /* a stride with force missing has no periodic travel */
    c->vertical = mass_centre_vertical(t, &c->zero, before->touchdown_us, c->next_touchdown_us, c->touchdown_us,
                                       c->toe_off_us);
    if (!before->is_linked)
        before->vertical = mass_centre_vertical(t, &c->zero, before->touchdown_us, c->next_touchdown_us,
                                                before->touchdown_us, before->toe_off_us);
}

/* What a force sensor tells of the time from this touchdown to the next. */
static void
balance(struct sequence *q, const struct trace *t, struct weight *w, struct footfall *c)
{
    c->sum = mass_centre_sum(t, &c->zero, c->touchdown_us, c->next_touchdown_us);
    if (c->flags & FOOTFALL_FORCE_LOST)
        weight_drop_half(w);
    else
        weight_feed(w, &c->sum);
    measure_stride(&q->row, t, c);
}

/* Whose foot it is: by the votes, or by the switch. */
static void
choose_foot(struct footside *f, bool sees_force, struct footfall *c)
{
    if (!sees_force) {
        c->step.foot = c->channel == 0 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT;
        return;
    }
    footside_feed(f, c->rank, 0.5 * (c->early_right_mm + c->mean_right_mm));
    c->step.foot = footside_foot(f, c->rank);
    if (c->step.foot != STEP_FOOT_UNKNOWN && !footside_is_sure(f))
        c->flags |= STEP_FLAG_SIDE_GUESS;
}

/* Contact n of the present run is over and what follows is known (a touchdown, or none). */
static void
complete(struct sequence *q, struct signal *s, struct measure *m, uint64_t n)
{
    struct footfall *c = footfall_at(&q->row, n);
    const struct trace *t = &s->channel[0].trace;
    double period_us = s->sampling.period_us;
    memset(&c->step, 0, sizeof c->step);
    for (int k = 0; k < METRIC_COUNT; k++)
        c->step.value[k] = NAN;
    c->step.arrived = s->sampling.arrived;
    c->step.body_weight_n = NAN;
    c->flags |= read_flags(&s->channel[c->channel].trace, c, SAMPLING_HOLE_SHARE * period_us);
    measure_contact(m, t, period_us, c);
    if (s->is_relative)
        scale_peak(&s->scale, c->loading.peak_n);
    bool is_last = isnan(c->next_touchdown_us);
    if (!is_last && measure_sees_force(m))
        balance(q, t, &m->weight, c);
    choose_foot(&q->side, measure_sees_force(m), c);
    measure_step(m, &q->row, period_us, c);
    const struct strides_centre at = strides_centre(&q->row, n, is_last ? n : n + 1, WINDOW_STEPS_LIVE);
    measure_place(m, period_us, c, &at);
    /* A belt that slows or a body that speeds up shows in the mean force of the stride. */
    double usual_n = weight_momentum_n(&m->weight);
    double here_n = mass_centre_weight_n(&c->sum);
    if (!is_last && fabs(here_n / usual_n - 1) > UNSTEADY_SHARE)
        c->step.flags |= STEP_FLAG_UNSTEADY;
}

/* While a scale has just become known, nothing is: the run's contacts are to be found again with it. */
static bool
is_running_known(const struct sequence *q, bool is_scale_new, uint64_t n)
{
    const struct footfall *c = footfall_see(&q->row, n);
    if (is_scale_new)
        return false;
    return n + 1 - q->row.run_first >= SEQUENCE_MIN_RUN ||
           c->touchdown_us - q->last_live_us < RESUME_US; /* false while last_live_us is NAN */
}

/* Gives out live records of the run's complete contacts up to, not including, limit. */
static void
give_live_until(struct sequence *q, uint64_t limit)
{
    for (; q->row.next_live < limit; q->row.next_live++)
        give_live(q, footfall_at(&q->row, q->row.next_live));
}

void
sequence_discard(struct sequence *q, struct weight *w)
{
    if (!q->row.is_run_open)
        return;
    q->n_stray += q->row.n_begun - q->row.next_live;
    q->row.is_run_open = false;
    q->row.next_settle = q->row.next_live = q->row.n_begun;
    weight_reset(w); /* it rests on them */
    footside_init(&q->side);
    stats_reset(&q->step_us);
}

enum sequence_change
sequence_close(struct sequence *q, struct signal *s, struct measure *m)
{
    struct footfall_row *r = &q->row;
    if (!r->is_run_open)
        return SEQUENCE_AS_BEFORE;
    r->is_run_open = false;
    uint64_t last = r->n_begun - 1;
    bool is_cut_off = isnan(footfall_newest(r)->toe_off_us); /* the last contact never ended: no record of it */
    uint64_t end = is_cut_off ? last : last + 1;
    if (!is_cut_off && end > r->run_first && is_running_known(q, s->scale.is_new, last))
        complete(q, s, m, last);
    if (end > r->run_first && is_running_known(q, s->scale.is_new, is_cut_off ? last : end - 1)) {
        give_live_until(q, end);
        settle_until(q, m, s->sampling.period_us, end, last);
    } else {
        q->n_stray += end - r->run_first;
    }
    r->next_settle = r->next_live = r->n_begun;
    weight_drop_half(&m->weight);
    q->rolling_live.last_step_s = q->rolling_settled.last_step_s = NAN;
    return SEQUENCE_RUN_ENDED;
}

enum sequence_change
sequence_feed_time(struct sequence *q, struct signal *s, struct measure *m)
{
    if (!q->row.is_run_open)
        return SEQUENCE_AS_BEFORE;
    /* Somebody touches: its touchdown may yet turn out to lie before the limit. */
    double wait_us = signal_is_touched(s) ? s->channel[0].detector.config.min_contact_us : 0;
    if (s->sampling.now_us - footfall_newest(&q->row)->toe_off_us > SEQUENCE_MAX_FLIGHT_US + wait_us)
        return sequence_close(q, s, m);
    return SEQUENCE_AS_BEFORE;
}

void
sequence_init(struct sequence *q)
{
    memset(q, 0, sizeof *q);
    stats_init(&q->step_us, STEP_SPAN);
    rolling_init(&q->rolling_live);
    rolling_init(&q->rolling_settled);
    footside_init(&q->side);
    step_queue_init(&q->queue);
    q->last_live_us = NAN;
}

void
sequence_reset(struct sequence *q)
{
    footfall_reset(&q->row);
    q->last_live_us = NAN;
}

/* ------------------------------------------------------------------ events */

/* The flight that ends at touchdown_us shows the sensor's zero. */
static void
learn_zero(struct signal *s, double touchdown_us)
{
    const struct trace *t = &s->channel[0].trace;
    double from_us = s->channel[0].last_up_us;
    if (isnan(from_us))
        from_us = t->n_fed > 0 ? trace_at(t, trace_oldest(t))->time_us : touchdown_us;
    zero_learn_flight(&s->zero, t, from_us, touchdown_us, s->scratch);
}

static void
start_side_count(struct sequence *q, struct footfall *c, const struct footfall *before)
{
    double usual_us = stats_median(&q->step_us);
    double since_us = before != NULL ? c->touchdown_us - before->touchdown_us : (double) NAN;
    double n_passed = since_us / usual_us;
    if (before != NULL && since_us < RESUME_US && n_passed < PASSED_MOST &&
        fabs(n_passed - round(n_passed)) < PASSED_OFF) {
        c->rank = before->rank + (int) fmax(1, round(n_passed));
        return;
    }
    footside_init(&q->side);
}

static void
link_contact(struct sequence *q, struct footfall *c, struct footfall *before)
{
    c->is_linked = true;
    c->flight_before_us = c->touchdown_us - before->toe_off_us;
    c->step_before_us = c->touchdown_us - before->touchdown_us;
    before->next_touchdown_us = c->touchdown_us;
    c->rank = before->rank + 1;
    stats_feed(&q->step_us, c->step_before_us);
}

/* The touchdown, with the zero that the flight before it showed. time_us NAN: it can't be timed. */
static struct edge
time_touchdown(struct signal *s, int channel, const struct contact_event *ev, double on_n)
{
    const struct trace *t = &s->channel[channel].trace;
    struct trace_zero zero = { .zero0_n = s->zero.force_n };
    if (ev->is_close) /* a flight that short shows no zero */
        return edge_nearest(t, &zero, ev->sure_first, on_n, -1);
    struct edge td = edge_touchdown(t, &zero, ev->sure_first, on_n);
    if (s->n_channels == 2)
        return td;
    if (!isnan(td.time_us))
        learn_zero(s, td.time_us);
    zero.zero0_n = s->zero.force_n;
    return edge_touchdown(t, &zero, ev->sure_first, on_n);
}

/* The toe-off before, now that the zero after it is known too. */
static void
time_toe_off_again(const struct signal *s, struct footfall *before)
{
    const struct trace *t = &s->channel[0].trace;
    before->zero.zero1_n = s->zero.force_n;
    before->zero.time1_us = before->toe_off_us;
    if (before->is_off_parted)
        return;
    struct edge off = before->is_off_close ? edge_nearest(t, &before->zero, before->sure_last, before->on_n, +1)
                                           : edge_toe_off(t, &before->zero, before->sure_last, before->on_n);
    if (!isnan(off.time_us))
        before->toe_off_us = off.time_us;
}

/* Whether a contact that touches down then is the neighbour of one that has ended. */
static bool
is_neighbour(const struct footfall *before, double touchdown_us)
{
    double after_us = before->is_off_parted ? before->touchdown_us : before->toe_off_us;
    return touchdown_us > after_us && touchdown_us - before->toe_off_us < SEQUENCE_MAX_FLIGHT_US;
}

/* What is known of a contact when it begins. */
struct beginning {
    double touchdown_us, gap_us, on_n;
    int channel;
    uint64_t sure_first;
    bool is_parted;
};

/* A contact begins; what its beginning completes and settles. */
static enum sequence_change
land(struct sequence *q, struct signal *s, struct measure *m, const struct beginning *b)
{
    struct footfall_row *r = &q->row;
    enum sequence_change change = SEQUENCE_AS_BEFORE;
    struct footfall *before = footfall_newest(r);
    bool is_ended = before != NULL && r->is_run_open && !isnan(before->toe_off_us);
    bool is_linked = is_ended && is_neighbour(before, b->touchdown_us);
    if (!is_linked)
        change = sequence_close(q, s, m);
    struct footfall *c = footfall_begin(r);
    c->touchdown_us = b->touchdown_us;
    c->touchdown_gap_us = b->gap_us;
    c->on_n = b->on_n;
    c->channel = b->channel;
    c->sure_first = b->sure_first;
    c->is_down_parted = b->is_parted;
    c->zero = (struct trace_zero) { .time0_us = c->touchdown_us, .zero0_n = s->zero.force_n, .zero1_n = s->zero.force_n };
    if (!is_linked) {
        start_side_count(q, c, before);
        r->is_run_open = true;
        r->run_first = r->next_settle = r->next_live = c->serial;
        return change;
    }
    link_contact(q, c, before);
    complete(q, s, m, c->serial - 1);
    if (is_running_known(q, s->scale.is_new, c->serial)) {
        change = SEQUENCE_RUN_KNOWN;
        give_live_until(q, c->serial);
    }
    if (c->serial >= r->run_first + SEQUENCE_SETTLE_STEPS)
        settle_until(q, m, s->sampling.period_us, c->serial - SEQUENCE_SETTLE_STEPS + 1, c->serial);
    return change;
}

enum sequence_change
sequence_down(struct sequence *q, struct signal *s, struct measure *m, int channel, const struct contact_event *ev)
{
    struct footfall_row *r = &q->row;
    double on_n = s->channel[channel].detector.config.on_n;
    struct edge td = time_touchdown(s, channel, ev, on_n);
    if (isnan(td.time_us))
        return SEQUENCE_AS_BEFORE;
    struct footfall *before = footfall_newest(r);
    if (before != NULL && r->is_run_open && !isnan(before->toe_off_us) && measure_sees_force(m))
        time_toe_off_again(s, before);
    return land(q, s, m, &(struct beginning) { td.time_us, td.spacing_us, on_n, channel, ev->sure_first, false });
}

enum sequence_change
sequence_dip(struct sequence *q, struct signal *s, struct measure *m, const struct contact_event *ev)
{
    struct signal_channel *h = &s->channel[0];
    struct trace_zero zero = { .zero0_n = s->zero.force_n };
    double on_n = h->detector.config.on_n;
    struct parting p = { false, NAN, NAN };
    if (measure_sees_force(m)) /* switches see each foot by itself */
        p = parting_find(&h->trace, &zero, ev->low_us, ev->peak_n, on_n);
    if (!p.is_found)
        return SEQUENCE_AS_BEFORE;
    struct footfall *c = footfall_newest(&q->row);
    if (c != NULL && q->row.is_run_open && isnan(c->toe_off_us)) {
        c->sure_last = trace_find(&h->trace, ev->low_us);
        c->toe_off_us = p.toe_off_us;
        c->toe_off_gap_us = s->sampling.period_us;
        c->is_off_parted = true;
        c->zero.zero1_n = s->zero.force_n;
        c->zero.time1_us = p.toe_off_us;
    }
    h->last_up_us = p.toe_off_us;
    uint64_t sure = trace_find(&h->trace, fmax(ev->low_us, p.touchdown_us));
    contact_part(&h->detector, p.touchdown_us, sure);
    prints_part(&m->prints);
    return land(q, s, m, &(struct beginning) { p.touchdown_us, s->sampling.period_us, on_n, 0, sure, true });
}

/* The contact that a channel's event is about; NULL when none is remembered. */
static struct footfall *
newest_of(struct footfall_row *r, int channel)
{
    for (uint64_t n = r->n_begun; n-- > 0 && r->n_begun - n <= LOOK_BACK;)
        if (footfall_at(r, n)->channel == channel)
            return footfall_at(r, n);
    return NULL;
}

enum sequence_change
sequence_up(struct sequence *q, struct signal *s, struct measure *m, int channel, const struct contact_event *ev)
{
    struct signal_channel *h = &s->channel[channel];
    struct footfall *c = newest_of(&q->row, channel);
    struct trace_zero zero = { .zero0_n = s->zero.force_n };
    double on_n = c != NULL ? c->on_n : h->detector.config.on_n;
    struct edge off = ev->is_close ? edge_nearest(&h->trace, &zero, ev->sure_last, on_n, +1)
                                   : edge_toe_off(&h->trace, &zero, ev->sure_last, on_n);
    h->last_up_us = isnan(off.time_us) ? s->sampling.now_us : off.time_us;
    if (ev->is_cut || ev->was_too_long || c == NULL || !isnan(c->toe_off_us)) {
        if (ev->was_too_long)
            q->n_long++;
        return SEQUENCE_AS_BEFORE;
    }
    c->sure_last = ev->sure_last;
    c->is_off_close = ev->is_close;
    c->toe_off_us = off.time_us;
    c->toe_off_gap_us = off.spacing_us;
    c->zone_lag_us = h->zones.fore_us - h->zones.heel_us;
    if (c->toe_off_us - c->touchdown_us > h->detector.config.max_contact_us) { /* chatter hid how long it was */
        q->n_long++;
        c->toe_off_us = NAN;
    }
    if (ev->is_bridged) {
        c->flags |= STEP_FLAG_BRIDGED;
        q->n_bridged++;
    }
    return isnan(c->toe_off_us) ? sequence_close(q, s, m) : SEQUENCE_AS_BEFORE;
}

enum sequence_change
sequence_too_long(struct sequence *q, struct signal *s, struct measure *m, int channel)
{
    struct footfall *c = footfall_newest(&q->row);
    if (!q->row.is_run_open || c == NULL || c->channel != channel || !isnan(c->toe_off_us))
        return SEQUENCE_AS_BEFORE;
    if (c->is_linked) { /* the stride before ends in something that is no running step */
        struct footfall *before = footfall_at(&q->row, c->serial - 1);
        before->step.flags |= STEP_FLAG_UNSTEADY;
        before->vertical.drop_mm = before->vertical.low_us = NAN;
    }
    return sequence_close(q, s, m);
}
