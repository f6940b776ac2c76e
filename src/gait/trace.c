#include "gait/trace.h"

#include <assert.h>
#include <math.h>

void
trace_init(struct trace *t)
{
    t->n_fed = 0;
}

uint64_t
trace_feed(struct trace *t, const struct trace_sample *s)
{
    t->sample[t->n_fed & (TRACE_CAP - 1)] = *s;
    return t->n_fed++;
}

uint64_t
trace_oldest(const struct trace *t)
{
    return t->n_fed > TRACE_CAP ? t->n_fed - TRACE_CAP : 0;
}

bool
trace_has(const struct trace *t, uint64_t index)
{
    return index < t->n_fed && index >= trace_oldest(t);
}

const struct trace_sample *
trace_at(const struct trace *t, uint64_t index)
{
    assert(trace_has(t, index));
    return &t->sample[index & (TRACE_CAP - 1)];
}

uint64_t
trace_find(const struct trace *t, double time_us)
{
    uint64_t low = trace_oldest(t), high = t->n_fed;
    while (low < high) {
        uint64_t mid = low + (high - low) / 2;
        if (trace_at(t, mid)->time_us < time_us)
            low = mid + 1;
        else
            high = mid;
    }
    return low;
}

double
trace_zero_at(const struct trace_zero *z, double time_us)
{
    if (!(z->time1_us > z->time0_us) || time_us <= z->time0_us)
        return z->zero0_n;
    if (time_us >= z->time1_us)
        return z->zero1_n;
    double share = (time_us - z->time0_us) / (z->time1_us - z->time0_us);
    return z->zero0_n + share * (z->zero1_n - z->zero0_n);
}

double
trace_force_at(const struct trace *t, const struct trace_zero *z, double time_us)
{
    uint64_t i = trace_find(t, time_us);
    if (i == t->n_fed)
        return NAN;
    const struct trace_sample *b = trace_at(t, i);
    if (b->time_us <= time_us)
        return b->force_n - trace_zero_at(z, time_us);
    if (i == 0 || !trace_has(t, i - 1))
        return NAN;
    const struct trace_sample *a = trace_at(t, i - 1);
    double share = (time_us - a->time_us) / (b->time_us - a->time_us);
    return a->force_n + share * (b->force_n - a->force_n) - trace_zero_at(z, time_us);
}

double
trace_impulse_n_s(const struct trace *t, const struct trace_zero *z, double from_us, double to_us)
{
    double time_us = from_us;
    double force_n = trace_force_at(t, z, from_us);
    double end_n = trace_force_at(t, z, to_us);
    if (isnan(force_n) || isnan(end_n))
        return NAN;
    double sum = 0;
    for (uint64_t i = trace_find(t, from_us); i < t->n_fed; i++) {
        const struct trace_sample *s = trace_at(t, i);
        if (s->time_us >= to_us)
            break;
        double here_n = s->force_n - trace_zero_at(z, s->time_us);
        sum += 0.5 * (force_n + here_n) * (s->time_us - time_us);
        time_us = s->time_us;
        force_n = here_n;
    }
    sum += 0.5 * (force_n + end_n) * (to_us - time_us);
    return sum * 1e-6;
}
