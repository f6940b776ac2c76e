#include "gait/contact.h"

#include <criterion/criterion.h>
#include <string.h>

#define ON_N       50.0
#define MAX_EVENTS 16

/* Plays loads at 1000 Hz and keeps the events and when they were told. */
struct rig {
    struct contact_detector d;
    double now_ms;
    uint64_t index;
    int n;
    struct contact_event event[MAX_EVENTS];
    double at_ms[MAX_EVENTS];
};

static struct rig
begin(void)
{
    struct rig r;
    struct contact_config c = contact_config_default(ON_N, 1000);
    memset(&r, 0, sizeof r);
    contact_init(&r.d, &c);
    return r;
}

static void
keep(struct rig *r, struct contact_event e)
{
    if (e.kind == CONTACT_NOTHING)
        return;
    cr_assert_lt(r->n, MAX_EVENTS);
    r->event[r->n] = e;
    r->at_ms[r->n++] = r->now_ms;
}

/* Load goes straight from from_n to to_n, the latter not reached, in ms samples. */
static void
ramp(struct rig *r, double from_n, double to_n, int ms)
{
    for (int i = 0; i < ms; i++, r->now_ms += 1)
        keep(r, contact_feed(&r->d, r->index++, r->now_ms * 1e3, from_n + (to_n - from_n) * i / ms));
}

static void
hold(struct rig *r, double load_n, int ms)
{
    ramp(r, load_n, load_n, ms);
}

static void
expect(const struct rig *r, int i, enum contact_event_kind kind, double at_ms)
{
    cr_assert_lt(i, r->n, "event %d is missing", i);
    cr_assert_eq(r->event[i].kind, kind, "event %d is of kind %d", i, (int) r->event[i].kind);
    cr_assert_float_eq(r->at_ms[i], at_ms, 1e-9, "event %d was told at %g ms", i, r->at_ms[i]);
}

Test(contact, one_contact_gives_one_touchdown_and_one_toe_off)
{
    struct rig r = begin();
    hold(&r, 0, 100);
    ramp(&r, 0, 1500, 20); /* 100..119: above 50 N from 101 on, above 150 N from 102 on */
    hold(&r, 1500, 160);   /* 120..279 */
    ramp(&r, 1500, 0, 20); /* 280..299: last at or above 150 N at 298, last above 50 N at 299 */
    hold(&r, 0, 100);
    cr_assert_eq(r.n, 2);
    expect(&r, 0, CONTACT_DOWN, 101 + 40);
    expect(&r, 1, CONTACT_UP, 300 + 20);
    cr_assert_eq(r.event[0].sure_first, 102);
    cr_assert_eq(r.event[1].sure_first, 102);
    cr_assert_eq(r.event[1].sure_last, 298);
    cr_assert(!r.event[1].is_cut && !r.event[1].is_bridged && !r.event[1].was_too_long);
}

/* Case 2. Whatever its height and wherever it is in the flight, and even if it reaches the sure load. */
Test(contact, spike_in_flight_is_no_contact)
{
    static const double height_n[] = { 80, 400, 2000 };
    static const int before_ms[] = { 100, 50, 30, 15, 8 }; /* the landing */
    for (int h = 0; h < 3; h++) {
        for (int b = 0; b < 5; b++) {
            struct rig r = begin();
            hold(&r, 0, 100);
            hold(&r, height_n[h], 2);
            hold(&r, 0, before_ms[b] - 2);
            double landing_ms = r.now_ms;
            uint64_t landing = r.index;
            hold(&r, 1000, 200);
            hold(&r, 0, 100);
            int n_real = 0;
            for (int i = 0; i < r.n; i++) {
                if (r.event[i].kind == CONTACT_TAP)
                    continue;
                cr_assert_eq(r.event[i].sure_first, landing, "spike of %g N, %d ms before", height_n[h],
                             before_ms[b]);
                n_real++;
                cr_assert_float_eq(r.at_ms[i], landing_ms + (n_real == 1 ? 40 : 200 + 60), 1e-9);
                cr_assert(!r.event[i].is_bridged);
            }
            cr_assert_eq(n_real, 2);
        }
    }
}

/* The edges of bridging, all computed from contact_config_default() at 1000 Hz: 5 ms, toe-off sure after 20 ms, after a
 * fall from a height after 60 ms. */
