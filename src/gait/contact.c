#include "gait/contact.h"

#include "gait/parting.h"

#include <math.h>
#include <string.h>

/* A load that no spike reaches and every step does, in thresholds: the recorded set's lone spikes of 30 to 80 N stay
 * below 150 N, and every running step passes it within some milliseconds. */
#define SURE_FACTOR 3
/* Drop-outs up to this are bridged on an edge: a sample or two of a plate, and half a period of the belt vibration of 100
 * to 140 Hz that the recorded runs show. */
#define BRIDGE_US 5000.0
/* Toe-off is sure: longer than vibration lifts the load again, shorter than all but the shortest flights (80 ms, sd 25:
 * facts E). common practice, no source */
#define HOLD_US 20000.0
/* At slow rates both are so many samples, so that one lost is bridged. */
#define LEAST_SAMPLES 2.5
/* A load that vanished from above this share of its peak is a cable or a lost packet, no toe-off: a foot leaves from next
 * to nothing. Then it may stay away for longer. common practice, no source */
#define DROP_SHARE 0.5
#define DROP_HOLD_US 60000.0
/* Running contacts of people lie between about 80 and 400 ms (facts E): half of the shortest, half more than the longest. */
#define MIN_CONTACT_US 40000.0
#define MAX_CONTACT_US 600000.0
/* Two running contacts with no flight between them sink to at most 0.41 of body weight, over a quarter of the peak, at a
 * duty factor of 0.55 (half sines: computed); a walk's valley is 0.6 of its peak. common practice, no source */
#define DIP_SHARE 0.45
/* Until then an impact's own dip is over (facts B), and no foot has left again. common practice, no source */
#define DIP_AGE_US 150000.0
/* The load of the next foot, as a share of the last one's peak. common practice, no source */
#define RISEN_SHARE 0.5

struct contact_config
contact_config_default(double on_n, double sample_us)
{
    return (struct contact_config) {
        .on_n = on_n,
        .sure_n = SURE_FACTOR * on_n,
        .sample_us = sample_us,
        .bridge_us = fmax(BRIDGE_US, LEAST_SAMPLES * sample_us),
        .hold_us = fmax(HOLD_US, LEAST_SAMPLES * sample_us),
        .drop_hold_us = DROP_HOLD_US,
        .drop_share = DROP_SHARE,
        .min_contact_us = MIN_CONTACT_US,
        .max_contact_us = MAX_CONTACT_US,
        .dip_after_us = PARTING_AFTER_US,
        .dip_share = DIP_SHARE,
        .dip_age_us = DIP_AGE_US,
    };
}

void
contact_init(struct contact_detector *d, const struct contact_config *c)
{
    memset(d, 0, sizeof *d);
    d->config = *c;
}

void
contact_reset(struct contact_detector *d)
{
    struct contact_config c = d->config;
    contact_init(d, &c);
}

void
contact_set_threshold(struct contact_detector *d, double on_n)
{
    d->config.on_n = on_n;
    d->config.sure_n = SURE_FACTOR * on_n;
}

bool
contact_is_down(const struct contact_detector *d)
{
    return d->state == CONTACT_IS_DOWN || d->state == CONTACT_IS_FALLING;
}

/* Starts a contact whose upward crossing lies before this sample. */
static void
begin(struct contact_detector *d, double time_us, double load_n)
{
    d->state = CONTACT_IS_RISING;
    d->on_us = time_us;
    d->peak_n = load_n;
    d->low_n = INFINITY;
    d->risen_n = 0;
    d->is_dip_told = d->is_drop_out = d->is_close = false;
    d->is_cut = d->is_bridged = d->is_announced = d->is_too_long = d->reached_sure = false;
}

static struct contact_event
event_of(const struct contact_detector *d, enum contact_event_kind kind)
{
    return (struct contact_event) {
        .kind = kind,
        .sure_first = d->sure_first,
        .sure_last = d->sure_last,
        .is_cut = d->is_cut,
        .is_bridged = d->is_bridged,
        .was_too_long = d->is_too_long,
        .is_close = kind == CONTACT_DOWN && d->is_close,
    };
}

/* The load vanished from where no foot leaves. */
static bool
fell_from_height(const struct contact_detector *d)
{
    return d->before_off_n > d->config.drop_share * d->peak_n;
}

/* How long the load must stay away. A load that came and went within bridge_us is a spike, however high:
 * the foot may land soon after it, so it is let go at once (case 2). */
static double
fall_hold_us(const struct contact_detector *d)
{
    const struct contact_config *c = &d->config;
    if (!d->is_cut && d->off_us - d->on_us <= c->bridge_us)
        return c->bridge_us;
    return fell_from_height(d) ? c->drop_hold_us : c->hold_us;
}

/* The toe-off is sure, since the next foot is there: its contact begins with the first sample above on_n since. */
static struct contact_event
rise_again(struct contact_detector *d, uint64_t index, double time_us, double load_n)
{
    if (isnan(d->rise_us))
        d->rise_us = time_us;
    if (load_n < d->config.sure_n || fell_from_height(d))
        return event_of(d, CONTACT_NOTHING);
    bool is_known = d->is_cut || d->is_announced || d->is_too_long;
    struct contact_event up = event_of(d, is_known ? CONTACT_UP : CONTACT_TAP);
    up.is_close = true;
    begin(d, d->rise_us, load_n);
    d->is_close = true;
    d->state = CONTACT_IS_DOWN;
    d->sure_first = d->sure_last = index;
    d->reached_sure = true;
    d->before_off_n = load_n;
    return up;
}

