#include "gait/sequence.h"

#include "gait/edge.h"
#include "gait/measure.h"

#include <math.h>
#include <string.h>

/* How fast the zero follows the flights' own zeros. */
#define ZERO_GAIN 0.5
/* A stride whose mean force differs by more than this share from body weight is not steady running. */
#define UNSTEADY_SHARE 0.25

/* ------------------------------------------------------------------ small helpers */

static struct engine_contact *
contact_at(struct engine *e, uint64_t n)
{
    return &e->contact[n % ENGINE_CONTACTS];
}

static bool
has_contact(const struct engine *e)
{
    return e->n_contacts > 0;
}

static struct engine_contact *
newest(struct engine *e)
{
    return contact_at(e, e->n_contacts - 1);
}

static void
emit(struct engine *e, const struct step *s)
{
    if (e->queue_head - e->queue_tail == ENGINE_QUEUE) { /* nobody takes: the oldest goes */
        e->queue_tail++;
        e->health.n_overflow++;
    }
    e->queue[e->queue_head++ % ENGINE_QUEUE] = *s;
}

/* ------------------------------------------------------------------ settling */

static void
settle(struct engine *e, uint64_t n, uint64_t end)
{
    struct engine_contact *c = contact_at(e, n);
    if (!c->is_live || c->is_settled)
        return;
    double drift_mm_s;
    double com_mm = measure_mass_centre_fwd_mm(e, n, e->run_first, end, ENGINE_WINDOW_STEPS, &drift_mm_s);
    c->step.flags &= ~(uint32_t) STEP_FLAG_SIDE_GUESS;
    if (e->n_channels == 1) {
        c->step.foot = footside_foot(&e->side, c->rank);
        if (c->step.foot != STEP_FOOT_UNKNOWN && !footside_is_sure(&e->side))
            c->step.flags |= STEP_FLAG_SIDE_GUESS;
    }
    measure_again(e, c);
    measure_place(e, c, com_mm, drift_mm_s);
    rolling_feed(&e->rolling_settled, &c->step);
    c->step.is_settled = true;
    c->is_settled = true;
    emit(e, &c->step);
}

/* Settles contacts of the run up to, not including, limit. end: contacts before it have their sums. */
static void
settle_until(struct engine *e, uint64_t limit, uint64_t end)
{
    for (; e->next_settle < limit; e->next_settle++)
        settle(e, e->next_settle, end);
}

/* ------------------------------------------------------------------ a step is complete */

static void
add_weight(struct engine *e, const struct mass_centre_sum *s)
{
    if (isnan(s->impulse_n_s))
        return;
    if (!e->has_half) {
        e->weight_half = *s;
        e->has_half = true;
        return;
    }
    mass_centre_add(&e->weight_sum, &e->weight_half);
    mass_centre_add(&e->weight_sum, s);
    e->has_half = false;
}

static void
give_live(struct engine *e, struct engine_contact *c)
{
    c->step.number = ++e->n_steps;
    c->is_live = true;
    e->last_live_us = c->touchdown_us;
    rolling_feed(&e->rolling_live, &c->step);
    emit(e, &c->step);
}

/* What the frames under a contact said of themselves, and holes between them. */
static uint32_t
read_flags(const struct trace *t, const struct engine_contact *c, double hole_us)
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
measure_stride(struct engine *e, struct engine_contact *c)
{
    if (!c->is_linked)
        return;
    struct engine_contact *before = contact_at(e, c->serial - 1);
    const struct trace *t = &e->trace[0];
    if ((c->flags | before->flags) & ENGINE_FORCE_LOST)
        return; /* a stride with force missing has no periodic travel */
    c->vertical = mass_centre_vertical(t, &c->zero, before->touchdown_us, c->next_touchdown_us, c->touchdown_us,
                                       c->toe_off_us);
    if (!before->is_linked)
        before->vertical = mass_centre_vertical(t, &c->zero, before->touchdown_us, c->next_touchdown_us,
                                                before->touchdown_us, before->toe_off_us);
}

