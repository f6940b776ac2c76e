/* runner_script.c - runner_model.h's script: which part of it is when, and how the belt moves by it. */
#include "sim/runner_script.h"

#include <math.h>
#include <stddef.h>

double
runner_script_s(const struct runner_config *c)
{
    double sum_s = 0;
    for (int i = 0; i < c->n_segments; i++)
        sum_s += c->script[i].seconds;
    return c->script ? sum_s : (double) INFINITY;
}

const struct runner_segment *
runner_segment_at(const struct runner *r, double t_s, double *start_s, double *end_s)
{
    double at_s = 0;
    for (int i = 0; r->config.script && i < r->config.n_segments; i++) {
        const struct runner_segment *s = &r->config.script[i];
        if (t_s < at_s + s->seconds) {
            *start_s = at_s;
            *end_s = at_s + s->seconds;
            return s;
        }
        at_s += s->seconds;
    }
    return NULL;
}

static double
or_style_m_s(const struct runner *r, double speed_m_s)
{
    return isnan(speed_m_s) ? r->config.style.speed_m_s : speed_m_s;
}

double
runner_belt_speed_m_s(const struct runner *r, double t_s)
{
    if (!r->config.script)
        return r->config.style.speed_m_s;
    double start_s = 0, end_s = 0;
    const struct runner_segment *s = runner_segment_at(r, t_s, &start_s, &end_s);
    if (!s)
        return or_style_m_s(r, r->config.script[r->config.n_segments - 1].speed_to_m_s);
    double from = or_style_m_s(r, s->speed_from_m_s), to = or_style_m_s(r, s->speed_to_m_s);
    return from + (to - from) * (t_s - start_s) / (end_s - start_s);
}

double
runner_belt_travel_mm(const struct runner *r, double t_s)
{
    if (!r->config.script)
        return r->config.style.speed_m_s * t_s * 1e3;
    double travel_m = 0, left_s = t_s, last_m_s = 0;
    for (int i = 0; i < r->config.n_segments && left_s > 0; i++) {
        const struct runner_segment *s = &r->config.script[i];
        double from = or_style_m_s(r, s->speed_from_m_s), to = or_style_m_s(r, s->speed_to_m_s);
        double in_s = fmin(left_s, s->seconds);
        travel_m += from * in_s + (to - from) * in_s * in_s / (2 * s->seconds);
        left_s -= in_s;
        last_m_s = to;
    }
    return (travel_m + fmax(0, left_s) * last_m_s) * 1e3;
}
