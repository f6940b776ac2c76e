/* Runs of contacts at the very edges of their rules: the engine is fed loads that cross its threshold on a sample, so
 * that every touchdown and toe-off lies on one. Expected: sequence.h's words and sequence.c's own numbers. */
#include "gait/engine.h"

#include <criterion/criterion.h>
#include <math.h>

static struct engine E; /* each test runs in a process of its own */
static struct step last, live[64];
static int n_live;
static uint32_t seen_settled[64];
static double contact_ms[64], flight_ms[64]; /* settled */
static int n_settled;
static double offset_n; /* of the sensor */
static int64_t hole_from_us, hole_to_us; /* no frame between */

#define STEP_US 500000     /* so that four of them are RESUME_US */
#define CONTACT_US 250000
#define RESUME_US 2000000  /* read: sequence.c, a break as long as this is a stop */

/* Of the steps that are given out live, so many have not settled yet once it settles at all: */
static int n_waiting_least, n_waiting_most;

static void
take(void)
{
    while (engine_take(&E, &last))
        if (last.is_settled) {
            contact_ms[n_settled % 64] = last.value[METRIC_CONTACT_MS];
            flight_ms[n_settled % 64] = last.value[METRIC_FLIGHT_MS];
            seen_settled[n_settled++ % 64] = last.flags;
        } else {
            live[n_live++ % 64] = last;
        }
    const int n_waiting = n_live - n_settled;
    if (n_settled > 0) {
        n_waiting_least = n_waiting < n_waiting_least ? n_waiting : n_waiting_least;
        n_waiting_most = n_waiting > n_waiting_most ? n_waiting : n_waiting_most;
    }
}

static void
start(void)
{
    struct engine_config c = engine_config_default(FRAME_KIND_FORCE);
    c.rate_hz = 500;
    engine_init(&E, &c);
    n_live = n_settled = n_waiting_most = 0;
    n_waiting_least = 64;
}

/* Of a contact that begins at 0: ENGINE_THRESHOLD_N on its first and last sample, none beside them. */
static double
load_n(int64_t us)
{
    if (us < 0 || us > CONTACT_US)
        return 0;
    return us == 0 || us == CONTACT_US ? ENGINE_THRESHOLD_N : 200 + 2200 * sin(3.14159265358979 * (double) us / CONTACT_US);
}

/* n contacts from first_us on, right and left in turn, 500 samples a second. flags: on the frame at flagged_us. */
static void
run(int64_t first_us, int n, bool is_right, int64_t flagged_us, uint32_t flags)
{
    static int64_t now_us;
    if (first_us == STEP_US)
        now_us = 0;
    for (; now_us < first_us + n * STEP_US - 200000; now_us += 2000) {
        if (now_us > hole_from_us && now_us < hole_to_us)
            continue;
        const int64_t since_us = now_us - first_us;
        const int k = since_us < 0 ? 0 : (int) (since_us / STEP_US);
        const double force_n = load_n(since_us - k * (int64_t) STEP_US);
        const bool is_down = force_n > 0;
        const struct frame f = { .time = { now_us }, .kind = FRAME_KIND_FORCE, .force_n = force_n + offset_n,
                                 .cop_fwd_mm = is_down ? 0 : (double) NAN,
                                 .cop_right_mm = is_down ? ((k % 2 == 0) == is_right ? 60 : -60) : (double) NAN,
                                 .flags = now_us == flagged_us ? flags : 0 };
        engine_feed(&E, &f);
        take();
    }
}

Test(sequence, what_a_frame_says_at_the_very_toe_off_is_of_the_step)
{
    enum { FLAGGED = 7 };
    start();
    run(STEP_US, 20, true, STEP_US + FLAGGED * STEP_US + CONTACT_US, FRAME_SATURATED);
    engine_finish(&E);
    take();
    cr_assert_eq(n_settled, 20);
    for (int i = 0; i < n_settled; i++)
        cr_expect_eq((seen_settled[i] & STEP_FLAG_SATURATED) != 0, i == FLAGGED, "step %d: %x", i, seen_settled[i]);
}

