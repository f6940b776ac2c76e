#include "gait/parting.h"

#include "aid/gait_trace.h"

#include <criterion/criterion.h>

#define ON_N 50.0
#define WEIGHT_N 700.0

static struct trace T;
static const struct trace_zero NONE = { 0 };

/* Two half-sine contacts of contact_ms, the second starting overlap_ms before the first ends, at 1000 Hz from 100 ms on;
 * the belt runs at 2 m/s, the second foot lands jump_mm ahead of where the first stands by then. */
struct pair {
    double contact_ms, overlap_ms, jump_mm;
    bool has_cop;
};

static double
half_sine_n(double ms, double contact_ms)
{
    return ms > 0 && ms < contact_ms ? 1.6 * WEIGHT_N * sin(GAIT_PI * ms / contact_ms) : 0;
}

static void
lay(const struct pair *p)
{
    double second_ms = 100 + p->contact_ms - p->overlap_ms;
    trace_init(&T);
    for (int i = 0; i < 1000; i++) {
        double one_n = half_sine_n(i - 100.0, p->contact_ms), two_n = half_sine_n(i - second_ms, p->contact_ms);
        double one_mm = 400 - 2 * (i - 100.0), two_mm = 400 - 2 * (second_ms - 100) + p->jump_mm - 2 * (i - second_ms);
        struct trace_sample s = { .time_us = i * 1e3, .force_n = one_n + two_n };
        s.cop_fwd_mm = s.cop_right_mm = (double) NAN;
        if (p->has_cop && one_n + two_n > 20)
            s.cop_fwd_mm = (one_n * one_mm + two_n * two_mm) / (one_n + two_n);
        trace_feed(&T, &s);
    }
}

/* When a half sine crosses ON_N, after its start. */
static double
crossing_ms(double contact_ms)
{
    return contact_ms / GAIT_PI * asin(ON_N / (1.6 * WEIGHT_N));
}

static struct parting
find(const struct pair *p)
{
    lay(p);
    double low_ms = 100 + p->contact_ms - p->overlap_ms / 2; /* by symmetry */
    return parting_find(&T, &NONE, low_ms * 1e3, 1.6 * WEIGHT_N, ON_N);
}

/* Case 1. Computed: each half sine's own crossing of the threshold. */
Test(parting, a_jump_parts_two_contacts_and_the_lever_times_their_edges)
{
    for (double overlap_ms = 0; overlap_ms <= 40; overlap_ms += 10) {
        struct pair p = { 360, overlap_ms, 640, true };
        struct parting got = find(&p);
        cr_assert(got.is_found, "overlap of %g ms", overlap_ms);
        cr_assert_float_eq(got.toe_off_us * 1e-3, 460 - crossing_ms(360), 1.5, "overlap of %g ms", overlap_ms);
        cr_assert_float_eq(got.touchdown_us * 1e-3, 460 - overlap_ms + crossing_ms(360), 1.5, "overlap of %g ms", overlap_ms);
    }
}

/* Case 2: the load sinks as deep, but its place creeps on backwards. */
Test(parting, a_valley_does_not_part)
{
    struct pair p = { 360, 40, 0, true };
    cr_assert(!find(&p).is_found);
}

/* Case 3. */
Test(parting, a_deep_dip_parts_without_a_cop_and_a_shallow_one_does_not)
{
    struct pair deep = { 360, 20, 640, false }, shallow = { 360, 80, 640, false };
    struct parting got = find(&deep);
    cr_assert(got.is_found);
    cr_assert_float_eq(got.toe_off_us * 1e-3, 460 - crossing_ms(360), 15);
    cr_assert_float_eq(got.touchdown_us * 1e-3, 440 + crossing_ms(360), 15);
    cr_assert(!find(&shallow).is_found);
}

Test(parting, a_trace_that_does_not_reach_that_far_parts_nothing)
{
    struct pair p = { 360, 20, 640, true };
    lay(&p);
    cr_assert(!parting_find(&T, &NONE, 2e6, 1000, ON_N).is_found);
    trace_init(&T);
    cr_assert(!parting_find(&T, &NONE, 0, 1000, ON_N).is_found);
}
