/* gait_trace.h - force curves with known answers, laid into a trace. Header only: most tests link no gait/.
 */
#ifndef AID_GAIT_TRACE_H
#define AID_GAIT_TRACE_H

#include "gait/trace.h"

#include <math.h>

#define GAIT_PI 3.14159265358979323846

/* A row of equal half-sine contacts; 0 in flight. */
struct gait_train {
    double first_s; /* first touchdown */
    double contact_s, flight_s;
    double peak_n;
    int n_contacts;
    double zero_n, drift_n_s; /* of the sensor, at time 0 */
    double cop_fwd_mm;        /* at touchdown; then back at belt_m_s */
    double belt_m_s;
    double cop_right_mm; /* right, left, right, ... of 0 */
};

/* 70 kg, contact 250 ms, flight 110 ms: facts F, first worked example. The peak makes momentum balance. */
static inline struct gait_train
gait_train_default(void)
{
    return (struct gait_train){
        .first_s = 0.11,
        .contact_s = 0.25,
        .flight_s = 0.11,
        .peak_n = 70 * 9.81 * GAIT_PI / 2 * (0.11 / 0.25 + 1),
        .n_contacts = 1000000,
    };
}

static inline double
gait_train_step_s(const struct gait_train *g)
{
    return g->contact_s + g->flight_s;
}

/* Which contact t_s lies in or after; phase_s: since its touchdown. -1 before the first. */
static inline int
gait_train_contact(const struct gait_train *g, double t_s, double *phase_s)
{
    int k = (int) floor((t_s - g->first_s) / gait_train_step_s(g));
    *phase_s = t_s - g->first_s - k * gait_train_step_s(g);
    return k;
}

/* True force, without the sensor's zero. */
static inline double
gait_train_n(const struct gait_train *g, double t_s)
{
    double phase_s;
    int k = gait_train_contact(g, t_s, &phase_s);
    if (k < 0 || k >= g->n_contacts || phase_s >= g->contact_s)
        return 0;
    return g->peak_n * sin(GAIT_PI * phase_s / g->contact_s);
}

/* Feeds [from, to) at a rate. */
static inline void
gait_train_feed(struct trace *t, const struct gait_train *g, double rate_hz, double from_s, double to_s)
{
    for (int i = 0; from_s + i / rate_hz < to_s - 1e-9; i++) {
        double t_s = from_s + i / rate_hz, phase_s;
        int k = gait_train_contact(g, t_s, &phase_s);
        double force_n = gait_train_n(g, t_s);
        struct trace_sample s = { .time_us = t_s * 1e6, .force_n = force_n + g->zero_n + g->drift_n_s * t_s };
        s.cop_fwd_mm = force_n > 0 ? g->cop_fwd_mm - 1e3 * g->belt_m_s * phase_s : (double) NAN;
        s.cop_right_mm = force_n > 0 ? (k % 2 == 0 ? 1 : -1) * g->cop_right_mm : (double) NAN;
        trace_feed(t, &s);
    }
}

/* One sample, COP unknown. */
static inline void
gait_trace_put(struct trace *t, double time_us, double force_n)
{
    struct trace_sample s = { .time_us = time_us, .force_n = force_n };
    s.cop_fwd_mm = s.cop_right_mm = (double) NAN;
    trace_feed(t, &s);
}

#endif
