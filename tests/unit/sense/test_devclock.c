/* The board's counter as one time line, and gaps found by time. */
#include "sense/devclock.h"
#include "sense/interval.h"

#include <criterion/criterion.h>
#include <math.h>

#define MS 1000

static struct devclock clock_;
static struct dev_time at;

static enum devclock_seen
feed(uint32_t t_us, int64_t host_us)
{
    return devclock_feed(&clock_, t_us, (struct host_time){ host_us }, &at);
}

Test(devclock, in_order_times_count_from_the_first)
{
    devclock_init(&clock_);
    cr_expect_eq(feed(5000, 100), DEVCLOCK_FIRST);
    cr_expect_eq(at.us, 0);
    cr_expect_eq(feed(7000, 2100), DEVCLOCK_IN_ORDER);
    cr_expect_eq(at.us, 2000);
}

Test(devclock, wrap_is_no_jump_even_hours_on)
{
    /* 3 hours of one packet a second: the counter wraps at 4294.967296 s, twice. */
    devclock_init(&clock_);
    for (int64_t s = 0; s < 3 * 3600; s++) {
        enum devclock_seen seen = feed((uint32_t) (s * 1000000 + 4000000000), 1 + s * 1000000);
        cr_assert_eq(seen, s == 0 ? DEVCLOCK_FIRST : DEVCLOCK_IN_ORDER, "second %lld", (long long) s);
        cr_assert_eq(at.us, s * 1000000);
    }
    cr_expect_eq(clock_.n_wraps, 3); /* starts at 4000 s: wraps at 295, 4590 and 8885 s */
    cr_expect_eq(clock_.n_restarts, 0);
}

Test(devclock, repeated_time_is_told)
{
    devclock_init(&clock_);
    feed(5000, 1);
    cr_expect_eq(feed(5000, 2), DEVCLOCK_REPEATED);
    cr_expect_eq(clock_.n_repeated, 1);
    cr_expect_eq(feed(7000, 2001), DEVCLOCK_IN_ORDER);
    cr_expect_eq(at.us, 2000);
}

Test(devclock, late_time_is_told_and_moves_nothing)
{
    devclock_init(&clock_);
    feed(5000, 1);
    feed(9000, 4001);
    cr_expect_eq(feed(7000, 4101), DEVCLOCK_LATE);
    cr_expect_eq(feed(11000, 6001), DEVCLOCK_IN_ORDER);
    cr_expect_eq(at.us, 6000);
}

Test(devclock, late_across_a_wrap_is_late)
{
    devclock_init(&clock_);
    feed(UINT32_MAX - 999, 1);
    feed(1000, 2001);
    cr_expect_eq(at.us, 2000);
    cr_expect_eq(feed(UINT32_MAX - 99, 2101), DEVCLOCK_LATE);
}

Test(devclock, restart_goes_on_by_the_hosts_clock)
{
    devclock_init(&clock_);
    feed(60000000, 1);
    feed(61000000, 1000001);
    cr_expect_eq(feed(20000, 4000001), DEVCLOCK_RESTARTED, "3 s later the board counts from 0");
    cr_expect_eq(at.us, 4000000);
    cr_expect_eq(feed(22000, 4002001), DEVCLOCK_IN_ORDER);
    cr_expect_eq(at.us, 4002000);
    cr_expect_eq(clock_.n_restarts, 1);
}

Test(devclock, restart_after_40_minutes_is_no_wrap)
{
    /* The way back is more than half the counter: on the circle it looks like 31 minutes ahead. */
    devclock_init(&clock_);
    feed(0, 1);
    for (int64_t s = 1; s <= 2400; s++)
        feed((uint32_t) (s * 1000000), 1 + s * 1000000);
    cr_expect_eq(feed(20000, 2403000001), DEVCLOCK_RESTARTED);
    cr_expect_eq(at.us, 2403000000);
}

