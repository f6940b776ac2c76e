/* coach_plan.c - the coach's clock: blocks of the plan, the baseline's acceptance, feedback shown or withheld. */
#include "coach/coach_parts.h"

#include <math.h>
#include <string.h>

static const double UNKNOWN = (double) NAN;

/* Bandwidth feedback, case 8. */
static bool
is_out_of_band(struct coach *c)
{
    const struct verdict *v = &c->verdict;
    for (int i = 0; i < v->n_bars; i++)
        if (v->bar[i].side == VERDICT_BELOW || v->bar[i].side == VERDICT_ABOVE) {
            c->is_out = true;
            c->out_since = v->time;
            return true;
        }
    if (c->is_out && units_dev_since_us(v->time, c->out_since) > COACH_BANDWIDTH_HOLD_US)
        c->is_out = false;
    return c->is_out;
}

/* What is on offer, and what of it is shown. */
static void
set_feedback(struct coach *c, bool is_by_plan)
{
    struct verdict *v = &c->verdict;
    c->is_offered = !c->is_paused && (c->feedback == COMMAND_FEEDBACK_BY_PLAN ? is_by_plan
                                                                              : c->feedback == COMMAND_FEEDBACK_ON);
    v->is_feedback_shown = c->is_offered && (!c->config.plan.is_bandwidth || is_out_of_band(c));
    if (!v->is_feedback_shown) {
        cue_silence(&c->cue);
        v->cue = VERDICT_CUE_NONE;
    }
}

bool
coach_is_baseline_now(const struct coach *c)
{
    return c->is_baseline || (c->block.kind == VERDICT_BLOCK_BASELINE && c->verdict.baseline != VERDICT_BASELINE_ACCEPTED);
}

/* Targets from the baseline, unless there are some from before. False when it says too little for any. */
bool
coach_propose_targets(struct coach *c)
{
    struct target proposed[BASELINE_MAX_TARGETS];
    const int n = baseline_propose(&c->baseline, c->config.cadence_rule, proposed);
    if (n == 0)
        return false;
    c->verdict.baseline = VERDICT_BASELINE_ACCEPTED;
    message_init(&c->verdict.baseline_why, MESSAGE_NONE);
    if (c->config.n_targets > 0)
        return true;
    memcpy(c->config.target, proposed, (size_t) n * sizeof *proposed);
    c->config.n_targets = n;
    c->are_targets_by_rule = true;
    coach_use_targets(c);
    return true;
}

/* The baseline of a run without a plan is over when it was long enough and says enough. */
static void
end_baseline(struct coach *c)
{
    if (coach_propose_targets(c))
        c->is_baseline = false;
}

/* The plan's baseline is about to end: it is accepted, or goes on, or is given up. Case 7. */
static void
judge_baseline(struct coach *c, int64_t run_us, struct plan_now *at)
{
    struct verdict *v = &c->verdict;
    struct baseline_look look;
    if (v->baseline == VERDICT_BASELINE_ACCEPTED || at->left_s > COACH_BASELINE_JUDGE_S)
        return;
    const double look_s = fmin(BASELINE_LOOK_S, 0.5 * at->length_s);
    baseline_look(&c->baseline, look_s, at->length_s, &look);
    if (look.is_steady && coach_propose_targets(c))
        return;
    v->baseline = VERDICT_BASELINE_UNSTEADY;
    baseline_look_tell(&look, &v->baseline_why);
    if (c->baseline_more_s >= COACH_BASELINE_MORE_MAX_S)
        return;
    c->baseline_more_s += COACH_BASELINE_MORE_S;
    plan_extend(&c->config.plan, run_us, COACH_BASELINE_MORE_S);
    plan_at(&c->config.plan, run_us, at);
}

