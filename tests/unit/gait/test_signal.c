/* Frames to the signal that contacts are found in. Expected: signal.h's words, computed by hand. */
#include "gait/signal.h"

#include <criterion/criterion.h>
#include <math.h>

static struct signal S;

static void
start(enum frame_kind kind)
{
    const struct engine_config c = engine_config_default(kind);
    signal_init(&S, &c);
}

/* Heel between 2 and 4 ms, ball between 4 and 6 ms: each halfway. The first frame of all has none before it. */
Test(signal, a_switch_closes_halfway_between_two_frames)
{
    struct frame_switches w = { .n_zones = 2, .zone = { FRAME_ZONE_HEEL, FRAME_ZONE_FORE } };
    struct frame f = { .kind = FRAME_KIND_SWITCHES, .switches = &w };
    start(FRAME_KIND_SWITCHES);
    signal_feed_foot(&S, 0, &f, NAN);
    f.time.us = 2000;
    signal_feed_foot(&S, 0, &f, 0);
    f.time.us = 4000;
    w.is_down[0] = true;
    signal_feed_foot(&S, 0, &f, 2000);
    cr_expect_eq(S.channel[0].zones.heel_us, 3000);
    cr_expect(isnan(S.channel[0].zones.fore_us));
    f.time.us = 6000;
    w.is_down[1] = true;
    signal_feed_foot(&S, 0, &f, 4000);
    cr_expect_eq(S.channel[0].zones.heel_us, 3000, "the first edge stays");
    cr_expect_eq(S.channel[0].zones.fore_us, 5000);
    start(FRAME_KIND_SWITCHES);
    signal_feed_foot(&S, 0, &f, NAN);
    cr_expect_eq(S.channel[0].zones.heel_us, 6000);
}

/* A foot each has its detector; a deck has one, and the other is left as it was made. */
Test(signal, a_threshold_goes_to_the_channels_that_there_are)
{
    start(FRAME_KIND_FORCE);
    S.threshold_n = 70;
    signal_configure(&S);
    cr_expect_eq(S.channel[0].detector.config.on_n, 70);
    cr_expect_eq(S.channel[1].detector.config.on_n, ENGINE_THRESHOLD_N);
}
