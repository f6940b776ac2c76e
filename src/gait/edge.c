#include "gait/edge.h"

#include <math.h>

static double
load_at(const struct trace *t, const struct trace_zero *z, uint64_t i)
{
    const struct trace_sample *s = trace_at(t, i);
    return s->force_n - trace_zero_at(z, s->time_us);
}

/* Where the line from sample i to sample j meets on_n. Precondition: one is below, the other not. */
static double
crossing_us(const struct trace *t, const struct trace_zero *z, uint64_t i, uint64_t j, double on_n)
{
    double a_n = load_at(t, z, i), b_n = load_at(t, z, j);
    double a_us = trace_at(t, i)->time_us, b_us = trace_at(t, j)->time_us;
    return a_us + (on_n - a_n) / (b_n - a_n) * (b_us - a_us);
}

/* Walks from sure_index in direction step (-1 towards touchdown, +1 towards toe-off). */
static struct edge
edge_find(const struct trace *t, const struct trace_zero *z, uint64_t sure_index, double on_n, double join_us, int step)
{
    struct edge e = { NAN, NAN };
    double island_start_us = NAN, last_us = NAN, above_us = 0;
    bool is_above = true;
    if (!trace_has(t, sure_index))
        return e;
    for (uint64_t i = sure_index;; ) {
        uint64_t next = step > 0 ? i + 1 : i - 1;
        if ((step < 0 && i == 0) || !trace_has(t, next)) {
            if (isnan(last_us))
                return e; /* never seen below: the edge lies outside the data */
            break;
        }
        bool next_is_above = load_at(t, z, next) >= on_n;
        if (next_is_above != is_above) {
            double at_us = crossing_us(t, z, i, next, on_n);
            if (is_above) {
                if (isnan(e.time_us)) {
                    e.time_us = at_us;
                    e.spacing_us = fabs(trace_at(t, next)->time_us - trace_at(t, i)->time_us);
                } else {
                    above_us += fabs(at_us - island_start_us);
                }
                last_us = at_us;
            } else {
                if (fabs(at_us - last_us) > join_us)
                    break;
                island_start_us = at_us;
            }
            is_above = next_is_above;
        } else if (!is_above && fabs(trace_at(t, next)->time_us - last_us) > join_us) {
            break;
        }
        i = next;
    }
    e.time_us += step * above_us;
    return e;
}

struct edge
edge_touchdown(const struct trace *t, const struct trace_zero *z, uint64_t sure_index, double on_n)
{
    return edge_find(t, z, sure_index, on_n, EDGE_JOIN_US, -1);
}

struct edge
edge_toe_off(const struct trace *t, const struct trace_zero *z, uint64_t sure_index, double on_n)
{
    return edge_find(t, z, sure_index, on_n, EDGE_JOIN_US, +1);
}

struct edge
edge_nearest(const struct trace *t, const struct trace_zero *z, uint64_t sure_index, double on_n, int step)
{
    return edge_find(t, z, sure_index, on_n, 0, step);
}
