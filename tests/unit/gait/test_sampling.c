/* Times of frames: the period, holes, breaks. Expected: sampling.h's cases, computed by hand. */
#include "gait/sampling.h"

#include <criterion/criterion.h>
#include <math.h>

static struct sampling S;
static int64_t now_us;

static unsigned
feed(int64_t dt_us, unsigned flags)
{
    const struct frame f = { .time.us = now_us += dt_us, .flags = flags };
    const unsigned news = sampling_feed(&S, &f);
    if (!(news & SAMPLING_REFUSED))
        sampling_count(&S, &f);
    return news;
}

Test(sampling, a_rate_that_was_told_is_never_learnt_anew)
{
    sampling_init(&S, 1000);
    for (int i = 0; i < 1200; i++)
        cr_assert_eq(feed(1200, 0), SAMPLING_AS_BEFORE, "%d", i);
    cr_expect_eq(S.period_us, 1000);
}

Test(sampling, a_rate_that_nobody_told_is_learnt_once)
{
    sampling_init(&S, NAN);
    int n_news = 0;
    for (int i = 0; i < 1200; i++)
        n_news += feed(2000, 0) != SAMPLING_AS_BEFORE;
    cr_expect_eq(S.period_us, 2000);
    cr_expect_eq(n_news, 1, "with the second frame");
}

/* A median of 64 spacings, looked at with every 512th frame: the rate changes after frame 600, so frame 1024 tells. */
Test(sampling, a_rate_that_changes_is_seen_with_every_512th_frame)
{
    sampling_init(&S, NAN);
    for (int i = 0; i < 600; i++)
        feed(1000, 0);
    for (int i = 600; i < 1100; i++)
        cr_assert_eq(feed(1300, 0), i == 1024 ? SAMPLING_NEW_PERIOD : SAMPLING_AS_BEFORE, "%d", i);
    cr_expect_eq(S.period_us, 1300);
}

Test(sampling, a_gap_is_one_that_the_frame_tells_or_that_the_time_shows)
{
    sampling_init(&S, 1000);
    for (int i = 0; i < 100; i++)
        feed(1000, 0);
    cr_expect_eq(S.n_gaps, 0);
    cr_expect_eq(feed(1000, FRAME_GAP_BEFORE), SAMPLING_AS_BEFORE);
    cr_expect_eq(S.n_gaps, 1);
    cr_expect_eq(feed(1700, 0), SAMPLING_AS_BEFORE);
    cr_expect_eq(S.n_gaps, 2);
    feed(1500, 0);
    cr_expect_eq(S.n_gaps, 2, "jitter is none");
    cr_expect_eq(feed(60001, 0), SAMPLING_BROKEN);
    cr_expect_eq(feed(0, 0), SAMPLING_REFUSED);
}
