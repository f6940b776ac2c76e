#include "gait/landing.h"

#include "aid/gait_trace.h"

#include <criterion/criterion.h>

static struct trace T;
static const struct trace_zero NONE = { 0 };

/* One contact of half a sine, 250 ms at 1000 Hz; the foot rides with the belt. */
static struct gait_train
lay_contact(double belt_m_s)
{
    struct gait_train g = gait_train_default();
    g.n_contacts = 1;
    g.cop_fwd_mm = 300;
    g.belt_m_s = belt_m_s;
    trace_init(&T);
    gait_train_feed(&T, &g, 1000, 0, 0.5);
    return g;
}

/* Computed: a foot that stands still on the belt has its load in one place. */
Test(landing, a_load_that_rides_with_the_belt_is_where_it_landed)
{
    struct gait_train g = lay_contact(2.5);
    double down_us = g.first_s * 1e6;
    cr_assert_float_eq(landing_place_fwd_mm(&T, &NONE, down_us, 0, 250e3, 2.5), 300, 1e-6);
    cr_assert_float_eq(landing_place_fwd_mm(&T, &NONE, down_us, 60e3, 120e3, 2.5), 300, 1e-6);
}

/* Computed: half a sine's force-weighted mean time is its middle, so a speed taken 0.1 m/s too low leaves 0.1 x 125 ms. */
Test(landing, a_wrong_belt_speed_shows_with_half_the_contact)
{
    struct gait_train g = lay_contact(2.5);
    cr_assert_float_eq(landing_place_fwd_mm(&T, &NONE, g.first_s * 1e6, 0, 250e3, 2.4), 300 - 12.5, 0.1);
}

Test(landing, without_a_speed_or_without_samples_there_is_no_place)
{
    struct gait_train g = lay_contact(2.5);
    double down_us = g.first_s * 1e6;
    cr_assert(isnan(landing_place_fwd_mm(&T, &NONE, down_us, 0, 250e3, NAN)));
    cr_assert(isnan(landing_place_fwd_mm(&T, &NONE, down_us, 300e3, 350e3, 2.5)), "in flight");
    cr_assert(isnan(landing_place_fwd_mm(&T, &NONE, down_us, 10e3, 12e3, 2.5)), "two samples are few");
    cr_assert(isnan(landing_place_fwd_mm(&T, &NONE, NAN, 0, 250e3, 2.5)));
}

/* Facts V: 0.32 of foot length, 85 mm where none is known. */
Test(landing, what_the_load_stands_ahead_of_mid_foot_is_taken_off)
{
    cr_assert_float_eq(landing_ahead_mm(1300, 950, 270), 350 - 86.4, 1e-9);
    cr_assert_float_eq(landing_ahead_mm(1300, 950, NAN), 265, 1e-9);
    cr_assert(isnan(landing_ahead_mm(NAN, 950, 270)) && isnan(landing_ahead_mm(1300, NAN, 270)));
}

/* Facts V: 0.807 x speed x contact / 2 - 48 mm; at 3 m/s and 240 ms 242.5 mm. */
Test(landing, times_alone_give_an_estimate)
{
    cr_assert_float_eq(landing_ahead_from_times_mm(3, 240e3), 0.807 * 360 - 48, 1e-9);
    cr_assert(isnan(landing_ahead_from_times_mm(NAN, 240e3)));
}