Test(devclock, restart_in_the_first_two_seconds_is_found_after_a_few_late_ones)
{
    devclock_init(&clock_);
    feed(0, 1);
    feed(1500 * MS, 1500 * MS + 1);
    int n_dropped = 0;
    int64_t host_us = 1700 * MS;
    enum devclock_seen seen = DEVCLOCK_LATE;
    for (uint32_t t = 0; seen == DEVCLOCK_LATE; t += 2 * MS, host_us += 2 * MS) {
        seen = feed(t, host_us);
        n_dropped += seen == DEVCLOCK_LATE;
        cr_assert_lt(n_dropped, 10);
    }
    cr_expect_eq(seen, DEVCLOCK_RESTARTED);
    cr_expect_eq(n_dropped, DEVCLOCK_MAX_LATE - 1);
}

Test(devclock, restart_hidden_by_an_unplugged_minute_is_found)
{
    devclock_init(&clock_);
    feed(5000000, 1);
    cr_expect_eq(feed(8000000, 60000001), DEVCLOCK_RESTARTED, "the board says 3 s, the computer 60 s");
    cr_expect_eq(at.us, 60000000);
}

Test(devclock, outage_with_a_running_board_is_no_restart)
{
    devclock_init(&clock_);
    feed(5000000, 1);
    cr_expect_eq(feed(65000000, 60000001), DEVCLOCK_IN_ORDER);
    cr_expect_eq(at.us, 60000000);
}

Test(devclock, busy_computer_that_reads_a_heap_at_once_is_no_restart)
{
    devclock_init(&clock_);
    feed(1000000, 1);
    for (uint32_t i = 1; i <= 2500; i++) /* 5 s of packets, all read at the same instant */
        cr_assert_eq(feed(1000000 + i * 2000, 5000001), DEVCLOCK_IN_ORDER);
    cr_expect_eq(at.us, 5000000);
}

Test(devclock, without_arrival_times_a_long_jump_is_a_restart)
{
    devclock_init(&clock_);
    feed(1000, 0);
    cr_expect_eq(feed(60000000, 0), DEVCLOCK_IN_ORDER);
    cr_expect_eq(feed(860000000, 0), DEVCLOCK_RESTARTED);
    cr_expect_eq(at.us, 59999000 + DEVCLOCK_RESTART_MIN_US);
}

/* ------------------------------------------------------------------ gaps by time */

Test(interval, one_missing_of_500_a_second_is_found)
{
    struct interval v;
    interval_init(&v, 500);
    for (int i = 0; i < 100; i++)
        cr_assert_eq(interval_feed(&v, 2000 + (i % 3 - 1) * 150, false), 0);
    cr_expect_eq(interval_feed(&v, 4000, false), 1);
    cr_expect_eq(interval_feed(&v, 2000, false), 0);
    cr_expect_eq(interval_feed(&v, 22000, false), 10);
}

Test(interval, sequence_excuses_an_uneven_clock_but_no_hole)
{
    struct interval v;
    interval_init(&v, 500);
    cr_expect_eq(interval_feed(&v, 4500, true), 0);
    cr_expect_eq(interval_feed(&v, 8000, true), 3, "the board itself dropped samples");
}

Test(interval, board_slower_than_it_says_is_believed_after_a_while)
{
    struct interval v;
    uint32_t n_gaps = 0;
    interval_init(&v, 500);
    for (int i = 0; i < 1000; i++)
        n_gaps += interval_feed(&v, 4000, false) > 0;
    cr_expect_eq(n_gaps, INTERVAL_ALIKE - 1);
    cr_expect_eq(interval_feed(&v, 8000, false), 1);
}

Test(interval, slow_drift_of_the_rate_is_followed)
{
    struct interval v;
    interval_init(&v, 100);
    for (int i = 0; i < 5000; i++)
        cr_assert_eq(interval_feed(&v, 10000 + i * 2, false), 0);
    cr_expect_float_eq(v.period_us, 20000, 200);
}

Test(interval, unknown_rate_calls_nothing_a_gap)
{
    struct interval v;
    interval_init(&v, (double) NAN);
    cr_expect_eq(interval_feed(&v, 1000000, false), 0);
}