/* 20 ms without a frame around a touchdown: too long for its place between two samples to be known (measure.c: 9 ms), too
 * short to break the run. */
Test(sequence, a_touchdown_that_lies_in_a_hole_has_no_contact_and_ends_no_flight)
{
    enum { LOST = 7 };
    start();
    hole_from_us = STEP_US + LOST * STEP_US - 12000;
    hole_to_us = hole_from_us + 20000;
    run(STEP_US, 20, true, -1, 0);
    engine_finish(&E);
    take();
    cr_assert_eq(n_settled, 20);
    for (int i = 0; i < n_settled; i++) {
        cr_expect_eq(isnan(contact_ms[i]), i == LOST, "step %d: %g ms", i, contact_ms[i]);
        cr_expect_eq(isnan(flight_ms[i]), i == LOST - 1 || i == 19, "step %d: %g ms", i, flight_ms[i]);
    }
}

/* Whose foot it is after a break. The run before it has shown the sides. */
static enum step_foot
foot_after(int64_t break_us)
{
    start();
    run(STEP_US, 20, true, -1, 0);
    const int64_t last_us = STEP_US + 19 * (int64_t) STEP_US;
    run(last_us + break_us, 5, false, -1, 0);
    int n = 0;
    while (n < n_live && live[n].touchdown.us < last_us + break_us)
        n++;
    cr_assert_eq(n, 20);
    cr_assert_gt(n_live, n);
    cr_assert_eq(live[n].touchdown.us, last_us + break_us);
    return live[n].flags & STEP_FLAG_SIDE_GUESS ? STEP_FOOT_UNKNOWN : live[n].foot;
}

/* Four steps of half a second each: one sample less and the sides are counted on, and the even step is the last one's
 * foot; at the very length of a stop they are counted anew, and a foot's side is not sure at once. */
Test(sequence, sides_are_counted_on_until_a_break_is_as_long_as_a_stop)
{
    cr_expect_eq(foot_after(RESUME_US - 2000), STEP_FOOT_LEFT);
    cr_expect_eq(foot_after(RESUME_US), STEP_FOOT_UNKNOWN);
}

/* What was taken for contacts was none: their times say nothing of how many feet missed. */
Test(sequence, step_times_of_what_was_no_run_are_forgotten)
{
    static struct sequence q;
    static struct weight w;
    const struct engine_config c = engine_config_default(FRAME_KIND_FORCE);
    sequence_init(&q);
    weight_init(&w, &c);
    stats_feed(&q.step_us, STEP_US);
    sequence_discard(&q, &w);
    cr_expect_eq(stats_median(&q.step_us), STEP_US, "no run is open: nothing to forget");
    q.row.is_run_open = true;
    sequence_discard(&q, &w);
    cr_expect(isnan(stats_median(&q.step_us)));
}

/* A step is live with the next touchdown, and settles when SEQUENCE_SETTLE_STEPS more have begun: by then one less is live. */
Test(sequence, a_step_settles_when_so_many_more_have_begun_and_not_one_sooner)
{
    start();
    run(STEP_US, 20, true, -1, 0);
    cr_expect_eq(n_waiting_least, SEQUENCE_SETTLE_STEPS - 1);
    cr_expect_eq(n_waiting_most, SEQUENCE_SETTLE_STEPS - 1);
}

/* 400 N too much: nothing ever ends, until the floor of the last strides shows the zero. Then they are seen again. */
Test(sequence, steps_from_before_the_zero_was_found_are_not_lost)
{
    start();
    offset_n = 400;
    run(STEP_US, 20, true, -1, 0);
    engine_finish(&E);
    take();
    cr_assert_gt(n_live, 10);
    cr_expect_leq(live[0].touchdown.us, 3 * STEP_US, "%lld us", (long long) live[0].touchdown.us);
}