/* Begins a new block when anything that it stands for has changed. */
static void
note_block(struct coach *c, struct dev_time now, int plan_index)
{
    const struct plan *plan = &c->config.plan;
    const struct verdict *v = &c->verdict;
    const enum verdict_block kind = c->is_paused ? VERDICT_BLOCK_PAUSED : v->block;
    const bool is_first = c->block.index < 0;
    /* Targets that come as the baseline ends belong to the block after it. */
    const bool is_retargeted = c->block.target_version != v->target_version && kind != VERDICT_BLOCK_BASELINE;
    const bool is_same_part = !is_first && plan_index == c->block.plan_index;
    if (is_same_part && kind == c->block.kind && !is_retargeted && !c->is_sped)
        return;
    c->is_sped = false;
    const bool is_in_plan = plan_index < plan->n_blocks;
    c->block = (struct coach_block){ .index = c->block.index + 1,
                                     .plan_index = plan_index,
                                     .target_version = v->target_version,
                                     .kind = kind,
                                     .start = now,
                                     .planned_s = c->is_paused ? UNKNOWN : is_same_part ? v->block_left_s : v->block_length_s,
                                     .belt_speed_m_s = v->belt_speed_m_s,
                                     .shown_share = c->is_paused ? 0
                                                    : is_in_plan ? plan->block[plan_index].feedback_share
                                                    : c->is_baseline ? 0
                                                                     : UNKNOWN };
}

/* A block of the plan begins: its belt speed counts as entered where the sensor can't measure it. */
static void
begin_plan_block(struct coach *c, const struct plan_now *at)
{
    struct verdict *v = &c->verdict;
    if (at->kind == VERDICT_BLOCK_BASELINE) {
        baseline_init(&c->baseline);
        v->baseline = VERDICT_BASELINE_RUNS;
        message_init(&v->baseline_why, MESSAGE_NONE);
        c->baseline_more_s = 0;
    }
    if (isnan(at->belt_speed_m_s) || c->is_speed_measured)
        return;
    v->belt_speed_m_s = c->entered_speed_m_s = at->belt_speed_m_s;
}

static void
follow_plan(struct coach *c, struct dev_time now, int64_t run_us)
{
    struct verdict *v = &c->verdict;
    struct plan_now at;
    plan_at(&c->config.plan, run_us, &at);
    if (at.kind == VERDICT_BLOCK_BASELINE && at.index == c->block.plan_index)
        judge_baseline(c, run_us, &at);
    if (c->config.plan.n_blocks > 0 && (c->block.index < 0 || at.index != v->plan_index))
        begin_plan_block(c, &at);
    v->plan_index = at.index;
    v->block = c->is_paused ? VERDICT_BLOCK_PAUSED : at.kind;
    v->block_left_s = at.left_s;
    v->block_length_s = at.length_s;
    set_feedback(c, at.is_feedback_shown);
    note_block(c, now, at.index);
}

void
coach_feed_clock(struct coach *c, struct dev_time now, enum step_gait gait)
{
    struct verdict *v = &c->verdict;
    /* A baseline is of running; a plan's blocks are of the clock, but not of an empty belt. */
    const bool is_counting = !c->is_paused && (coach_is_baseline_now(c) ? gait == STEP_GAIT_RUNNING
                                                                  : gait != STEP_GAIT_OFF && gait != STEP_GAIT_STANDING);
    const int64_t run_us = plan_clock_feed(&c->clock, now, is_counting);
    v->is_clock_stopped = !is_counting;
    if (v->block == VERDICT_BLOCK_ENDED && (c->is_over || c->config.plan.n_blocks == 0))
        return; /* coach_end() said so */
    if (c->is_baseline) {
        const double left_s = c->config.baseline_s - units_s_from_us(run_us);
        v->block_left_s = left_s > 0 ? left_s : 0;
        if (left_s <= 0)
            end_baseline(c);
        if (c->is_baseline) {
            v->block = c->is_paused ? VERDICT_BLOCK_PAUSED : VERDICT_BLOCK_BASELINE;
            note_block(c, now, 0);
            return;
        }
    }
    follow_plan(c, now, run_us);
}
