#include "gait/strike.h"

#include "aid/gait_trace.h"
#include "gait/condition.h"

#include <criterion/criterion.h>

static struct trace T;
static double SCRATCH[CONDITION_SCRATCH];
static const struct trace_zero NONE = { 0 };

/* Facts A: a foot of 260 mm, tolerance 0.01 %. */
Test(strike, index_is_as_tabled)
{
    static const double row[][2] = { { 40, 15.38 }, { 86, 33.08 }, { 130, 50.00 }, { 208, 80.00 } };
    for (int i = 0; i < 4; i++) {
        double pct = strike_index_pct(-500 + row[i][0], -500, 260); /* the laboratory's origin cancels */
        cr_assert_float_eq(pct, row[i][1], 0.01);
    }
    cr_assert(isnan(strike_index_pct(100, 0, 0)));
    cr_assert(isnan(strike_index_pct(100, 0, NAN)));
    cr_assert(isnan(strike_index_pct(NAN, 0, 260)));
}

/* Borders by the markers of 33 recorded runs: tests/reference/landing.py checks that they are those of its rules. Typical
 * travels of its heel, midfoot and forefoot landings: -117, -35 and -16 mm in the median. */
Test(strike, travel_gives_the_zone_and_a_border_class_around_each_line)
{
    static const struct {
        double travel_mm;
        enum step_zone zone;
    } row[] = {
        { -117, STEP_ZONE_REAR },  { -80.1, STEP_ZONE_REAR },   { -79.9, STEP_ZONE_BORDER }, { -76, STEP_ZONE_BORDER },
        { -72.1, STEP_ZONE_BORDER }, { -71.9, STEP_ZONE_MID },  { -50, STEP_ZONE_MID },      { -35.1, STEP_ZONE_MID },
        { -34.9, STEP_ZONE_BORDER }, { -27.1, STEP_ZONE_BORDER }, { -26.9, STEP_ZONE_FORE }, { -16, STEP_ZONE_FORE },
        { 20, STEP_ZONE_FORE },    { NAN, STEP_ZONE_UNKNOWN },
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++)
        cr_assert_eq(strike_zone_from_travel(row[i].travel_mm), row[i].zone, "%g mm", row[i].travel_mm);
}

/* Facts A, nominal definitions: heel before ball, together, ball before heel. */
Test(strike, lag_between_heel_and_forefoot_gives_the_zone)
{
    cr_assert_eq(strike_zone_from_lag(40000), STEP_ZONE_REAR);
    cr_assert_eq(strike_zone_from_lag(STRIKE_REAR_LAG_US + 1), STEP_ZONE_REAR);
    cr_assert_eq(strike_zone_from_lag(STRIKE_REAR_LAG_US), STEP_ZONE_MID);
    cr_assert_eq(strike_zone_from_lag(0), STEP_ZONE_MID);
    cr_assert_eq(strike_zone_from_lag(STRIKE_FORE_LAG_US), STEP_ZONE_MID);
    cr_assert_eq(strike_zone_from_lag(STRIKE_FORE_LAG_US - 1), STEP_ZONE_FORE);
    cr_assert_eq(strike_zone_from_lag(NAN), STEP_ZONE_UNKNOWN);
}

/* A contact of 200 ms from 100 ms on at 1000 Hz: force, COP on the foot (mm from the heel), belt. */
static void
lay_contact(double (*force_n)(double ms), double (*on_foot_mm)(double ms), double heel_mm, double speed_m_s)
{
    trace_init(&T);
    for (int i = 0; i < 400; i++) {
        double ms = i - 100;
        bool is_down = ms >= 0 && ms <= 200;
        struct trace_sample s = { .time_us = 1e3 * i,
                                  .force_n = is_down ? force_n(ms) : 0,
                                  .cop_fwd_mm = NAN };
        if (is_down)
            s.cop_fwd_mm = heel_mm + on_foot_mm(ms) - speed_m_s * ms;
        trace_feed(&T, &s);
    }
}

static double
half_sine(double ms)
{
    return 1600 * sin(GAIT_PI * ms / 200);
}

static double
flat_900(double ms)
{
    return ms >= 0 ? 900 : 0;
}

static double
stays_at_60(double ms)
{
    return ms >= 0 ? 60 : 0;
}

static double
rolls_1_mm_a_ms(double ms)
{
    return 30 + ms;
}