Test(contact, gap_on_the_rising_edge_as_long_as_the_bridge_is_bridged_and_one_sample_more_is_not)
{
    for (int gap_ms = 5; gap_ms <= 6; gap_ms++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 100, 3); /* 100..102: above the threshold, not sure */
        hold(&r, 0, gap_ms);
        double again_ms = r.now_ms;
        hold(&r, 900, 200);
        hold(&r, 0, 100);
        cr_assert_eq(r.n, 2, "gap of %d ms: %d events", gap_ms, r.n);
        expect(&r, 0, CONTACT_DOWN, (gap_ms == 5 ? 100 : again_ms) + 40);
    }
}

Test(contact, gap_on_the_falling_edge_as_long_as_the_bridge_is_bridged_and_one_sample_more_is_not)
{
    for (int gap_ms = 5; gap_ms <= 6; gap_ms++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 1500, 100);
        hold(&r, 200, 10); /* less than half the peak: from here a foot may leave */
        double off_ms = r.now_ms;
        hold(&r, 0, gap_ms);
        hold(&r, 100, 10); /* above the threshold, not sure */
        hold(&r, 0, 100);
        cr_assert_eq(r.n, 2, "gap of %d ms: %d events", gap_ms, r.n);
        expect(&r, 1, CONTACT_UP, gap_ms == 5 ? off_ms + 5 + 10 + 20 : off_ms + 20);
    }
}

Test(contact, load_as_long_as_the_bridge_is_a_spike_and_one_sample_more_is_a_tap_held_like_any_fall)
{
    for (int load_ms = 5; load_ms <= 6; load_ms++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 400, load_ms);
        hold(&r, 0, 100);
        cr_assert_eq(r.n, 1);
        expect(&r, 0, CONTACT_TAP, load_ms == 5 ? 105 + 5 : 106 + 60);
    }
}

/* Case 3. */
Test(contact, dropout_on_rising_edge_is_bridged)
{
    struct rig r = begin();
    hold(&r, 0, 100);
    hold(&r, 100, 3); /* 100..102: above the threshold, not sure */
    hold(&r, 0, 4);   /* 103..106 */
    hold(&r, 900, 200);
    hold(&r, 0, 100);
    cr_assert_eq(r.n, 2);
    expect(&r, 0, CONTACT_DOWN, 100 + 40); /* counted from before the drop-out */
    cr_assert_eq(r.event[0].sure_first, 107);

    r = begin(); /* 9 ms are no drop-out: the contact starts anew */
    hold(&r, 0, 100);
    hold(&r, 100, 3);
    hold(&r, 0, 9); /* 103..111 */
    hold(&r, 900, 200);
    expect(&r, 0, CONTACT_DOWN, 112 + 40);
}

/* Case 4. */
Test(contact, dropout_in_contact_from_a_height_is_bridged)
{
    static const int dropout_ms[] = { 1, 10, 30, 55 };
    for (int i = 0; i < 4; i++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 1200, 100);
        hold(&r, 0, dropout_ms[i]);
        hold(&r, 1200, 100);
        double off_ms = r.now_ms;
        hold(&r, 0, 100);
        cr_assert_eq(r.n, 2, "drop-out of %d ms: %d events", dropout_ms[i], r.n);
        expect(&r, 0, CONTACT_DOWN, 140);
        expect(&r, 1, CONTACT_UP, off_ms + 60); /* the load vanished from a height again: told late */
        cr_assert(r.event[1].is_bridged);
        cr_assert_eq(r.event[1].sure_last, (uint64_t) off_ms - 1);
    }
}

Test(contact, dropout_longer_than_its_limit_ends_the_contact)
{
    struct rig r = begin();
    hold(&r, 0, 100);
    hold(&r, 1200, 100);
    hold(&r, 0, 70);
    hold(&r, 1200, 100);
    expect(&r, 0, CONTACT_DOWN, 140);
    expect(&r, 1, CONTACT_UP, 260);
    expect(&r, 2, CONTACT_DOWN, 310);
}