/* Contact n of the present run is over and what follows is known (a touchdown, or none). */
static void
complete(struct engine *e, uint64_t n)
{
    struct engine_contact *c = contact_at(e, n);
    memset(&c->step, 0, sizeof c->step);
    for (int m = 0; m < METRIC_COUNT; m++)
        c->step.value[m] = NAN;
    c->step.arrived = e->arrived;
    c->step.body_weight_n = NAN;
    c->flags |= read_flags(&e->trace[c->channel], c, 1.6 * e->period_us);
    measure_contact(e, c);
    if (e->is_relative)
        e->is_scale_new |= scale_peak(&e->scale, c->loading.peak_n);
    bool is_last = isnan(c->next_touchdown_us);
    if (!is_last && e->n_channels == 1) {
        c->sum = mass_centre_sum(&e->trace[0], &c->zero, c->touchdown_us, c->next_touchdown_us);
        if (c->flags & ENGINE_FORCE_LOST)
            e->has_half = false;
        else
            add_weight(e, &c->sum);
        measure_stride(e, c);
    }
    if (e->n_channels == 1) {
        footside_feed(&e->side, c->rank, 0.5 * (c->early_right_mm + c->mean_right_mm));
        c->step.foot = footside_foot(&e->side, c->rank);
        if (c->step.foot != STEP_FOOT_UNKNOWN && !footside_is_sure(&e->side))
            c->flags |= STEP_FLAG_SIDE_GUESS;
    } else {
        c->step.foot = c->channel == 0 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT;
    }
    measure_step(e, c);
    double drift_mm_s;
    uint64_t end = is_last ? n : n + 1;
    double com_mm = measure_mass_centre_fwd_mm(e, n, e->run_first, end, 1, &drift_mm_s);
    measure_place(e, c, com_mm, drift_mm_s);
    /* A belt that slows or a body that speeds up shows in the mean force of the stride. */
    double usual_n = engine_momentum_weight_n(e);
    double here_n = mass_centre_weight_n(&c->sum);
    if (!is_last && fabs(here_n / usual_n - 1) > UNSTEADY_SHARE)
        c->step.flags |= STEP_FLAG_UNSTEADY;
}

static bool
is_running_known(const struct engine *e, uint64_t n)
{
    const struct engine_contact *c = &e->contact[n % ENGINE_CONTACTS];
    if (e->is_scale_new)
        return false;
    return n + 1 - e->run_first >= ENGINE_MIN_RUN ||
           c->touchdown_us - e->last_live_us < ENGINE_RESUME_US; /* false while last_live_us is NAN */
}

/* Gives out live records of the run's complete contacts up to, not including, limit. */
static void
give_live_until(struct engine *e, uint64_t limit)
{
    for (; e->next_live < limit; e->next_live++)
        give_live(e, contact_at(e, e->next_live));
}

void
sequence_discard(struct engine *e)
{
    if (!e->is_run_open)
        return;
    e->health.n_stray += e->n_contacts - e->next_live;
    e->is_run_open = false;
    e->next_settle = e->next_live = e->n_contacts;
    e->has_half = false;
    e->weight_sum = (struct mass_centre_sum) { 0 }; /* it rests on them */
    footside_init(&e->side);
    stats_reset(&e->step_us);
}

void
sequence_close(struct engine *e)
{
    if (!e->is_run_open)
        return;
    e->is_run_open = false;
    uint64_t last = e->n_contacts - 1;
    struct engine_contact *c = newest(e);
    bool is_cut_off = isnan(c->toe_off_us); /* the last contact never ended: no record of it */
    uint64_t end = is_cut_off ? last : last + 1;
    if (!is_cut_off && end > e->run_first && is_running_known(e, last))
        complete(e, last);
    if (end > e->run_first && is_running_known(e, is_cut_off ? last : end - 1)) {
        give_live_until(e, end);
        settle_until(e, end, last);
    } else {
        e->health.n_stray += end - e->run_first;
    }
    e->next_settle = e->next_live = e->n_contacts;
    e->has_half = false;
    e->rolling_live.last_step_s = e->rolling_settled.last_step_s = NAN;
    if (e->gait == STEP_GAIT_RUNNING)
        e->gait = STEP_GAIT_UNKNOWN;
}