/* Above on_n. */
static struct contact_event
feed_loaded(struct contact_detector *d, uint64_t index, double time_us, double load_n)
{
    const struct contact_config *c = &d->config;
    switch (d->state) {
    case CONTACT_IS_UP:
        begin(d, time_us, load_n);
        break;
    case CONTACT_IS_RISING_DROPPED: /* case 3 */
        d->state = CONTACT_IS_RISING;
        break;
    case CONTACT_IS_FALLING:
        if (time_us - d->off_us > c->bridge_us && !(fell_from_height(d) && load_n >= c->sure_n))
            return rise_again(d, index, time_us, load_n); /* case 5 */
        d->is_bridged = d->is_bridged || load_n >= c->sure_n; /* case 4, or a wobble on the edge */
        d->state = CONTACT_IS_DOWN;
        break;
    case CONTACT_IS_RISING:
    case CONTACT_IS_DOWN:
        break;
    }
    if (load_n > d->peak_n)
        d->peak_n = load_n;
    if (load_n >= c->sure_n) {
        d->sure_first = d->reached_sure ? d->sure_first : index;
        d->sure_last = index;
        d->reached_sure = true;
    }
    if (d->state == CONTACT_IS_RISING && d->reached_sure)
        d->state = CONTACT_IS_DOWN;
    if (d->state != CONTACT_IS_DOWN)
        return event_of(d, CONTACT_NOTHING);
    d->before_off_n = load_n;
    if (!d->is_cut && !d->is_announced && time_us - d->on_us >= c->min_contact_us) {
        d->is_announced = true;
        return event_of(d, CONTACT_DOWN);
    }
    if (!d->is_too_long && time_us - d->on_us > c->max_contact_us) { /* case 8 */
        d->is_too_long = true;
        return event_of(d, CONTACT_TOO_LONG);
    }
    return event_of(d, CONTACT_NOTHING);
}

/* Below on_n. */
static struct contact_event
feed_unloaded(struct contact_detector *d, double time_us)
{
    const struct contact_config *c = &d->config;
    switch (d->state) {
    case CONTACT_IS_UP:
        break;
    case CONTACT_IS_RISING:
        d->state = CONTACT_IS_RISING_DROPPED;
        d->dropped_us = d->previous_us;
        break;
    case CONTACT_IS_RISING_DROPPED:
        if (time_us - d->dropped_us > c->bridge_us) /* case 2 */
            d->state = CONTACT_IS_UP;
        break;
    case CONTACT_IS_DOWN:
        d->off_us = time_us;
        d->rise_us = NAN;
        d->is_drop_out = d->is_drop_out || fell_from_height(d);
        d->state = CONTACT_IS_FALLING;
        break;
    case CONTACT_IS_FALLING:
        d->rise_us = NAN;
        if (time_us - d->off_us < fall_hold_us(d))
            break;
        d->state = CONTACT_IS_UP;
        if (d->is_cut || d->is_announced || d->is_too_long)
            return event_of(d, CONTACT_UP);
        return event_of(d, CONTACT_TAP); /* case 6 */
    }
    return event_of(d, CONTACT_NOTHING);
}

/* Case 9: keeps the lowest load of a contact that has lasted, and says when it has risen from a dip. */
static bool
watch_dip(struct contact_detector *d, double time_us, double load_n)
{
    const struct contact_config *c = &d->config;
    if (!contact_is_down(d) || time_us - d->on_us < c->dip_age_us)
        return false;
    if (load_n < d->low_n) {
        d->low_n = load_n;
        d->low_us = time_us;
        d->low_peak_n = d->peak_n;
        d->risen_n = 0;
        d->is_dip_told = false;
        return false;
    }
    d->risen_n = fmax(d->risen_n, load_n);
    if (d->is_dip_told || d->is_drop_out || time_us - d->low_us < c->dip_after_us)
        return false;
    if (d->low_n > c->dip_share * d->low_peak_n || d->risen_n < RISEN_SHARE * d->low_peak_n)
        return false;
    d->is_dip_told = true;
    return true;
}

void
contact_part(struct contact_detector *d, double touchdown_us, uint64_t sure_first)
{
    double risen_n = d->risen_n;
    begin(d, touchdown_us, risen_n);
    d->state = CONTACT_IS_DOWN;
    d->sure_first = d->sure_last = sure_first;
    d->reached_sure = d->is_announced = true;
    d->before_off_n = risen_n;
}

struct contact_event
contact_feed(struct contact_detector *d, uint64_t index, double time_us, double load_n)
{
    if (!d->has_sample && load_n >= d->config.on_n) { /* case 7 */
        begin(d, time_us, load_n);
        d->is_cut = true;
    }
    d->has_sample = true;
    struct contact_event e = load_n >= d->config.on_n ? feed_loaded(d, index, time_us, load_n)
                                                      : feed_unloaded(d, time_us);
    d->previous_us = time_us;
    if (watch_dip(d, time_us, load_n) && e.kind == CONTACT_NOTHING) {
        e.kind = CONTACT_DIP;
        e.low_us = d->low_us;
        e.peak_n = d->low_peak_n;
    }
    return e;
}

struct contact_event
contact_finish(struct contact_detector *d)
{
    bool is_known = d->is_cut || d->is_announced || d->is_too_long;
    enum contact_event_kind kind = CONTACT_NOTHING;
    if (d->state == CONTACT_IS_FALLING && is_known)
        kind = CONTACT_UP;
    else if (d->state == CONTACT_IS_DOWN && !is_known)
        kind = CONTACT_DOWN;
    if (kind == CONTACT_UP)
        d->state = CONTACT_IS_UP;
    return event_of(d, kind);
}