/* Case 5. */
Test(contact, chatter_after_toe_off_is_no_contact)
{
    static const double height_n[] = { 70, 140, 400, 1500 };
    for (int i = 0; i < 4; i++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 1200, 150);
        ramp(&r, 1200, 0, 20); /* 250..269 */
        hold(&r, 0, 9);        /* 270..278 */
        hold(&r, height_n[i], 2);
        hold(&r, 0, 200);
        int n_up = 0;
        for (int k = 0; k < r.n; k++) {
            n_up += r.event[k].kind == CONTACT_UP;
            cr_assert(k == 0 || r.event[k].kind != CONTACT_DOWN);
            if (r.event[k].kind == CONTACT_UP)
                cr_assert_eq(r.event[k].sure_last, 267, "chatter of %g N", height_n[i]);
        }
        cr_assert_eq(n_up, 1);
    }
}

/* Case 6. */
Test(contact, tap_is_no_contact)
{
    struct rig r = begin();
    hold(&r, 0, 100);
    hold(&r, 300, 39);
    hold(&r, 0, 100);
    cr_assert_eq(r.n, 1);
    cr_assert_eq(r.event[0].kind, CONTACT_TAP);
    hold(&r, 300, 41);
    hold(&r, 0, 100);
    cr_assert_eq(r.n, 3);
    cr_assert_eq(r.event[1].kind, CONTACT_DOWN);
}

/* Never sure: leaning on the rail, a light touch. */
Test(contact, load_that_never_gets_sure_is_nothing)
{
    struct rig r = begin();
    hold(&r, 0, 100);
    hold(&r, 140, 300);
    cr_assert_eq(r.n, 0);
}

/* Case 7. */
Test(contact, contact_cut_at_the_start_has_no_touchdown)
{
    struct rig r = begin();
    hold(&r, 1200, 100);
    hold(&r, 0, 100);
    cr_assert_eq(r.n, 1);
    cr_assert(r.event[0].kind == CONTACT_UP && r.event[0].is_cut);
    hold(&r, 1200, 100);
    hold(&r, 0, 100);
    cr_assert_eq(r.n, 3);
    cr_assert(r.event[1].kind == CONTACT_DOWN && !r.event[2].is_cut);
}

/* Case 8. */
Test(contact, too_long_is_told_once_and_remembered_at_toe_off)
{
    struct rig r = begin();
    hold(&r, 0, 100);
    hold(&r, 700, 3000);
    hold(&r, 0, 100);
    cr_assert_eq(r.n, 3);
    expect(&r, 0, CONTACT_DOWN, 140);
    expect(&r, 1, CONTACT_TOO_LONG, 701);
    cr_assert_eq(r.event[2].kind, CONTACT_UP);
    cr_assert(r.event[2].was_too_long);
}

Test(contact, finish_ends_a_fall_and_lets_a_rise_count)
{
    struct rig r = begin();
    hold(&r, 0, 100);
    hold(&r, 1200, 100);
    hold(&r, 0, 5);
    keep(&r, contact_finish(&r.d));
    cr_assert_eq(r.n, 2);
    cr_assert_eq(r.event[1].kind, CONTACT_UP);
    cr_assert_eq(contact_finish(&r.d).kind, CONTACT_NOTHING); /* only once */

    r = begin();
    hold(&r, 0, 100);
    hold(&r, 1200, 20);
    keep(&r, contact_finish(&r.d));
    cr_assert_eq(r.n, 1);
    cr_assert_eq(r.event[0].kind, CONTACT_DOWN);

    r = begin();
    hold(&r, 0, 100);
    hold(&r, 1200, 100); /* in mid-contact: nothing to add */
    keep(&r, contact_finish(&r.d));
    cr_assert_eq(r.n, 1);
}

Test(contact, thresholds_change_between_contacts)
{
    struct rig r = begin();
    hold(&r, 0, 100);
    hold(&r, 90, 10); /* a floor that has risen */
    hold(&r, 0, 10);
    contact_set_threshold(&r.d, 100);
    hold(&r, 90, 100);
    hold(&r, 1200, 100);
    hold(&r, 90, 100);
    cr_assert_eq(r.n, 2);
    expect(&r, 0, CONTACT_DOWN, 220 + 40);
    cr_assert_eq(r.event[1].kind, CONTACT_UP);
    contact_set_threshold(&r.d, 50);
    cr_assert_float_eq(r.d.config.sure_n, 150, 1e-12);
}

