/* The sensor watched before the run, fed as the reading thread does it: phases, the step on, calibration. */
#include "desk/desk_watch.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ 500

static struct session *session;
static struct desk_watch *w;
static struct panel_watch view;
static struct packet packet;
static uint32_t t_us, seed;
static double force_n; /* on four cells, evenly */

static int
noise(void)
{
    seed = seed * 1664525U + 1013904223U;
    return (int) ((seed >> 8) % 2001U) - 1000; /* within half a newton */
}

static void
make_watch(void)
{
    struct packet hello = { .type = PACKET_HELLO };
    struct frame f;
    session = calloc(1, sizeof *session);
    w = calloc(1, sizeof *w);
    cr_assert(session && w);
    hello.hello = (struct packet_hello){ .kind = PACKET_KIND_CELLS, .version_major = 1, .rate_hz = RATE_HZ, .n_channels = 4,
                                         .full_scale_counts = 4194304 };
    desk_watch_init(w, session);
    sense_init(&session->pipeline.sense, NULL);
    sense_feed(&session->pipeline.sense, &hello, &f);
    cr_assert(session->pipeline.sense.is_ready);
    packet = (struct packet){ .type = PACKET_CELLS, .n_values = 4 };
    desk_watch_set_on(w, true);
}

static void
free_watch(void)
{
    free(w);
    free(session);
}

/* True when there is a new view. */
static bool
run(double seconds)
{
    struct frame f;
    for (int i = 0; i < (int) (seconds * RATE_HZ + 0.5); i++) {
        for (int k = 0; k < 4; k++)
            packet.channel_counts[k] = (int32_t) (force_n / 4 * 2097.152) + noise();
        packet.t_us = t_us += 1000000 / RATE_HZ;
        packet.arrived.us = t_us;
        if (sense_feed(&session->pipeline.sense, &packet, &f))
            desk_watch_feed(w, &packet, &f);
    }
    return desk_watch_take(w, &view);
}

TestSuite(desk_watch, .init = make_watch, .fini = free_watch);

Test(desk_watch, a_judgement_comes_after_three_seconds_and_the_picture_goes_on)
{
    cr_assert(run(2.5));
    cr_assert(!view.has_check && view.elements.n_cols == 4);
    cr_assert(run(1));
    cr_assert(view.has_check && !view.is_loaded);
    cr_assert_eq(view.check.finding[CHECK_NOISE].grade, CHECK_GOOD, "%s", view.check.finding[CHECK_NOISE].says);
    cr_assert_eq(view.check.finding[CHECK_DRIFT].grade, CHECK_UNTESTED);
    cr_assert(run(60));
    cr_assert_eq(view.check.finding[CHECK_DRIFT].grade, CHECK_GOOD, "%s", view.check.finding[CHECK_DRIFT].says);
    cr_assert_float_eq(view.check.seconds_empty, 63.5, 0.3);
}

Test(desk_watch, off_it_shows_nothing)
{
    cr_assert(run(1));
    desk_watch_set_on(w, false);
    cr_assert(!run(1));
}

Test(desk_watch, somebody_who_steps_on_begins_the_loaded_part_and_the_empty_one_stays_clean)
{
    run(5);
    force_n = 700;
    cr_assert(run(2));
    cr_assert(view.is_loaded && view.check.seconds_loaded > 1.5);
    cr_assert_eq(view.check.finding[CHECK_NOISE].grade, CHECK_GOOD, "%s", view.check.finding[CHECK_NOISE].says);
    cr_assert_eq(view.check.finding[CHECK_OFFSET].grade, CHECK_GOOD, "%s", view.check.finding[CHECK_OFFSET].says);
    cr_assert_neq(view.check.finding[CHECK_DEAD].grade, CHECK_UNTESTED, "%s", view.check.finding[CHECK_DEAD].says);
}

Test(desk_watch, somebody_who_is_on_it_from_the_start_is_told_and_the_loaded_part_waits_for_the_key)
{
    for (int i = 0; i < 20; i++) {
        force_n = i % 2 ? 900 : 0;
        run(0.2);
    }
    cr_assert(!view.is_loaded);
    cr_assert(view.has_check && view.check.is_occupied);
    desk_watch_load(w);
    run(1);
    cr_assert(view.is_loaded);
}

Test(desk_watch, a_calibration_is_measured_meanwhile_and_does_not_count_as_empty)
{
    struct sense_profile *out = malloc(sizeof *out);
    struct calib_entry entry;
    struct message why;
    cr_assert(out);
    run(5);
    desk_watch_calibrate(w, CALIB_MASS, 3, false);
    force_n = 71.5 * 9.80665;
    cr_assert(run(1));
    cr_assert_float_eq(view.calib_left_s, 2, 0.3);
    cr_assert(!desk_watch_is_calibrated(w));
    run(2.1);
    cr_assert(desk_watch_is_calibrated(w));
    cr_assert_eq(calib_finish(&w->calib, 71.5, out, &entry, &why), ERR_OK, "%s", message_english(&why));
    cr_assert_float_eq(out->cell[0].gain_n_per_count, 1 / 2097.152, 1e-3 / 2097.152);
    force_n = 0;
    desk_watch_leave_calibration(w);
    run(1);
    cr_assert(isnan(view.calib_left_s));
    cr_assert_eq(view.check.finding[CHECK_NOISE].grade, CHECK_GOOD, "%s", view.check.finding[CHECK_NOISE].says);
    free(out);
}
