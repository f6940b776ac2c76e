/* ease.h - a value that moves to its goal in a fixed time, without a jump in value or, at the end, speed.
 *
 * In:  goals and the host's time.   Out: the value now.
 * How: from + (goal - from) * (1 - (1 - t)^3), t = time since the goal was set / duration, clamped to 0..1.
 * A new goal starts from where the value is. Memory: the struct.  Errors: none.
 */
#ifndef UI_EASE_H
#define UI_EASE_H

#include "base/units.h"

struct ease {
    double from, goal;
    struct host_time start;
    int64_t duration_us; /* 0 = there already */
};

/* At rest at value. */
void ease_set(struct ease *e, double value);

/* Heads for goal from now on; the same goal again changes nothing. */
void ease_go(struct ease *e, double goal, int64_t duration_us, struct host_time now);

double ease_value(const struct ease *e, struct host_time now);

#endif
