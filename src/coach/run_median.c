#include "coach/run_median.h"

#include "base/stats.h"

#include <math.h>
#include <string.h>

void
run_median_reset(struct run_median *r)
{
    memset(r, 0, sizeof *r);
}

static void
push(struct run_median_series *s, double value)
{
    s->value[s->head] = value;
    s->head = (s->head + 1) % RUN_MEDIAN_SPAN;
    if (s->n < RUN_MEDIAN_SPAN)
        s->n++;
}

void
run_median_feed_foot(struct run_median *r, enum step_foot foot, double value)
{
    if (isnan(value))
        return;
    if (foot == STEP_FOOT_LEFT)
        push(&r->left, value);
    if (foot == STEP_FOOT_RIGHT)
        push(&r->right, value);
}

void
run_median_feed(struct run_median *r, enum step_foot foot, double value)
{
    if (isnan(value))
        return;
    push(&r->both, value);
    run_median_feed_foot(r, foot, value);
}

double
run_median_of(const struct run_median_series *s)
{
    if (s->n < RUN_MEDIAN_MIN_STEPS)
        return NAN;
    return stats_median_of(s->value, s->n);
}
