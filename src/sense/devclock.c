#include "sense/devclock.h"

#include <string.h>

void
devclock_init(struct devclock *c)
{
    memset(c, 0, sizeof *c);
}

static enum devclock_seen
restart(struct devclock *c, uint32_t t_us, int64_t host_us, struct dev_time *out)
{
    c->n_restarts++;
    c->n_late_in_a_row = 0;
    c->last.us += host_us > DEVCLOCK_RESTART_MIN_US ? host_us : DEVCLOCK_RESTART_MIN_US;
    c->last_t_us = t_us;
    *out = c->last;
    return DEVCLOCK_RESTARTED;
}

enum devclock_seen
devclock_feed(struct devclock *c, uint32_t t_us, struct host_time arrived, struct dev_time *out)
{
    if (!c->has_last) {
        c->has_last = true;
        c->last_t_us = t_us;
        c->last_arrived = arrived;
        c->last.us = 0;
        *out = c->last;
        return DEVCLOCK_FIRST;
    }
    /* The counter's distance on its circle, the short way round. */
    uint32_t ahead = t_us - c->last_t_us;
    int64_t step_us = ahead <= INT32_MAX ? (int64_t) ahead : (int64_t) ahead - ((int64_t) UINT32_MAX + 1);
    bool has_host = arrived.us != 0 || c->last_arrived.us != 0;
    int64_t host_us = has_host ? units_host_since_us(arrived, c->last_arrived) : 0;
    if (step_us == 0) {
        c->n_repeated++;
        return DEVCLOCK_REPEATED;
    }
    if (step_us < 0 && -step_us <= DEVCLOCK_LATE_US && ++c->n_late_in_a_row < DEVCLOCK_MAX_LATE) {
        c->n_late++;
        return DEVCLOCK_LATE;
    }
    c->last_arrived = arrived;
    int64_t disagree_us = step_us > host_us ? step_us - host_us : host_us - step_us;
    bool has_jumped = has_host ? disagree_us > DEVCLOCK_HOST_SLACK_US : step_us > DEVCLOCK_JUMP_US;
    if (step_us < 0 || has_jumped)
        return restart(c, t_us, host_us, out);
    c->n_wraps += t_us < c->last_t_us;
    c->n_late_in_a_row = 0;
    c->last_t_us = t_us;
    c->last.us += step_us;
    *out = c->last;
    return DEVCLOCK_IN_ORDER;
}
