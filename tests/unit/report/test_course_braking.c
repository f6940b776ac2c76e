#include "report/course.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct course_visit VISIT;
static struct course COURSE;
static char TEXT[COURSE_BRAKING_MAX];

/* Changes of braking, cadence and landing, each with what this runner wanders by (MDC95). */
static const char *
told(double braking, double cadence, double ahead, double wander)
{
    memset(&VISIT, 0, sizeof VISIT);
    memset(&COURSE, 0, sizeof COURSE);
    COURSE.n_visits = 1;
    COURSE.visit = &VISIT;
    VISIT.held_from_first[METRIC_BRAKING_IMPULSE_BW_S].by = braking;
    VISIT.held_from_first[METRIC_CADENCE_SPM].by = cadence;
    VISIT.held_from_first[METRIC_LANDING_AHEAD_MM].by = ahead;
    VISIT.held[METRIC_BRAKING_IMPULSE_BW_S].n = 300;
    COURSE.mdc[METRIC_BRAKING_IMPULSE_BW_S] = wander;
    COURSE.mdc[METRIC_CADENCE_SPM] = 2;
    COURSE.mdc[METRIC_LANDING_AHEAD_MM] = 10;
    return course_braking_text(NULL, &COURSE, TEXT);
}

/* The interval: 0.001 of wandering and 0.0024 of what the figure may be off, root of the sum of squares 0.0026. */
Test(course_braking, what_went_with_less_braking_is_said_and_no_more)
{
    told(-0.004, 8, -24, 0.001);
    cr_assert(strstr(TEXT, "braking -0.0040 \xc2\xb1 0.0026 BW s, cadence +8.0 \xc2\xb1 2.0 steps/min, landing ahead -24 \xc2\xb1 10 mm."),
              "%s", TEXT);
    cr_assert(strstr(TEXT, "Less braking went with quicker steps and nearer landing."));
    cr_assert(strstr(told(-0.004, 8, -5, 0.001), "went with quicker steps."), "%s", TEXT);
    cr_assert(strstr(told(-0.004, 1, -24, 0.001), "went with nearer landing."), "%s", TEXT);
    cr_assert(strstr(told(-0.004, 1, -5, 0.001), "neither quicker steps nor nearer landing"), "%s", TEXT);
}

Test(course_braking, change_within_its_interval_is_no_less_braking)
{
    cr_assert(strstr(told(-0.002, 8, -24, 0.001), "no less braking for sure"), "%s", TEXT);
    cr_assert(strstr(told(0.004, 8, -24, 0.001), "no less braking for sure"), "%s", TEXT);
}

Test(course_braking, without_braking_nothing_and_without_repeats_no_interval)
{
    cr_assert_str_eq(told((double) NAN, 8, -24, 0.001), "");
    cr_assert(strstr(told(-0.004, 8, -24, (double) NAN), "not known yet"), "%s", TEXT);
    cr_assert(!strstr(TEXT, "went with"));
}

Test(course_braking, change_at_another_speed_is_not_said)
{
    told(-0.004, 8, -24, 0.001);
    VISIT.held_from_first[METRIC_BRAKING_IMPULSE_BW_S].is_other_speed = true;
    cr_assert_str_eq(course_braking_text(NULL, &COURSE, TEXT), "");
}
