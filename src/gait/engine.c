#include "gait/engine.h"

#include "gait/sequence.h"

#include <math.h>
#include <string.h>

/* A contact is confirmed far above the threshold, so noise moves it only when it is louder than most decks. */
#define NOISE_FACTOR 2.0
#define ZERO_EVERY_US 500000.0
#define FLOOR_WINDOW_US 2000000.0
#define OFF_AFTER_US 1500000.0
#define STANDING_AFTER_US 1500000.0
/* Swing of the load, as a share of its mean, that tells a walk from standing. */
#define WALK_SWING 0.12
#define PERIOD_SPAN 64

struct engine_config
engine_config_default(enum frame_kind kind)
{
    return (struct engine_config) {
        .kind = kind,
        .rate_hz = NAN,
        .body_mass_kg = NAN,
        .body_weight_n = NAN,
        .belt_speed_m_s = NAN,
        .foot_length_mm = NAN,
        .leg_length_mm = NAN,
        .threshold_n = NAN,
    };
}

static double
threshold_n(const struct engine *e)
{
    if (e->config.kind == FRAME_KIND_SWITCHES)
        return 0.5;
    if (e->is_relative)
        return scale_threshold_n(&e->scale);
    if (!isnan(e->config.threshold_n))
        return e->config.threshold_n;
    double noise_n = isnan(e->noise_n) ? 0 : NOISE_FACTOR * e->noise_n;
    return fmin(2 * ENGINE_THRESHOLD_N, fmax(ENGINE_THRESHOLD_N, noise_n));
}

/* (Re)sets what depends on rate and threshold; contacts under way go on. */
static void
configure_detectors(struct engine *e)
{
    for (int i = 0; i < e->n_channels; i++) {
        struct contact_config c = contact_config_default(threshold_n(e), e->period_us);
        if (e->config.kind == FRAME_KIND_SWITCHES)
            c.sure_n = c.on_n;
        e->detector[i].config = c;
    }
}

void
engine_init(struct engine *e, const struct engine_config *c)
{
    memset(e, 0, sizeof *e);
    e->config = *c;
    e->n_channels = c->kind == FRAME_KIND_SWITCHES ? 2 : 1;
    e->period_us = isnan(c->rate_hz) ? 1000 : 1e6 / c->rate_hz;
    stats_init(&e->periods, PERIOD_SPAN);
    stats_init(&e->step_us, 16);
    stats_init(&e->belt, 12);
    scale_init(&e->scale);
    rolling_init(&e->rolling_live);
    rolling_init(&e->rolling_settled);
    footside_init(&e->side);
    e->last_us = e->last_live_us = e->overlap_us = e->standing_since_us = e->zero_checked_us = NAN;
    e->noise_n = e->health.noise_n = NAN;
    for (int i = 0; i < 2; i++) {
        trace_init(&e->trace[i]);
        e->last_up_us[i] = e->zone[i].heel_us = e->zone[i].fore_us = NAN;
        footprint_reset(&e->print[i]);
        struct contact_config k = contact_config_default(ENGINE_THRESHOLD_N, e->period_us);
        contact_init(&e->detector[i], &k);
    }
    configure_detectors(e);
}

/* ------------------------------------------------------------------ time */

static void
learn_period(struct engine *e, double dt_us)
{
    if (!isnan(e->config.rate_hz))
        return;
    stats_feed(&e->periods, dt_us);
    if (e->health.n_frames > 2 * PERIOD_SPAN && e->health.n_frames % 512 != 0)
        return;
    double period_us = stats_median(&e->periods);
    if (fabs(period_us / e->period_us - 1) > 0.01) {
        e->period_us = period_us;
        configure_detectors(e);
    }
}

/* Nothing before a break joins what comes after it; a flight that shows the zero starts after it too. */
static void
break_data(struct engine *e, double now_us)
{
    sequence_close(e);
    for (int i = 0; i < e->n_channels; i++) {
        contact_reset(&e->detector[i]);
        e->last_up_us[i] = now_us;
        e->zone[i].heel_us = e->zone[i].fore_us = NAN;
    }
    footprint_reset(&e->print[0]);
    footprint_reset(&e->print[1]);
}

/* False: the frame can't be used. */
static bool
take_time(struct engine *e, const struct frame *f)
{
    double now_us = (double) f->time.us;
    if (f->flags & FRAME_CLOCK_RESET) {
        break_data(e, now_us);
        for (int i = 0; i < 2; i++)
            trace_init(&e->trace[i]);
        e->last_us = e->last_live_us = e->overlap_us = e->standing_since_us = e->zero_checked_us = NAN;
        e->n_contacts = e->run_first = e->next_live = e->next_settle = 0;
    } else if (!isnan(e->last_us)) {
        double dt_us = now_us - e->last_us;
        if (dt_us <= 0)
            return false;
        if (f->flags & FRAME_GAP_BEFORE || dt_us > 1.6 * e->period_us)
            e->health.n_gaps += e->health.n_frames > PERIOD_SPAN;
        else
            learn_period(e, dt_us);
        if (e->health.n_frames <= 2)
            learn_period(e, dt_us);
        if (dt_us > fmax(ENGINE_LOST_US, 4 * e->period_us))
            break_data(e, now_us);
    }
    e->last_us = now_us;
    return true;
}

