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

/* The edges, all computed from the constants of devclock.h. */
Test(devclock, as_early_as_late_may_be_is_late_and_a_microsecond_more_is_a_restart)
{
    for (int more_us = 0; more_us <= 1; more_us++) {
        devclock_init(&clock_);
        feed(0, 1);
        feed(5000000, 5000001);
        const uint32_t t_us = 5000000 - (uint32_t) DEVCLOCK_LATE_US - (uint32_t) more_us;
        cr_expect_eq(feed(t_us, 5002001), more_us == 0 ? DEVCLOCK_LATE : DEVCLOCK_RESTARTED, "%d us more", more_us);
        cr_expect_eq(clock_.n_late, 1 - more_us);
        cr_expect_eq(clock_.n_restarts, more_us);
        cr_expect_eq(at.us, more_us == 0 ? 5000000 : 5002000, "late moves nothing, a restart goes on by the host's clock");
    }
}

Test(devclock, late_ones_are_counted_in_a_row_up_to_the_limit_and_one_in_order_begins_anew)
{
    devclock_init(&clock_);
    feed(0, 1);
    feed(1000000, 1000001);
    for (int round = 0; round < 2; round++) {
        for (int i = 1; i < DEVCLOCK_MAX_LATE; i++)
            cr_assert_eq(feed(500000 + (uint32_t) i, 1000002), DEVCLOCK_LATE, "round %d, %d in a row", round, i);
        if (round == 0)
            cr_assert_eq(feed(1000100, 1000101), DEVCLOCK_IN_ORDER);
    }
    cr_expect_eq(feed(600000, 1000202), DEVCLOCK_RESTARTED, "the last of %d in a row", DEVCLOCK_MAX_LATE);
    cr_expect_eq(clock_.n_late, 2 * (DEVCLOCK_MAX_LATE - 1));
}

Test(devclock, as_far_off_the_hosts_clock_as_may_be_is_in_order_and_a_microsecond_more_is_a_restart)
{
    for (int more_us = 0; more_us <= 1; more_us++) {
        devclock_init(&clock_);
        feed(0, 1);
        cr_expect_eq(feed((uint32_t) DEVCLOCK_HOST_SLACK_US + 2000 + (uint32_t) more_us, 2001),
                     more_us == 0 ? DEVCLOCK_IN_ORDER : DEVCLOCK_RESTARTED, "%d us more", more_us);
        devclock_init(&clock_);
        feed(0, 0);
        cr_expect_eq(feed((uint32_t) DEVCLOCK_JUMP_US + (uint32_t) more_us, 0),
                     more_us == 0 ? DEVCLOCK_IN_ORDER : DEVCLOCK_RESTARTED, "%d us more, without a host's clock", more_us);
    }
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

/* ------------------------------------------------------------------ the exact edges */

Test(devclock, late_is_late_up_to_its_last_microsecond)
{
    devclock_init(&clock_);
    feed(50000000, 1);
    cr_expect_eq(feed(50000000 - (uint32_t) DEVCLOCK_LATE_US, 1001), DEVCLOCK_LATE);
    cr_expect_eq(clock_.n_late, 1);
    cr_expect_eq(feed(50000000 - (uint32_t) DEVCLOCK_LATE_US - 1, 5001), DEVCLOCK_RESTARTED);
    cr_expect_eq(at.us, 5000, "from the newest in order, not from the late one");
    cr_expect_eq(clock_.n_late, 1);
}

Test(devclock, late_ones_count_in_a_row_only)
{
    devclock_init(&clock_);
    feed(0, 1);
    for (int i = 1; i <= 3 * DEVCLOCK_MAX_LATE; i++) {
        const uint32_t t_us = (uint32_t) i * 10 * MS;
        cr_assert_eq(feed(t_us, 1 + (int64_t) t_us), DEVCLOCK_IN_ORDER);
        cr_assert_eq(feed(t_us - 1, 1 + (int64_t) t_us), DEVCLOCK_LATE, "round %d", i);
    }
    cr_expect_eq(clock_.n_late, 3 * DEVCLOCK_MAX_LATE);
    cr_expect_eq(clock_.n_restarts, 0);
    feed(300 * MS, 300 * MS + 1);
    for (uint32_t k = 0; k < 2; k++) { /* and a restart begins the row anew */
        for (uint32_t i = 1; i < DEVCLOCK_MAX_LATE; i++)
            cr_assert_eq(feed(300 * MS - (k * 8 + i), 400 * MS), DEVCLOCK_LATE, "%u %u", k, i);
        cr_expect_eq(feed(300 * MS - (k * 8 + 8), 400 * MS), DEVCLOCK_RESTARTED);
    }
}

Test(devclock, the_computers_clock_may_be_off_by_its_slack_and_no_more)
{
    static const struct {
        int64_t host_us;
        enum devclock_seen seen;
    } rows[] = {
        { 60 * 1000000 + DEVCLOCK_HOST_SLACK_US, DEVCLOCK_IN_ORDER },
        { 60 * 1000000 + DEVCLOCK_HOST_SLACK_US + 1, DEVCLOCK_RESTARTED },
        { 60 * 1000000 - DEVCLOCK_HOST_SLACK_US, DEVCLOCK_IN_ORDER },
        { 60 * 1000000 - DEVCLOCK_HOST_SLACK_US - 1, DEVCLOCK_RESTARTED },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        devclock_init(&clock_);
        feed(1000, 1);
        cr_expect_eq(feed(60001000, 1 + rows[i].host_us), rows[i].seen, "row %zu", i);
        cr_expect_eq(at.us, rows[i].seen == DEVCLOCK_IN_ORDER ? 60000000 : rows[i].host_us, "row %zu", i);
    }
}

Test(devclock, without_arrival_times_a_jump_is_one_beyond_its_limit)
{
    devclock_init(&clock_);
    feed(1000, 0);
    cr_expect_eq(feed(1000 + (uint32_t) DEVCLOCK_JUMP_US, 0), DEVCLOCK_IN_ORDER);
    cr_expect_eq(feed(1000 + 2 * (uint32_t) DEVCLOCK_JUMP_US + 1, 0), DEVCLOCK_RESTARTED);
    cr_expect_eq(at.us, DEVCLOCK_JUMP_US + DEVCLOCK_RESTART_MIN_US, "the time line never stands still");
}

Test(devclock, half_the_counter_ahead_is_ahead)
{
    devclock_init(&clock_);
    feed(0, 1);
    cr_expect_eq(feed(INT32_MAX, 1 + INT64_C(2147483647)), DEVCLOCK_IN_ORDER);
    cr_expect_eq(at.us, INT32_MAX);
    cr_expect_eq(clock_.n_wraps, 0);
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
