#include "coach/plan.h"

#include <assert.h>
#include <math.h>

void
plan_free(struct plan *p)
{
    p->n_blocks = 0;
}

static bool
is_shown(const struct plan_block *b, double into_s)
{
    if (b->kind != VERDICT_BLOCK_COACHED)
        return false;
    /* As many whole windows as fit the block best, so that no cut window bends the share. */
    const double n_windows = fmax(1, round(b->length_s / PLAN_WINDOW_S));
    const double window_s = b->length_s / n_windows;
    return fmod(into_s, window_s) < b->feedback_share * window_s;
}

void
plan_at(const struct plan *p, int64_t run_us, struct plan_now *out)
{
    assert(run_us >= 0);
    *out = (struct plan_now){ .index = p->n_blocks,
                              .kind = p->n_blocks ? VERDICT_BLOCK_ENDED : VERDICT_BLOCK_FREE,
                              .left_s = NAN,
                              .length_s = NAN,
                              .belt_speed_m_s = NAN,
                              .is_feedback_shown = p->n_blocks == 0 };
    double into_s = units_s_from_us(run_us);
    for (int i = 0; i < p->n_blocks; i++) {
        const struct plan_block *b = &p->block[i];
        if (into_s >= b->length_s) {
            into_s -= b->length_s;
            continue;
        }
        *out = (struct plan_now){ .index = i,
                                  .kind = b->kind,
                                  .left_s = b->length_s - into_s,
                                  .length_s = b->length_s,
                                  .belt_speed_m_s = b->belt_speed_m_s,
                                  .is_feedback_shown = is_shown(b, into_s) };
        return;
    }
}

void
plan_clock_init(struct plan_clock *c)
{
    *c = (struct plan_clock){ .is_started = false };
}

int64_t
plan_clock_feed(struct plan_clock *c, struct dev_time now, bool is_counting)
{
    const int64_t step_us = c->is_started ? units_dev_since_us(now, c->last) : 0;
    if (is_counting && step_us > 0 && step_us <= PLAN_CLOCK_MAX_STEP_US)
        c->run_us += step_us;
    c->is_started = true;
    c->last = now;
    return c->run_us;
}