/* ------------------------------------------------------------------ force */

static void
handle(struct engine *e, int channel, const struct contact_event *ev)
{
    switch (ev->kind) {
    case CONTACT_DOWN:
        sequence_down(e, channel, ev);
        break;
    case CONTACT_UP:
        sequence_up(e, channel, ev);
        e->print_now = 1 - e->print_now;
        footprint_reset(&e->print[e->print_now]);
        footprint_idle_reset(&e->idle);
        break;
    case CONTACT_TOO_LONG:
        sequence_too_long(e, channel);
        break;
    case CONTACT_TAP:
        e->health.n_taps++;
        break;
    case CONTACT_NOTHING:
        break;
    }
}

/* A zero found late: the contacts since from_us were not seen as such, so the detector sees their samples again. A
 * contact under way at the start has no touchdown, and what comes before its end shows no zero. */
static void
see_again(struct engine *e, double from_us)
{
    struct trace *t = &e->trace[0];
    double now_us = e->last_us;
    uint64_t i = trace_find(t, from_us);
    contact_reset(&e->detector[0]);
    e->last_up_us[0] = i < t->n_fed ? trace_at(t, i)->time_us : now_us;
    for (; i < t->n_fed; i++) {
        const struct trace_sample *s = trace_at(t, i);
        e->last_us = s->time_us;
        struct contact_event ev = contact_feed(&e->detector[0], i, s->time_us, s->force_n - e->zero_n);
        handle(e, 0, &ev);
    }
    e->last_us = now_us;
    /* The images are gone: the contact under way has no print. */
    footprint_reset(&e->print[0]);
    footprint_reset(&e->print[1]);
    e->print[e->print_now].is_too_long = e->detector[0].state != CONTACT_IS_UP;
    e->print[1 - e->print_now].is_too_long = true;
}

/* The zero where no flight shows it: nobody on for a while, or an offset so large that nothing ever falls below
 * the threshold. */
static void
check_zero(struct engine *e)
{
    if (isnan(e->zero_checked_us))
        e->zero_checked_us = e->last_us;
    if (e->last_us - e->zero_checked_us < ZERO_EVERY_US)
        return;
    e->zero_checked_us = e->last_us;
    const struct contact_detector *d = &e->detector[0];
    if (d->state == CONTACT_IS_UP && !e->is_run_open && !(e->last_us - e->last_up_us[0] < 2 * ZERO_EVERY_US)) {
        struct condition_floor f = condition_flight_zero(&e->trace[0], e->last_us - ZERO_EVERY_US, e->last_us, e->scratch);
        if (f.spread_n < d->config.on_n / 3 && fabs(f.zero_n - e->zero_n) < d->config.on_n) {
            e->zero_n = f.zero_n;
            e->noise_n = f.spread_n;
        }
    } else if (d->state != CONTACT_IS_UP && e->last_us - d->on_us > FLOOR_WINDOW_US) {
        struct condition_floor f = condition_find_floor(&e->trace[0], e->last_us - FLOOR_WINDOW_US, e->last_us, e->scratch);
        if (fabs(f.zero_n - e->zero_n) > 0.3 * d->config.on_n) {
            e->zero_n = f.zero_n;
            e->noise_n = NAN; /* the floor's edges are in its spread; the first flight tells better */
            see_again(e, e->last_us - FLOOR_WINDOW_US - ZERO_EVERY_US);
        }
    }
}

/* Nothing of the present run was given out yet: its contacts are found again with the threshold as it is now. */
static void
find_run_again(struct engine *e)
{
    e->is_scale_new = false;
    sequence_discard(e);
    contact_set_threshold(&e->detector[0], threshold_n(e));
    see_again(e, e->last_us - FLOOR_WINDOW_US - ZERO_EVERY_US);
}

/* True when the last seconds were seen again with a new threshold. */
static bool
find_scale(struct engine *e, double load_n)
{
    switch (scale_feed(&e->scale, &e->trace[0], e->last_us, e->period_us, load_n, e->scratch)) {
    case SCALE_AS_BEFORE:
        return false;
    case SCALE_WAS_WRONG:
        sequence_discard(e);
        contact_reset(&e->detector[0]);
        return false;
    case SCALE_SEE_AGAIN:
        break;
    }
    find_run_again(e);
    return true;
}

