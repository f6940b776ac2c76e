/* monotime.h - the only place that reads the clock. Pure code never does: `now` comes in as an argument. */
#ifndef BASE_MONOTIME_H
#define BASE_MONOTIME_H

#include "base/units.h"

/* The monotonic clock of this computer, microseconds since some fixed point (boot, by custom). */
struct host_time monotime_now(void);

/* Sleeps until the monotonic clock reads at least `until`; a signal ends the sleep early. */
void monotime_sleep_until(struct host_time until);

/* Sleeps so long; a signal ends the sleep early. duration_us <= 0 returns at once. */
void monotime_sleep_us(int64_t duration_us);

/* Wall clock, microseconds since 1970-01-01 UTC. Only to date a visit, never to order or to time. */
int64_t monotime_wall_us(void);

#endif