/* ------------------------------------------------------------------ events */

/* The flight that ends at touchdown_us shows the sensor's zero. */
static void
learn_zero(struct engine *e, double touchdown_us)
{
    double from_us = e->last_up_us[0];
    if (isnan(from_us))
        from_us = e->trace[0].n_fed > 0 ? trace_at(&e->trace[0], trace_oldest(&e->trace[0]))->time_us : touchdown_us;
    struct condition_floor f = condition_flight_zero(&e->trace[0], from_us, touchdown_us, e->scratch);
    if (isnan(f.zero_n))
        return;
    /* The first flights of all bring it there at once. */
    double gain = isnan(e->noise_n) ? 1 : ZERO_GAIN;
    double fwd = condition_flight_moment(&e->trace[0], from_us, touchdown_us, false, e->scratch);
    double right = condition_flight_moment(&e->trace[0], from_us, touchdown_us, true, e->scratch);
    if (!isnan(fwd) && !isnan(right)) {
        e->zero_moment_fwd_n_mm += gain * (fwd - e->zero_moment_fwd_n_mm);
        e->zero_moment_right_n_mm += gain * (right - e->zero_moment_right_n_mm);
    }
    e->zero_n += gain * (f.zero_n - e->zero_n);
    e->noise_n = isnan(e->noise_n) ? f.spread_n : e->noise_n + 0.2 * (f.spread_n - e->noise_n);
}

static void
start_side_count(struct engine *e, struct engine_contact *c, const struct engine_contact *before)
{
    double usual_us = stats_median(&e->step_us);
    double since_us = before != NULL ? c->touchdown_us - before->touchdown_us : (double) NAN;
    double n_passed = since_us / usual_us;
    if (before != NULL && since_us < ENGINE_RESUME_US && n_passed < 4.5 && fabs(n_passed - round(n_passed)) < 0.3) {
        c->rank = before->rank + (int) fmax(1, round(n_passed));
        return;
    }
    footside_init(&e->side);
    c->rank = 0;
}

static void
link_contact(struct engine *e, struct engine_contact *c, struct engine_contact *before)
{
    c->is_linked = true;
    c->flight_before_us = c->touchdown_us - before->toe_off_us;
    c->step_before_us = c->touchdown_us - before->touchdown_us;
    before->next_touchdown_us = c->touchdown_us;
    c->rank = before->rank + 1;
    stats_feed(&e->step_us, c->step_before_us);
}

