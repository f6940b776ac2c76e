/* trace.h - the last few seconds of conditioned samples, so that a step can be measured when it is complete.
 *
 * In:  samples in dev_time order.   Out: samples by absolute index, integrals and interpolated values.
 * A sample's index counts from the first one ever fed, so that an event can name a sample and stay valid
 * while the ring turns; trace_has() tells whether it is still there.
 * Memory: the struct, nothing else.   Threads: one at a time.   Errors: none; asking for a sample that has
 * gone is our own mistake (assert).
 */
#ifndef GAIT_TRACE_H
#define GAIT_TRACE_H

#include <stdbool.h>
#include <stdint.h>

/* 4 s at 2000 Hz: four strides of the slowest runner. A power of two. */
#ifdef TEST_SMALL
#define TRACE_CAP 1024
#else
#define TRACE_CAP 8192
#endif

struct trace_sample {
    double time_us;      /* device time */
    double force_n;      /* as fed: the zero of the unloaded sensor is NOT yet taken off */
    double cop_fwd_mm;   /* NAN when unknown */
    double cop_right_mm; /* NAN when unknown */
    double moment_fwd_n_mm, moment_right_n_mm; /* as fed, zero not taken off; NAN when unknown */
    uint32_t flags;      /* enum frame_flag bits */
};

struct trace {
    struct trace_sample sample[TRACE_CAP];
    uint64_t n_fed; /* next index */
};

/* A straight line of force against time: the sensor's zero under one step. */
struct trace_zero {
    double time0_us, zero0_n;
    double time1_us, zero1_n;
};

void trace_init(struct trace *t);

/* Adds one sample; the oldest goes when the ring is full. Returns the new sample's index. */
uint64_t trace_feed(struct trace *t, const struct trace_sample *s);

bool trace_has(const struct trace *t, uint64_t index);

/* Precondition: trace_has(). Borrowed until TRACE_CAP more samples are fed. */
const struct trace_sample *trace_at(const struct trace *t, uint64_t index);

/* The oldest index still there; equal to n_fed when nothing has been fed. */
uint64_t trace_oldest(const struct trace *t);

/* The first index whose time is >= time_us; n_fed when there is none. */
uint64_t trace_find(const struct trace *t, double time_us);

/* The zero at a time: constant outside [time0, time1], a straight line inside. */
double trace_zero_at(const struct trace_zero *z, double time_us);

/* Force less zero at any time inside the ring, linear between samples; NAN outside. */
double trace_force_at(const struct trace *t, const struct trace_zero *z, double time_us);

/* Integral of (force - zero) over [from, to], N s, by the trapezoid rule with interpolated ends. NAN when
 * the ring does not cover it. */
double trace_impulse_n_s(const struct trace *t, const struct trace_zero *z, double from_us, double to_us);

#endif
