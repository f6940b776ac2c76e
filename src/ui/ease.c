#include "ui/ease.h"

void
ease_set(struct ease *e, double value)
{
    e->from = value;
    e->goal = value;
    e->start = (struct host_time){ 0 };
    e->duration_us = 0;
}

void
ease_go(struct ease *e, double goal, int64_t duration_us, struct host_time now)
{
    if (goal == e->goal)
        return;
    e->from = ease_value(e, now);
    e->goal = goal;
    e->start = now;
    e->duration_us = duration_us;
}

double
ease_value(const struct ease *e, struct host_time now)
{
    int64_t since_us = units_host_since_us(now, e->start);
    if (e->duration_us <= 0 || since_us >= e->duration_us)
        return e->goal;
    if (since_us <= 0)
        return e->from;
    double left = 1.0 - (double) since_us / (double) e->duration_us;
    return e->from + (e->goal - e->from) * (1.0 - left * left * left);
}