Test(strike, landing_is_carried_back_by_the_belt)
{
    static const double speed_m_s[] = { 2, 3.3, 5 };
    for (int i = 0; i < 3; i++) {
        lay_contact(half_sine, stays_at_60, 200, speed_m_s[i]);
        cr_assert_float_eq(strike_landing_fwd_mm(&T, &NONE, 100000, speed_m_s[i]), 260, 1e-9);
    }
}

/* Constant force, COP forward 1 mm a ms: the mean over 0..25 ms is the place at 12.5 ms. */
Test(strike, landing_is_the_weighted_mean_of_the_first_25_ms)
{
    lay_contact(flat_900, rolls_1_mm_a_ms, 0, 3);
    cr_assert_float_eq(strike_landing_fwd_mm(&T, &NONE, 100000, 3), 30 + 12.5, 1e-9);
    /* Force grows as the sine: weighted towards the end. sum(sin^.. ) by hand: mean of t over sin(pi t/200).
     */
    lay_contact(half_sine, rolls_1_mm_a_ms, 0, 3);
    double sum = 0, moment = 0;
    for (int ms = 0; ms <= 25; ms++)
        if (half_sine(ms) >= 50) {
            sum += half_sine(ms);
            moment += half_sine(ms) * ms;
        }
    cr_assert_float_eq(strike_landing_fwd_mm(&T, &NONE, 100000, 3), 30 + moment / sum, 1e-9);
}

Test(strike, landing_without_a_speed_or_without_a_place)
{
    lay_contact(flat_900, stays_at_60, 0, 3);
    cr_assert_float_eq(strike_landing_fwd_mm(&T, &NONE, 100000, NAN), 60 - 3 * 12.5, 1e-9);
    for (int i = 0; i < 400; i++)
        T.sample[i].cop_fwd_mm = NAN;
    cr_assert(isnan(strike_landing_fwd_mm(&T, &NONE, 100000, 3)));
}

/* An uncalibrated sensor in a unit of its own reads the same place. */
Test(strike, landing_does_not_depend_on_the_unit_of_force)
{
    lay_contact(flat_900, rolls_1_mm_a_ms, 0, 3);
    for (int i = 0; i < 400; i++)
        T.sample[i].force_n *= 1e-3;
    cr_assert_float_eq(strike_landing_fwd_mm(&T, &NONE, 100000, 3), 42.5, 1e-9);
}

/* COP rolls from 30 to 230 mm in 200 ms. The force is over 800 N from 33.3 to 166.7 ms: 34..166, of whose 133
 * samples the 95th percentile is at 34 + 0.95 * 132. */
Test(strike, front_is_the_95th_percentile_under_high_load)
{
    lay_contact(half_sine, rolls_1_mm_a_ms, 500, 3);
    double front_mm = strike_front_fwd_mm(&T, &NONE, 100000, 300000, 3, 800, SCRATCH);
    cr_assert_float_eq(front_mm, 500 + 30 + 34 + 0.95 * 132, 1e-6);
    cr_assert(isnan(strike_front_fwd_mm(&T, &NONE, 100000, 300000, NAN, 800, SCRATCH)));
    cr_assert(isnan(strike_front_fwd_mm(&T, &NONE, 100000, 300000, 3, 1599.5, SCRATCH))); /* 3 samples */
}

/* 100 (0.78 - from_front / foot): at the front's own place 78 %; a foot's length behind it: -22 %. */
Test(strike, front_method_is_its_formula)
{
    cr_assert_float_eq(strike_index_from_front_pct(0, 260), 78, 1e-9);
    cr_assert_float_eq(strike_index_from_front_pct(260, 260), -22, 1e-9);
    cr_assert_float_eq(strike_index_from_front_pct(0.65 * 260, 260), 13, 1e-9);
    cr_assert(isnan(strike_index_from_front_pct(100, NAN)));
    cr_assert(isnan(strike_index_from_front_pct(NAN, 260)));
}

Test(strike, place_between_samples_lies_on_their_line)
{
    lay_contact(flat_900, rolls_1_mm_a_ms, 0, 0);
    cr_assert_float_eq(strike_cop_fwd_mm(&T, 150000), 80, 1e-9);
    cr_assert_float_eq(strike_cop_fwd_mm(&T, 150400), 80.4, 1e-9);
    cr_assert(isnan(strike_cop_fwd_mm(&T, 50000)));  /* in flight */
    cr_assert(isnan(strike_cop_fwd_mm(&T, 500000))); /* past the end */
}
