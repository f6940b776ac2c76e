/* units.h - the two clocks of the program as types, and every conversion between time units.
 *
 * A point in time is a one-field struct, so that the compiler refuses to mix the sensor's clock with
 * the computer's. A duration is a plain int64_t whose name ends in _us. Seconds as double are for
 * people and for physics, never for ordering.
 */
#ifndef BASE_UNITS_H
#define BASE_UNITS_H

#include <stdbool.h>
#include <stdint.h>

/* The sensor's own clock, unwrapped: microseconds since the sensor's first packet of this run. */
struct dev_time {
    int64_t us;
};

/* This computer's monotonic clock, microseconds. Only for liveness, latency and display. */
struct host_time {
    int64_t us;
};

#define UNITS_US_PER_MS INT64_C(1000)
#define UNITS_US_PER_S INT64_C(1000000)

/* Standard acceleration of gravity used throughout, m/s2 (the value the sources in facts use). */
#define UNITS_GRAVITY_M_S2 9.81

static inline double
units_s_from_us(int64_t us)
{
    return (double) us * 1e-6;
}

static inline double
units_ms_from_us(int64_t us)
{
    return (double) us * 1e-3;
}

/* Rounds to the nearest microsecond. */
static inline int64_t
units_us_from_s(double s)
{
    return (int64_t) (s < 0 ? s * 1e6 - 0.5 : s * 1e6 + 0.5);
}

static inline int64_t
units_dev_since_us(struct dev_time later, struct dev_time earlier)
{
    return later.us - earlier.us;
}

static inline int64_t
units_host_since_us(struct host_time later, struct host_time earlier)
{
    return later.us - earlier.us;
}

#endif
