/* What is read of one contact at the very edges of the rules that read it. Expected: measure.c's, strike.h's and
 * footprint.h's own numbers, the curves laid so that they are met exactly. */
#include "gait/measure.h"
#include "gait/strike.h"

#include "aid/gait_trace.h"

#include <criterion/criterion.h>
#include <string.h>

static struct trace T;
static struct measure M;
static struct footfall_row ROW;
static struct footfall C;

#define CURVE_MIN 8 /* read: measure.c, the fewest values that are a curve */
#define MARGIN_US 40000.0 /* read: measure.c, before and after the contact */

static void
start(enum frame_kind kind, double belt_speed_m_s)
{
    struct engine_config c = engine_config_default(kind);
    c.belt_speed_m_s = belt_speed_m_s;
    measure_init(&M, &c);
    trace_init(&T);
    memset(&C, 0, sizeof C);
}

/* Slow samples, so that the contact with its margins has just so many of them. */
static double
peak_of_a_curve_of(int n)
{
    const double period_us = 40000;
    start(FRAME_KIND_FORCE, NAN);
    for (int i = 0; i < 40; i++)
        gait_trace_put(&T, i * period_us, i < 10 || i >= 10 + n - 3 ? 0 : i == 12 ? 1700 : 1500);
    C.touchdown_us = 10 * period_us;
    C.toe_off_us = C.touchdown_us + (n - 1) * period_us - 2 * MARGIN_US;
    measure_contact(&M, &T, period_us, &C);
    return C.loading.peak_n;
}

Test(measure, eight_values_are_a_curve_and_seven_are_none)
{
    cr_expect_geq(peak_of_a_curve_of(CURVE_MIN), 1700, "the highest sample, or a little more between two");
    cr_expect(isnan(peak_of_a_curve_of(CURVE_MIN - 1)));
}

/* 1600 N for 150 ms with the COP at 60 mm of the foot, then 100 N for 50 ms with the COP at 300 mm: the load there is less
 * than STRIKE_FRONT_SHARE of the peak, so nothing of it is the foremost place. */
Test(measure, the_foremost_place_is_read_under_a_share_of_the_peak)
{
    const double speed_m_s = 3;
    start(FRAME_KIND_FORCE, speed_m_s);
    for (int ms = -200; ms < 500; ms++) {
        struct trace_sample s = { .time_us = 1e6 + 1e3 * ms, .cop_fwd_mm = NAN, .cop_right_mm = NAN };
        if (ms >= 0 && ms <= 200) {
            s.force_n = ms <= 150 ? 1600 : 100;
            s.cop_fwd_mm = (ms <= 150 ? 60 : 300) - speed_m_s * ms;
        }
        trace_feed(&T, &s);
    }
    C.touchdown_us = 1e6;
    C.toe_off_us = 1.2e6;
    measure_contact(&M, &T, 1000, &C);
    cr_assert(C.loading.peak_n > 1500 && C.loading.peak_n * STRIKE_FRONT_SHARE > 100, "%g N", C.loading.peak_n);
    cr_expect_float_eq(C.front_fwd_mm, 60, 1e-9);
}

static double
whole_foot_at_a_cover_of(float mm)
{
    start(FRAME_KIND_MAT, 3);
    M.config.foot_length_mm = 250;
    for (int i = 0; i < 2; i++) /* whichever is the last contact's */
        M.prints.print[i].edge[0] = (struct footprint_edge) { .front_mm = mm, .rear_mm = 0 };
    M.prints.print[0].n = M.prints.print[1].n = 1;
    struct footfall *c = footfall_begin(&ROW);
    c->print.is_valid = true;
    measure_step(&M, &ROW, 2000, c);
    return c->step.value[METRIC_WHOLE_FOOT_AT_LOAD];
}

/* 200 of 250 mm are the share of 0.8 itself. */
Test(measure, a_foot_that_is_down_by_the_very_share_is_down_whole)
{
    cr_expect_eq(whole_foot_at_a_cover_of(200), 1);
    cr_expect_eq(whole_foot_at_a_cover_of(199), 0);
}
