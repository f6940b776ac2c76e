#include "gait/strike.h"

#include "gait/condition.h"
#include "gait/order.h"

#include <math.h>

/* Below this a plate's COP is offset and vibration. */
#define COP_MIN_N 50.0
/* On an uncalibrated sensor newtons mean nothing: then this share of what is reached in the window.
 * common practice, no source */
#define COP_MIN_SHARE 0.2
/* Fewer samples have no foremost place. common practice, no source */
#define FRONT_MIN_SAMPLES 5
/* "Foremost" that one odd sample does not move (strike.h). */
#define FRONT_AT 0.95

enum step_zone
strike_zone_from_travel(double travel_mm)
{
    if (isnan(travel_mm))
        return STEP_ZONE_UNKNOWN;
    if (fabs(travel_mm - STRIKE_REAR_MM) < STRIKE_BORDER_MM || fabs(travel_mm - STRIKE_FORE_MM) < STRIKE_BORDER_MM)
        return STEP_ZONE_BORDER;
    if (travel_mm < STRIKE_REAR_MM)
        return STEP_ZONE_REAR;
    return travel_mm > STRIKE_FORE_MM ? STEP_ZONE_FORE : STEP_ZONE_MID;
}

enum step_zone
strike_zone_from_lag(double lag_us)
{
    if (isnan(lag_us))
        return STEP_ZONE_UNKNOWN;
    if (lag_us > STRIKE_REAR_LAG_US)
        return STEP_ZONE_REAR;
    return lag_us < STRIKE_FORE_LAG_US ? STEP_ZONE_FORE : STEP_ZONE_MID;
}

double
strike_index_pct(double landing_fwd_mm, double heel_fwd_mm, double length_mm)
{
    return length_mm > 0 ? 100 * (landing_fwd_mm - heel_fwd_mm) / length_mm : (double) NAN;
}

double
strike_index_from_front_pct(double from_front_mm, double foot_mm)
{
    return foot_mm > 0 ? 100 * (STRIKE_FRONT_AT - from_front_mm / foot_mm) : (double) NAN;
}

double
strike_landing_fwd_mm(const struct trace *t, const struct trace_zero *z, double touchdown_us, double speed_m_s)
{
    double speed_mm_us = isnan(speed_m_s) ? 0 : speed_m_s * 1e-3;
    double peak_n = 0, sum = 0, moment = 0;
    for (int pass = 0; pass < 2; pass++) {
        double level_n = fmin(COP_MIN_N, COP_MIN_SHARE * peak_n);
        for (uint64_t i = trace_find(t, touchdown_us); i < t->n_fed; i++) {
            const struct trace_sample *s = trace_at(t, i);
            if (s->time_us > touchdown_us + STRIKE_LANDING_US)
                break;
            double force_n = s->force_n - trace_zero_at(z, s->time_us);
            if (pass == 0)
                peak_n = fmax(peak_n, force_n);
            if (pass == 0 || force_n < level_n || isnan(s->cop_fwd_mm))
                continue;
            sum += force_n;
            moment += force_n * (s->cop_fwd_mm + speed_mm_us * (s->time_us - touchdown_us));
        }
    }
    return sum > 0 ? moment / sum : (double) NAN;
}

double
strike_front_fwd_mm(const struct trace *t, const struct trace_zero *z, double touchdown_us, double toe_off_us,
                    double speed_m_s, double min_n, double *scratch)
{
    int n = 0;
    if (isnan(speed_m_s))
        return NAN;
    for (uint64_t i = trace_find(t, touchdown_us); i < t->n_fed && n < CONDITION_SCRATCH; i++) {
        const struct trace_sample *s = trace_at(t, i);
        if (s->time_us > toe_off_us)
            break;
        if (s->force_n - trace_zero_at(z, s->time_us) >= min_n && !isnan(s->cop_fwd_mm))
            scratch[n++] = s->cop_fwd_mm + speed_m_s * 1e-3 * (s->time_us - touchdown_us);
    }
    if (n < FRONT_MIN_SAMPLES)
        return NAN;
    order_sort(scratch, n);
    return order_quantile(scratch, n, FRONT_AT);
}

double
strike_cop_fwd_mm(const struct trace *t, double time_us)
{
    uint64_t i = trace_find(t, time_us);
    if (i == 0 || i >= t->n_fed || !trace_has(t, i - 1))
        return NAN;
    const struct trace_sample *a = trace_at(t, i - 1), *b = trace_at(t, i);
    if (!(b->time_us > a->time_us))
        return b->cop_fwd_mm;
    double share = (time_us - a->time_us) / (b->time_us - a->time_us);
    return a->cop_fwd_mm + share * (b->cop_fwd_mm - a->cop_fwd_mm);
}
