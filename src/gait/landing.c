#include "gait/landing.h"

#include <math.h>

double
landing_place_fwd_mm(const struct trace *t, const struct trace_zero *z, double touchdown_us, double from_us,
                     double to_us, double speed_m_s)
{
    double sum = 0, moment = 0;
    int n = 0;
    if (isnan(speed_m_s) || isnan(touchdown_us))
        return NAN;
    for (uint64_t i = trace_find(t, touchdown_us + from_us); i < t->n_fed; i++) {
        const struct trace_sample *s = trace_at(t, i);
        double since_us = s->time_us - touchdown_us;
        if (since_us >= to_us)
            break;
        double force_n = s->force_n - trace_zero_at(z, s->time_us);
        if (!(force_n > 0) || isnan(s->cop_fwd_mm))
            continue;
        sum += force_n;
        moment += force_n * (s->cop_fwd_mm + speed_m_s * 1e-3 * since_us);
        n++;
    }
    return n >= LANDING_MIN_SAMPLES ? moment / sum : (double) NAN;
}

double
landing_ahead_mm(double place_fwd_mm, double com_fwd_mm, double foot_mm)
{
    return place_fwd_mm - com_fwd_mm - (isnan(foot_mm) ? LANDING_LOAD_MM : LANDING_LOAD_SHARE * foot_mm);
}

double
landing_ahead_from_times_mm(double speed_m_s, double contact_us)
{
    return LANDING_TIMES_SHARE * speed_m_s * contact_us * 1e-3 / 2 - LANDING_TIMES_OFF_MM;
}