/* The image's own centre of pressure goes before the whole mat's: a seam that passes elsewhere is not the foot. */
static void
feed_image(struct engine *e, const struct frame *f, bool is_loaded, struct trace_sample *s)
{
    struct footprint *print = &e->print[e->print_now];
    if (e->detector[0].state == CONTACT_IS_UP) {
        if (print->n > 0)
            footprint_reset(print);
        footprint_idle_feed(&e->idle, f);
    }
    if (!is_loaded)
        return;
    if (print->n == 0)
        footprint_set_idle(print, &e->idle);
    struct footprint_frame foot = footprint_feed(print, f);
    if (isnan(foot.cop_fwd_mm))
        return;
    s->cop_fwd_mm = foot.cop_fwd_mm;
    s->cop_right_mm = foot.cop_right_mm;
    s->flags &= ~(uint32_t) FRAME_AT_EDGE;
    s->flags |= foot.is_at_border ? FRAME_AT_EDGE : 0;
}

static void
feed_force(struct engine *e, const struct frame *f)
{
    struct trace_sample s = {
        .time_us = (double) f->time.us,
        .force_n = f->force_n,
        .cop_fwd_mm = f->cop_fwd_mm,
        .cop_right_mm = f->cop_right_mm,
        .moment_fwd_n_mm = f->has_moment ? f->moment_fwd_n_mm : (double) NAN,
        .moment_right_n_mm = f->has_moment ? f->moment_right_n_mm : (double) NAN,
        .flags = f->flags,
    };
    double load_n = f->force_n - e->zero_n;
    if (f->has_moment && !isnan(f->cop_fwd_mm) && load_n > 0) {
        s.cop_fwd_mm = (f->moment_fwd_n_mm - e->zero_moment_fwd_n_mm) / load_n;
        s.cop_right_mm = (f->moment_right_n_mm - e->zero_moment_right_n_mm) / load_n;
    }
    e->is_relative = f->flags & FRAME_RELATIVE;
    double on_n = threshold_n(e);
    if (!isnan(on_n) && (e->detector[0].state == CONTACT_IS_UP || e->is_relative))
        contact_set_threshold(&e->detector[0], on_n);
    if (f->image != NULL)
        feed_image(e, f, load_n >= 0.5 * on_n, &s);
    uint64_t index = trace_feed(&e->trace[0], &s);
    if (e->is_relative && find_scale(e, load_n))
        return; /* the sample was seen with the others */
    if (isnan(on_n))
        return;
    struct contact_event ev = contact_feed(&e->detector[0], index, s.time_us, load_n);
    handle(e, 0, &ev);
    if (e->is_scale_new)
        find_run_again(e);
    check_zero(e);
}

/* ------------------------------------------------------------------ switches */

static void
watch_zone(struct zone_watch *w, enum frame_zone zone, double edge_us)
{
    double *first = zone == FRAME_ZONE_HEEL ? &w->heel_us : &w->fore_us;
    if (isnan(*first))
        *first = edge_us;
}

static void
feed_switches(struct engine *e, const struct frame *f, double before_us)
{
    /* A switch that is down now and was not in the frame before closed halfway between them. */
    double edge_us = isnan(before_us) ? (double) f->time.us : 0.5 * (before_us + (double) f->time.us);
    for (int channel = 0; channel < 2; channel++) {
        bool is_down = false;
        if (e->detector[channel].state == CONTACT_IS_UP)
            e->zone[channel].heel_us = e->zone[channel].fore_us = NAN;
        for (int z = 0; z < f->switches->n_zones; z++)
            if (f->switches->is_right[z] == (channel == 1) && f->switches->is_down[z]) {
                is_down = true;
                watch_zone(&e->zone[channel], f->switches->zone[z], edge_us);
            }
        struct trace_sample s = { (double) f->time.us, is_down ? 1 : 0, NAN, NAN, NAN, NAN, f->flags };
        uint64_t index = trace_feed(&e->trace[channel], &s);
        struct contact_event ev = contact_feed(&e->detector[channel], index, s.time_us, s.force_n);
        handle(e, channel, &ev);
    }
    /* Both down and then one up is half a walk's step; both down alone may be somebody stepping on. */
    bool both_down = contact_is_down(&e->detector[0]) && contact_is_down(&e->detector[1]);
    if (both_down == !isnan(e->standing_since_us))
        return;
    if (!both_down)
        e->overlap_us = (double) f->time.us;
    e->standing_since_us = both_down ? (double) f->time.us : (double) NAN;
}

/* ------------------------------------------------------------------ gait state */