void
sequence_down(struct engine *e, int channel, const struct contact_event *ev)
{
    const struct trace *t = &e->trace[channel];
    double on_n = e->detector[channel].config.on_n;
    struct trace_zero zero = { .zero0_n = e->zero_n };
    if (e->n_channels == 1) {
        struct edge rough = edge_touchdown(t, &zero, ev->sure_first, on_n);
        if (!isnan(rough.time_us))
            learn_zero(e, rough.time_us);
        zero.zero0_n = e->zero_n;
    }
    struct edge td = edge_touchdown(t, &zero, ev->sure_first, on_n);
    if (isnan(td.time_us))
        return;
    struct engine_contact *before = has_contact(e) ? newest(e) : NULL;
    if (before != NULL && e->is_run_open && !isnan(before->toe_off_us) && e->n_channels == 1) {
        before->zero.zero1_n = e->zero_n;
        before->zero.time1_us = before->toe_off_us;
        struct edge off = edge_toe_off(t, &before->zero, before->sure_last, before->on_n);
        if (!isnan(off.time_us))
            before->toe_off_us = off.time_us;
    }
    bool is_linked = before != NULL && e->is_run_open && !isnan(before->toe_off_us) &&
                     td.time_us - before->toe_off_us < ENGINE_MAX_FLIGHT_US && td.time_us > before->toe_off_us;
    if (!is_linked)
        sequence_close(e);
    struct engine_contact *c = contact_at(e, e->n_contacts);
    memset(c, 0, sizeof *c);
    c->serial = e->n_contacts;
    c->touchdown_us = td.time_us;
    c->touchdown_gap_us = td.spacing_us;
    c->toe_off_us = c->next_touchdown_us = c->flight_before_us = c->step_before_us = NAN;
    c->early_right_mm = c->mean_right_mm = c->landing_fwd_mm = c->front_fwd_mm = NAN;
    c->load_fwd_mm = c->com_fwd_mm = NAN;
    c->vertical.drop_mm = c->vertical.low_us = c->zone_lag_us = NAN;
    c->on_n = on_n;
    c->channel = channel;
    c->sure_first = ev->sure_first;
    c->zero = (struct trace_zero) { .time0_us = td.time_us, .zero0_n = zero.zero0_n, .zero1_n = zero.zero0_n };
    if (is_linked)
        link_contact(e, c, before);
    else
        start_side_count(e, c, before);
    e->n_contacts++;
    if (!is_linked) {
        e->is_run_open = true;
        e->run_first = e->next_settle = e->next_live = c->serial;
    } else {
        complete(e, c->serial - 1);
        if (is_running_known(e, c->serial)) {
            e->gait = STEP_GAIT_RUNNING;
            give_live_until(e, c->serial);
        }
        if (c->serial >= e->run_first + ENGINE_SETTLE_STEPS)
            settle_until(e, c->serial - ENGINE_SETTLE_STEPS + 1, c->serial);
    }
}

void
sequence_up(struct engine *e, int channel, const struct contact_event *ev)
{
    e->last_up_us[channel] = e->last_us;
    struct engine_contact *c = NULL;
    for (uint64_t n = e->n_contacts; n-- > 0 && e->n_contacts - n <= 2;)
        if (contact_at(e, n)->channel == channel) {
            c = contact_at(e, n);
            break;
        }
    struct trace_zero zero = { .zero0_n = e->zero_n };
    double on_n = c != NULL ? c->on_n : e->detector[channel].config.on_n;
    struct edge off = edge_toe_off(&e->trace[channel], &zero, ev->sure_last, on_n);
    if (!isnan(off.time_us))
        e->last_up_us[channel] = off.time_us;
    if (ev->is_cut || ev->was_too_long || c == NULL || !isnan(c->toe_off_us)) {
        if (ev->was_too_long)
            e->health.n_long++;
        return;
    }
    c->sure_last = ev->sure_last;
    c->toe_off_us = off.time_us;
    c->toe_off_gap_us = off.spacing_us;
    c->zone_lag_us = e->zone[channel].fore_us - e->zone[channel].heel_us;
    if (c->toe_off_us - c->touchdown_us > e->detector[channel].config.max_contact_us) { /* chatter hid how long it was */
        e->health.n_long++;
        c->toe_off_us = NAN;
    }
    if (ev->is_bridged) {
        c->flags |= STEP_FLAG_BRIDGED;
        e->health.n_bridged++;
    }
    if (isnan(c->toe_off_us))
        sequence_close(e);
}

void
sequence_too_long(struct engine *e, int channel)
{
    if (!e->is_run_open || !has_contact(e) || newest(e)->channel != channel || !isnan(newest(e)->toe_off_us))
        return;
    struct engine_contact *c = newest(e);
    if (c->is_linked) { /* the stride before ends in something that is no running step */
        struct engine_contact *before = contact_at(e, c->serial - 1);
        before->step.flags |= STEP_FLAG_UNSTEADY;
        before->vertical.drop_mm = before->vertical.low_us = NAN;
    }
    sequence_close(e);
}
