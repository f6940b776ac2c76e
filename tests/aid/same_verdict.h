/* same_verdict.h - two verdicts field by field, bit for bit; a NAN is like any other NAN. */
#ifndef AID_SAME_VERDICT_H
#define AID_SAME_VERDICT_H

#include "coach/verdict.h"

#include <math.h>
#include <string.h>

static inline bool
same_number(double a, double b)
{
    return (isnan(a) && isnan(b)) || memcmp(&a, &b, sizeof a) == 0;
}

static inline bool
same_bar(const struct verdict_bar *a, const struct verdict_bar *b)
{
    return a->metric == b->metric && a->standing == b->standing && a->side == b->side && same_number(a->value, b->value) &&
           same_number(a->value_left, b->value_left) && same_number(a->value_right, b->value_right) &&
           same_number(a->low, b->low) && same_number(a->high, b->high) && same_number(a->baseline, b->baseline);
}

static inline bool
same_landings(const struct verdict *a, const struct verdict *b)
{
    for (int foot = 0; foot < 2; foot++) {
        const struct verdict_landing *p = &a->landing[foot], *q = &b->landing[foot];
        if (!same_number(p->middle_mm, q->middle_mm) || !same_number(p->first_mm, q->first_mm) || p->side != q->side ||
            p->n_earlier != q->n_earlier)
            return false;
        for (int i = 0; i < p->n_earlier; i++)
            if (!same_number(p->earlier_mm[i], q->earlier_mm[i]))
                return false;
    }
    return true;
}

static inline bool
same_trend(const struct verdict *a, const struct verdict *b)
{
    for (int i = 0; i < VERDICT_TREND_SLOTS; i++)
        if (!same_number((double) a->trend[i], (double) b->trend[i]) || a->trend_is_silent[i] != b->trend_is_silent[i])
            return false;
    return a->trend_head == b->trend_head;
}

/* The name of the first field that differs; NULL: none does. */
static inline const char *
verdict_difference(const struct verdict *a, const struct verdict *b)
{
#define SAME(field)                                                                                                    \
    if (a->field != b->field)                                                                                          \
    return #field
#define SAME_NUMBER(field)                                                                                             \
    if (!same_number(a->field, b->field))                                                                              \
    return #field
    SAME(serial);
    SAME(time.us);
    SAME(arrived.us);
    SAME(last_value_at.us);
    SAME(sensor);
    if (strcmp(message_english(&a->message), message_english(&b->message)) != 0)
        return "message";
    SAME(gait);
    SAME(n_steps);
    SAME(is_feedback_shown);
    SAME(block);
    SAME(is_paused);
    SAME(is_clock_stopped);
    SAME(plan_index);
    SAME(n_plan_blocks);
    SAME(baseline);
    if (!message_is_same(&a->baseline_why, &b->baseline_why))
        return "baseline_why";
    SAME(target_version);
    SAME_NUMBER(block_left_s);
    SAME_NUMBER(block_length_s);
    SAME_NUMBER(belt_speed_m_s);
    SAME(is_speed_measured);
    SAME_NUMBER(foot_length_mm);
    SAME(n_bars);
    for (int i = 0; i < a->n_bars; i++)
        if (!same_bar(&a->bar[i], &b->bar[i]))
            return "bar";
    SAME(focus);
    SAME(cue);
    if (!same_landings(a, b))
        return "landing";
    SAME(has_landing);
    SAME(landing_standing);
    SAME_NUMBER(landing_low_mm);
    SAME_NUMBER(landing_high_mm);
    if (!same_trend(a, b))
        return "trend";
#undef SAME
#undef SAME_NUMBER
    return NULL;
}

#endif