/* Whether the load of the last while swings as a walk does. */
static bool
load_swings(const struct engine *e)
{
    double low_n = INFINITY, high_n = -INFINITY, sum = 0;
    int n = 0;
    const struct trace *t = &e->trace[0];
    for (uint64_t i = trace_find(t, e->last_us - STANDING_AFTER_US); i < t->n_fed; i++) {
        double force_n = trace_at(t, i)->force_n - e->zero_n;
        low_n = fmin(low_n, force_n);
        high_n = fmax(high_n, force_n);
        sum += force_n;
        n++;
    }
    return n > 0 && high_n - low_n > 2 * WALK_SWING * sum / n;
}

static void
update_gait(struct engine *e)
{
    bool is_down = false;
    double up_us = -INFINITY;
    for (int i = 0; i < e->n_channels; i++) {
        is_down = is_down || e->detector[i].state != CONTACT_IS_UP;
        if (!isnan(e->last_up_us[i]))
            up_us = fmax(up_us, e->last_up_us[i]);
    }
    if (e->is_run_open && e->gait == STEP_GAIT_RUNNING)
        return;
    if (!is_down) {
        if (e->last_us - up_us > OFF_AFTER_US)
            e->gait = STEP_GAIT_OFF;
        return;
    }
    if (e->n_channels == 2) {
        if (e->last_us - e->standing_since_us > STANDING_AFTER_US)
            e->gait = STEP_GAIT_STANDING;
        else if (e->last_us - e->overlap_us < STANDING_AFTER_US)
            e->gait = STEP_GAIT_WALKING;
        return;
    }
    /* One load: it must have been on for the whole window before its swing says anything; look now and then. */
    if (e->last_us - e->detector[0].on_us > STANDING_AFTER_US && e->zero_checked_us == e->last_us)
        e->gait = load_swings(e) ? STEP_GAIT_WALKING : STEP_GAIT_STANDING;
}

/* ------------------------------------------------------------------ the object */

void
engine_feed(struct engine *e, const struct frame *f)
{
    double before_us = e->last_us;
    bool is_bad = f->kind == FRAME_KIND_SWITCHES ? f->switches == NULL : !isfinite(f->force_n);
    if (is_bad || (f->kind == FRAME_KIND_SWITCHES) != (e->n_channels == 2) || !take_time(e, f)) {
        e->health.n_rejected++;
        return;
    }
    e->health.n_frames++;
    e->arrived = f->arrived;
    if (e->n_channels == 2)
        feed_switches(e, f, before_us);
    else
        feed_force(e, f);
    if (e->is_run_open) { /* nothing follows: the run is over */
        const struct engine_contact *c = &e->contact[(e->n_contacts - 1) % ENGINE_CONTACTS];
        bool is_touching = e->detector[0].state != CONTACT_IS_UP || (e->n_channels == 2 && e->detector[1].state != CONTACT_IS_UP);
        if (e->last_us - c->toe_off_us > ENGINE_MAX_FLIGHT_US + (is_touching ? e->detector[0].config.min_contact_us : 0))
            sequence_close(e);
    }
    update_gait(e);
}

bool
engine_take(struct engine *e, struct step *out)
{
    if (e->queue_tail == e->queue_head)
        return false;
    *out = e->queue[e->queue_tail++ % ENGINE_QUEUE];
    return true;
}

void
engine_finish(struct engine *e)
{
    for (int i = 0; i < e->n_channels; i++) {
        struct contact_event ev = contact_finish(&e->detector[i]);
        handle(e, i, &ev);
    }
    sequence_close(e);
}

enum step_gait
engine_gait(const struct engine *e)
{
    return e->gait;
}

void
engine_set_belt_speed(struct engine *e, double m_s)
{
    e->config.belt_speed_m_s = m_s;
}

double
engine_belt_speed_m_s(const struct engine *e)
{
    return isnan(e->config.belt_speed_m_s) ? stats_median(&e->belt) : e->config.belt_speed_m_s;
}

double
engine_momentum_weight_n(const struct engine *e)
{
    return mass_centre_weight_n(&e->weight_sum);
}

double
engine_body_weight_n(const struct engine *e, enum engine_weight_source *from)
{
    double momentum_n = engine_momentum_weight_n(e);
    *from = ENGINE_WEIGHT_GIVEN;
    if (!isnan(e->config.body_weight_n))
        return e->config.body_weight_n;
    *from = ENGINE_WEIGHT_MASS;
    if (!isnan(e->config.body_mass_kg) && !e->is_relative)
        return e->config.body_mass_kg * UNITS_GRAVITY_M_S2;
    *from = isnan(momentum_n) ? ENGINE_WEIGHT_UNKNOWN : ENGINE_WEIGHT_MOMENTUM;
    return momentum_n;
}

struct engine_health
engine_health(const struct engine *e)
{
    struct engine_health h = e->health;
    h.zero_n = e->zero_n;
    h.noise_n = e->noise_n;
    return h;
}
