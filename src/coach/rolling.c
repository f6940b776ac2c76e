#include "coach/rolling.h"

#include "base/stats.h"

#include <math.h>
#include <string.h>

void
rolling_reset(struct rolling *r)
{
    memset(r, 0, sizeof *r);
}

static void
push(struct rolling_series *s, double value)
{
    s->value[s->head] = value;
    s->head = (s->head + 1) % ROLLING_SPAN;
    if (s->n < ROLLING_SPAN)
        s->n++;
}

void
rolling_feed_foot(struct rolling *r, enum step_foot foot, double value)
{
    if (isnan(value))
        return;
    if (foot == STEP_FOOT_LEFT)
        push(&r->left, value);
    if (foot == STEP_FOOT_RIGHT)
        push(&r->right, value);
}

void
rolling_feed(struct rolling *r, enum step_foot foot, double value)
{
    if (isnan(value))
        return;
    push(&r->both, value);
    rolling_feed_foot(r, foot, value);
}

double
rolling_median(const struct rolling_series *s)
{
    if (s->n < ROLLING_MIN_STEPS)
        return NAN;
    return stats_median_of(s->value, s->n);
}