Test(contact, reset_forgets_the_contact_under_way)
{
    struct rig r = begin();
    hold(&r, 0, 100);
    hold(&r, 1200, 100);
    contact_reset(&r.d);
    cr_assert(!contact_is_down(&r.d));
    hold(&r, 1200, 100);
    cr_assert(contact_is_down(&r.d));
    hold(&r, 0, 100);
    cr_assert_eq(r.n, 2);
    cr_assert(r.event[1].is_cut);
    cr_assert_float_eq(r.d.config.on_n, ON_N, 1e-12); /* what is configured stays */
}

Test(contact, slow_sampling_stretches_the_waiting_times)
{
    struct contact_config c = contact_config_default(ON_N, 20000);
    cr_assert_float_eq(c.bridge_us, 50000, 1e-9);
    cr_assert_float_eq(c.hold_us, 50000, 1e-9);
}

/* ------------------------------------------------------------------ the exact edges (bridge_us is 5 samples here) */

Test(contact, dropout_on_rising_edge_is_bridged_up_to_its_last_sample)
{
    static const int dropout_ms[] = { 5, 6 };
    for (int i = 0; i < 2; i++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 100, 3); /* 100..102 */
        hold(&r, 0, dropout_ms[i]);
        const double again_ms = r.now_ms;
        hold(&r, 900, 100);
        expect(&r, 0, CONTACT_DOWN, (i == 0 ? 100 : again_ms) + 40);
    }
}

Test(contact, wobble_on_falling_edge_is_bridged_up_to_its_last_sample)
{
    static const int dropout_ms[] = { 5, 6 };
    for (int i = 0; i < 2; i++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 1200, 100);
        hold(&r, 140, 10); /* 200..209: below half of the peak, so from no height */
        hold(&r, 0, dropout_ms[i]);
        hold(&r, 100, 30); /* not sure */
        const double off_ms = r.now_ms;
        hold(&r, 0, 100);
        cr_assert_eq(r.n, 2);
        expect(&r, 1, CONTACT_UP, off_ms + (i == 0 ? 20 : 0)); /* or the first toe-off's time is long over */
        cr_expect_not(r.event[1].is_bridged, "the sure load did not come back");
    }
}

Test(contact, spike_is_one_up_to_its_last_sample)
{
    static const int spike_ms[] = { 5, 6 };
    for (int i = 0; i < 2; i++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 900, spike_ms[i]);
        const double off_ms = r.now_ms;
        hold(&r, 0, 100);
        cr_assert_eq(r.n, 1);
        expect(&r, 0, CONTACT_TAP, off_ms + (i == 0 ? 5 : 60)); /* a spike; a tap from a height */
    }
}

Test(contact, half_of_the_peak_is_no_height)
{
    static const double last_n[] = { 600, 600.5 };
    for (int i = 0; i < 2; i++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 1200, 100);
        hold(&r, last_n[i], 10);
        const double off_ms = r.now_ms;
        hold(&r, 0, 100);
        expect(&r, 1, CONTACT_UP, off_ms + (i == 0 ? 20 : 60));
    }
}

Test(contact, thresholds_are_reached_when_they_are_equalled)
{
    struct rig r = begin();
    hold(&r, 0, 100);
    hold(&r, ON_N, 10); /* 100..109: lands */
    hold(&r, 3 * ON_N, 1); /* 110: is sure */
    hold(&r, ON_N, 49);
    hold(&r, ON_N - 1e-9, 100);
    cr_assert_eq(r.n, 2);
    expect(&r, 0, CONTACT_DOWN, 140);
    expect(&r, 1, CONTACT_UP, 160 + 20);
    cr_expect_eq(r.event[1].sure_first, 110);
    cr_expect_eq(r.event[1].sure_last, 110);
}

Test(contact, load_that_comes_back_sure_bridges_and_one_that_does_not_is_chatter)
{
    static const double back_n[] = { 3 * ON_N, 3 * ON_N - 1e-9 };
    for (int i = 0; i < 2; i++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 1200, 100);
        hold(&r, 0, 30); /* 200..229, from a height */
        hold(&r, back_n[i], 50);
        hold(&r, 0, 100);
        cr_assert_eq(r.n, 2);
        expect(&r, 1, CONTACT_UP, i == 0 ? 280 + 20 : 280);
        cr_expect_eq(r.event[1].is_bridged, i == 0);
    }
}

