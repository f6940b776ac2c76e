/* contact.h - finds touchdowns and toe-offs in the load on the whole sensor.
 *
 * In:  time, load above the sensor's zero, in order.   Out: events that name samples by index.
 * How: a touchdown is an upward crossing of on_n that goes on to rise to sure_n and lasts min_contact_us.
 *      A toe-off is a downward crossing of on_n after which the load stays below for hold_us.
 *      It names samples that are surely in the contact; gait/edge.c times the edges from there outwards.
 *
 *      case 1   ___/~~~~\___        one contact
 *      case 2   _|_/~~~~\___        a lone spike in flight is no contact            (spike_in_flight)
 *      case 3   __/.|~~~\___        a drop-out on the rising edge is bridged        (dropout_on_rising_edge)
 *      case 4   __/~~.~~\___        a drop-out in mid-contact, from a high load     (dropout_in_contact)
 *      case 5   __/~~~~\_|__        chatter after toe-off is no contact             (chatter_after_toe_off)
 *      case 6   __/\________        a tap shorter than min_contact_us is no contact (tap_is_no_contact)
 *               but a load that rises to sure_n again is the next foot, however soon     (a_short_flight_parts)
 *      case 7   ~~~~\___            a contact that was there at the start has no touchdown: is_cut
 *      case 8   __/~~~~~~~~~~~~     longer than max_contact_us: CONTACT_TOO_LONG once; someone stands or walks
 *      case 9   __/~~\_/~~\__       a dip that a running foot alone does not make: CONTACT_DIP, once a dip. Whether it was
 *                                   two contacts the caller finds (parting.h) and tells by contact_part(); else it
 *                                   stays one                                          (a_dip_is_told_once)
 *
 * Delay: a dip is told PARTING_AFTER_US after its lowest load. A touchdown is told min_contact_us after it happened, a toe-off hold_us (drop_hold_us when the
 *      load vanished from a height no foot can leave from). The edges themselves are not delayed.
 * Memory: the struct.  Threads: one at a time.  Errors: none.
 */
#ifndef GAIT_CONTACT_H
#define GAIT_CONTACT_H

#include <stdbool.h>
#include <stdint.h>

struct contact_config {
    double on_n;            /* the threshold: edges are timed here */
    double sure_n;          /* a load that no spike reaches and every step does */
    double sample_us;       /* nominal period */
    double bridge_us;       /* below on_n for less than this on an edge: the same edge */
    double hold_us;         /* below on_n for this long: toe-off is sure */
    double drop_hold_us;    /* the same when the load vanished at once from a height */
    double drop_share;      /* of the contact's peak: the height */
    double min_contact_us;
    double max_contact_us;
    double dip_after_us;    /* a dip is told this long after its lowest load */
    double dip_share;       /* of the contact's peak: a load below it is a dip, */
    double dip_age_us;      /* if the contact has lasted this long */
};

/* Defaults: bridge 5 ms or 2.5 samples, hold 20 ms, drop-out 60 ms from above half of the peak,
 * contacts 40 to 600 ms; a dip to 0.45 of the peak after 150 ms, told PARTING_AFTER_US after it.
 * (Running contacts of people lie between about 80 and 400 ms: facts E.) */
struct contact_config contact_config_default(double on_n, double sample_us);

enum contact_event_kind {
    CONTACT_NOTHING = 0,
    CONTACT_DOWN,     /* a touchdown is sure */
    CONTACT_UP,       /* a toe-off is sure */
    CONTACT_TOO_LONG, /* the contact is no running contact */
    CONTACT_TAP,      /* something touched, too short for a step */
    CONTACT_DIP,      /* the load sank deep and rose again: perhaps two contacts */
};

struct contact_event {
    enum contact_event_kind kind;
    uint64_t sure_first, sure_last; /* first and last sample of the contact at or above sure_n */
    bool is_cut;      /* CONTACT_UP: began before the data did */
    bool is_bridged;  /* CONTACT_UP: a drop-out inside was bridged */
    bool was_too_long;
    bool is_close;    /* CONTACT_UP: the next foot is there already; CONTACT_DOWN: the other left just before */
    double low_us, peak_n; /* CONTACT_DIP: when the load was lowest; the highest before */
};

enum contact_state {
    CONTACT_IS_UP = 0,
    CONTACT_IS_RISING,       /* above on_n, not yet sure */
    CONTACT_IS_RISING_DROPPED,
    CONTACT_IS_DOWN,
    CONTACT_IS_FALLING,      /* below on_n, not yet sure */
};

struct contact_detector {
    struct contact_config config;
    enum contact_state state;
    bool has_sample, is_cut, is_bridged, is_announced, is_too_long, reached_sure;
    double previous_us;
    double on_us;      /* first sample above on_n */
    double off_us;     /* first sample below on_n of the present fall */
    double rise_us;    /* first sample above on_n after it; NAN none */
    double dropped_us; /* last sample above on_n before a drop-out on the rising edge */
    uint64_t sure_first, sure_last;
    double peak_n, before_off_n;
    double low_n, low_us, low_peak_n; /* lowest load since dip_age_us; the peak before it */
    double risen_n;                   /* highest load since then */
    bool is_dip_told, is_drop_out, is_close;
};

void contact_init(struct contact_detector *d, const struct contact_config *c);

/* Forgets the present contact (after a gap or a reset); what follows may start inside a contact. */
void contact_reset(struct contact_detector *d);

/* Changes the thresholds between contacts or within one; edges already found stay. */
void contact_set_threshold(struct contact_detector *d, double on_n);

/* Feeds one sample; returns at most one event. load_n is force less the present zero. */
struct contact_event contact_feed(struct contact_detector *d, uint64_t index, double time_us, double load_n);

/* What was told as a dip was two contacts; the second began at touchdown_us and is known by its CONTACT_DOWN already.
 * sure_first: a sample that is surely in it. */
void contact_part(struct contact_detector *d, double touchdown_us, uint64_t sure_first);

/* End of data: a fall that has begun counts as a toe-off, a rise to a sure load as a touchdown. */
struct contact_event contact_finish(struct contact_detector *d);

bool contact_is_down(const struct contact_detector *d);

#endif
