#include "coach/plan.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

void
plan_free(struct plan *p)
{
    *p = (struct plan){ .n_blocks = 0 };
}

/* One round of splitmix64 (Steele, Lea, Flood 2014): a well-mixed number from any other. */
static uint64_t
mix(uint64_t x)
{
    x += UINT64_C(0x9e3779b97f4a7c15);
    x = (x ^ (x >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    x = (x ^ (x >> 27)) * UINT64_C(0x94d049bb133111eb);
    return x ^ (x >> 31);
}

/* Draws wanted slots out of n, one after the other: each slot is taken with the chance that still gives
 * exactly the wanted number. Is slot `which` among them? */
static bool
is_slot_drawn(uint64_t seed, int n, int wanted, int which)
{
    for (int i = 0; i < n; i++) {
        const double chance = (double) wanted / (n - i);
        const bool is_drawn = (double) (mix(seed + (uint64_t) i) >> 11) * 0x1p-53 < chance;
        if (i == which)
            return is_drawn;
        wanted -= is_drawn;
    }
    return false;
}

static bool
is_shown(const struct plan *p, int index, double into_s)
{
    const struct plan_block *b = &p->block[index];
    if (b->kind != VERDICT_BLOCK_COACHED)
        return false;
    /* As many whole parts as fit the block best, so that no cut part bends the share. */
    const double over_s = b->spread_s > 0 ? b->spread_s : b->length_s;
    const double want_s = p->spread == PLAN_SPREAD_RANDOM ? PLAN_SLOT_S : PLAN_WINDOW_S;
    const double n_parts = fmax(1, round(over_s / want_s));
    const double part_s = over_s / n_parts;
    if (p->spread == PLAN_SPREAD_WINDOWS)
        return fmod(into_s, part_s) < b->feedback_share * part_s;
    const int n = (int) n_parts;
    const int which = (int) (into_s / part_s) % n;
    return is_slot_drawn(mix(p->seed ^ ((uint64_t) index << 32)), n, (int) round(b->feedback_share * n), which);
}

/* The block that runs at run_us, and how far into it; -1 after the end. */
static int
find_block(const struct plan *p, int64_t run_us, double *into_s)
{
    *into_s = units_s_from_us(run_us);
    for (int i = 0; i < p->n_blocks; i++) {
        if (*into_s < p->block[i].length_s)
            return i;
        *into_s -= p->block[i].length_s;
    }
    return -1;
}

/* The block that runs at run_us, before its length changes: its slots stay spread over the length that it had. NULL
 * after the plan's end. */
static struct plan_block *
hold_spread(struct plan *p, int64_t run_us, double *into_s)
{
    const int i = find_block(p, run_us, into_s);
    if (i < 0)
        return NULL;
    if (!(p->block[i].spread_s > 0))
        p->block[i].spread_s = p->block[i].length_s;
    return &p->block[i];
}

void
plan_skip(struct plan *p, int64_t run_us)
{
    double into_s;
    struct plan_block *b = hold_spread(p, run_us, &into_s);
    if (b)
        b->length_s = into_s;
}

void
plan_extend(struct plan *p, int64_t run_us, double extra_s)
{
    double into_s;
    struct plan_block *b = hold_spread(p, run_us, &into_s);
    if (b)
        b->length_s += extra_s;
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
    double into_s;
    const int i = find_block(p, run_us, &into_s);
    if (i < 0)
        return;
    const struct plan_block *b = &p->block[i];
    *out = (struct plan_now){ .index = i,
                              .kind = b->kind,
                              .left_s = b->length_s - into_s,
                              .length_s = b->length_s,
                              .belt_speed_m_s = b->belt_speed_m_s,
                              .is_feedback_shown = is_shown(p, i, into_s) };
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