Test(contact, too_long_begins_after_its_last_sample)
{
    static const int contact_ms[] = { 601, 602 };
    for (int i = 0; i < 2; i++) {
        struct rig r = begin();
        hold(&r, 0, 100);
        hold(&r, 900, contact_ms[i]); /* the last sample lies 600 or 601 ms after the first */
        hold(&r, 0, 100);
        cr_expect_eq(r.n, 2 + i);
        cr_expect_eq(r.event[r.n - 1].was_too_long, i == 1);
    }
}

/* Case 5: the next foot 8 ms after a toe-off, as on a recorded runner at 2 m/s. */
Test(contact, a_short_flight_parts_two_contacts)
{
    struct rig r = begin();
    hold(&r, 0, 50);
    ramp(&r, 0, 1200, 150);
    ramp(&r, 1200, 0, 150);
    hold(&r, 0, 2);
    ramp(&r, 0, 1200, 150);
    ramp(&r, 1200, 0, 150);
    hold(&r, 0, 60);
    cr_assert_eq(r.n, 4);
    cr_assert_eq(r.event[0].kind, CONTACT_DOWN);
    cr_assert_eq(r.event[1].kind, CONTACT_UP);
    cr_assert(r.event[1].is_close && !r.event[1].is_bridged);
    cr_assert_eq(r.event[2].kind, CONTACT_DOWN);
    cr_assert(r.event[2].is_close);
    cr_assert_gt(r.event[2].sure_first, r.event[1].sure_last);
    cr_assert_eq(r.event[3].kind, CONTACT_UP);
    cr_assert(!r.event[3].is_close);
}

/* Computed: "rises to sure_n" (contact.h) is met by sure_n itself, in the very sample. */
Test(contact, the_next_foot_is_sure_with_the_sample_that_reaches_sure_n)
{
    struct rig r = begin();
    hold(&r, 0, 50);
    ramp(&r, 0, 1200, 150);
    ramp(&r, 1200, 0, 150);
    hold(&r, 0, 2);
    hold(&r, 60, 1);
    hold(&r, r.d.config.sure_n, 1);
    cr_assert_eq(r.n, 2);
    expect(&r, 1, CONTACT_UP, 353);
    cr_expect(r.event[1].is_close);
}

/* Case 9: to a fifth of the peak and up again. */
Test(contact, a_dip_is_told_once_and_parts_when_it_was_two)
{
    for (int is_two = 0; is_two < 2; is_two++) {
        struct rig r = begin();
        hold(&r, 0, 50);
        ramp(&r, 0, 1200, 150);
        ramp(&r, 1200, 240, 130);
        ramp(&r, 240, 1200, 130);
        cr_assert_eq(r.n, 2);
        cr_assert_eq(r.event[1].kind, CONTACT_DIP);
        cr_assert_float_eq(r.event[1].low_us, 330e3, 1);
        cr_assert_float_eq(r.event[1].peak_n, 1200, 1e-9);
        expect(&r, 1, CONTACT_DIP, 430); /* dip_after_us after it */
        if (is_two)
            contact_part(&r.d, 325e3, 335);
        ramp(&r, 1200, 0, 140);
        hold(&r, 0, 60);
        cr_assert_eq(r.n, 3);
        cr_assert_eq(r.event[2].kind, CONTACT_UP);
        cr_assert_eq(r.d.config.on_n, ON_N);
    }
}

/* A transient's dip is too early for one, a drop-out too sudden, a walk's valley too shallow (half of its peak). */
Test(contact, what_one_foot_does_alone_is_no_dip)
{
    struct rig r = begin();
    hold(&r, 0, 50);
    ramp(&r, 0, 1000, 30);
    ramp(&r, 1000, 300, 20);
    ramp(&r, 300, 1600, 100);
    hold(&r, 0, 8); /* lost samples */
    ramp(&r, 1600, 0, 150);
    hold(&r, 0, 60);
    for (int i = 0; i < r.n; i++)
        cr_assert_neq(r.event[i].kind, CONTACT_DIP);
    r = begin();
    hold(&r, 0, 50);
    ramp(&r, 0, 900, 150);
    ramp(&r, 900, 450, 100);
    ramp(&r, 450, 900, 100);
    ramp(&r, 900, 0, 100);
    hold(&r, 0, 60);
    for (int i = 0; i < r.n; i++)
        cr_assert_neq(r.event[i].kind, CONTACT_DIP);
}
