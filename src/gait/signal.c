#include "gait/signal.h"

#include <math.h>
#include <string.h>

/* Noise that the threshold stands above, in standard deviations. A contact is confirmed far above the threshold, so
 * noise moves it only when it is louder than most decks. common practice, no source */
#define NOISE_FACTOR 2.0
/* The threshold follows noise only so far: the higher it is, the shorter every contact reads. common practice, no source */
#define THRESHOLD_MOST_FACTOR 2.0
/* Between 0 (open) and 1 (closed). */
#define SWITCH_ON 0.5
/* How often the zero is looked for where no flight shows it, and how much of the past is looked at.
 * common practice, no source */
#define ZERO_EVERY_US 500000.0
/* Nobody has been on for so many looks: then the last one's window holds no contact. */
#define EMPTY_LOOKS 2
/* A window for the floor of a run: two strides of the slowest runner. It and one look are SIGNAL_AGAIN_US. */
#define FLOOR_WINDOW_US 2000000.0

void
signal_init(struct signal *s, const struct engine_config *c)
{
    memset(s, 0, sizeof *s);
    s->kind = c->kind;
    s->n_channels = c->kind == FRAME_KIND_SWITCHES ? 2 : 1;
    s->threshold_n = c->threshold_n;
    s->zero_checked_us = NAN;
    sampling_init(&s->sampling, c->rate_hz);
    zero_init(&s->zero);
    scale_init(&s->scale);
    for (int i = 0; i < 2; i++) {
        struct signal_channel *h = &s->channel[i];
        struct contact_config k = contact_config_default(ENGINE_THRESHOLD_N, s->sampling.period_us);
        trace_init(&h->trace);
        contact_init(&h->detector, &k);
        h->last_up_us = h->zones.heel_us = h->zones.fore_us = NAN;
    }
    signal_configure(s);
}

double
signal_threshold_n(const struct signal *s)
{
    if (s->kind == FRAME_KIND_SWITCHES)
        return SWITCH_ON;
    if (s->is_relative)
        return scale_threshold_n(&s->scale);
    if (!isnan(s->threshold_n))
        return s->threshold_n;
    double noise_n = isnan(s->zero.noise_n) ? 0 : NOISE_FACTOR * s->zero.noise_n;
    return fmin(THRESHOLD_MOST_FACTOR * ENGINE_THRESHOLD_N, fmax(ENGINE_THRESHOLD_N, noise_n));
}

void
signal_configure(struct signal *s)
{
    for (int i = 0; i < s->n_channels; i++) {
        struct contact_config c = contact_config_default(signal_threshold_n(s), s->sampling.period_us);
        if (s->kind == FRAME_KIND_SWITCHES)
            c.sure_n = c.on_n;
        s->channel[i].detector.config = c;
    }
}

void
signal_break(struct signal *s)
{
    for (int i = 0; i < s->n_channels; i++) {
        struct signal_channel *h = &s->channel[i];
        contact_reset(&h->detector);
        h->last_up_us = s->sampling.now_us;
        h->zones.heel_us = h->zones.fore_us = NAN;
    }
}

void
signal_reset(struct signal *s)
{
    for (int i = 0; i < 2; i++)
        trace_init(&s->channel[i].trace);
    s->zero_checked_us = NAN;
}

struct trace_sample
signal_sample(const struct signal *s, const struct frame *f)
{
    struct trace_sample out = {
        .time_us = (double) f->time.us,
        .force_n = f->force_n,
        .cop_fwd_mm = f->cop_fwd_mm,
        .cop_right_mm = f->cop_right_mm,
        .moment_fwd_n_mm = f->has_moment ? f->moment_fwd_n_mm : (double) NAN,
        .moment_right_n_mm = f->has_moment ? f->moment_right_n_mm : (double) NAN,
        .flags = f->flags,
    };
    double load_n = f->force_n - s->zero.force_n;
    if (f->has_moment && !isnan(f->cop_fwd_mm) && load_n > 0) {
        out.cop_fwd_mm = (f->moment_fwd_n_mm - s->zero.moment_fwd_n_mm) / load_n;
        out.cop_right_mm = (f->moment_right_n_mm - s->zero.moment_right_n_mm) / load_n;
    }
    return out;
}

void
signal_follow_threshold(struct signal *s, double on_n)
{
    struct contact_detector *d = &s->channel[0].detector;
    if (!isnan(on_n) && (d->state == CONTACT_IS_UP || s->is_relative))
        contact_set_threshold(d, on_n);
}

struct contact_event
signal_detect(struct signal *s, int channel, uint64_t index)
{
    struct signal_channel *h = &s->channel[channel];
    const struct trace_sample *at = trace_at(&h->trace, index);
    return contact_feed(&h->detector, index, at->time_us, at->force_n - s->zero.force_n); /* a switch's zero stays 0 */
}

static void
watch_zone(struct signal_zones *w, enum frame_zone zone, double edge_us)
{
    double *first = zone == FRAME_ZONE_HEEL ? &w->heel_us : &w->fore_us;
    if (isnan(*first))
        *first = edge_us;
}

struct contact_event
signal_feed_foot(struct signal *s, int channel, const struct frame *f, double before_us)
{
    /* A switch that is down now and was not in the frame before closed halfway between them. */
    double edge_us = isnan(before_us) ? (double) f->time.us : 0.5 * (before_us + (double) f->time.us);
    struct signal_channel *h = &s->channel[channel];
    bool is_down = false;
    if (h->detector.state == CONTACT_IS_UP)
        h->zones.heel_us = h->zones.fore_us = NAN;
    for (int z = 0; z < f->switches->n_zones; z++)
        if (f->switches->is_right[z] == (channel == 1) && f->switches->is_down[z]) {
            is_down = true;
            watch_zone(&h->zones, f->switches->zone[z], edge_us);
        }
    struct trace_sample at = { (double) f->time.us, is_down ? 1 : 0, NAN, NAN, NAN, NAN, f->flags };
    return signal_detect(s, channel, trace_feed(&h->trace, &at));
}

bool
signal_check_zero(struct signal *s, bool is_run_open)
{
    const struct signal_channel *h = &s->channel[0];
    const struct contact_detector *d = &h->detector;
    double now_us = s->sampling.now_us;
    if (isnan(s->zero_checked_us))
        s->zero_checked_us = now_us;
    if (now_us - s->zero_checked_us < ZERO_EVERY_US)
        return false;
    s->zero_checked_us = now_us;
    if (d->state == CONTACT_IS_UP && !is_run_open && !(now_us - h->last_up_us < EMPTY_LOOKS * ZERO_EVERY_US)) {
        zero_learn_empty(&s->zero, &h->trace, now_us - ZERO_EVERY_US, now_us, d->config.on_n, s->scratch);
        return false;
    }
    if (d->state != CONTACT_IS_UP && now_us - d->on_us > FLOOR_WINDOW_US)
        return zero_learn_floor(&s->zero, &h->trace, now_us - FLOOR_WINDOW_US, now_us, d->config.on_n, s->scratch);
    return false;
}

uint64_t
signal_rewind(struct signal *s, double from_us)
{
    struct signal_channel *h = &s->channel[0];
    uint64_t i = trace_find(&h->trace, from_us);
    contact_reset(&h->detector);
    h->last_up_us = i < h->trace.n_fed ? trace_at(&h->trace, i)->time_us : s->sampling.now_us;
    return i;
}

bool
signal_is_touched(const struct signal *s)
{
    bool is_touched = false;
    for (int i = 0; i < s->n_channels; i++)
        is_touched = is_touched || s->channel[i].detector.state != CONTACT_IS_UP;
    return is_touched;
}
