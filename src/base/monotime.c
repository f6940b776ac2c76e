#include "base/monotime.h"

#include <time.h>

static int64_t
us_from_timespec(struct timespec t)
{
    return (int64_t) t.tv_sec * UNITS_US_PER_S + t.tv_nsec / 1000;
}

struct host_time
monotime_now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (struct host_time){ us_from_timespec(t) };
}

int64_t
monotime_wall_us(void)
{
    struct timespec t;
    clock_gettime(CLOCK_REALTIME, &t);
    return us_from_timespec(t);
}

void
monotime_sleep_until(struct host_time until)
{
    const struct timespec t = { .tv_sec = (time_t) (until.us / UNITS_US_PER_S),
                                .tv_nsec = (long) (until.us % UNITS_US_PER_S) * 1000 };
    clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &t, NULL);
}

void
monotime_sleep_us(int64_t duration_us)
{
    if (duration_us <= 0)
        return;
    monotime_sleep_until((struct host_time){ monotime_now().us + duration_us });
}
