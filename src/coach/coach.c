#include "coach/coach.h"

#include "base/str.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const double UNKNOWN = (double) NAN;

struct coach_config
coach_config_default(void)
{
    struct coach_config c = { .focus = METRIC_COUNT,
                              .cadence_rule = TARGET_RULE_CADENCE_UP_5,
                              .baseline_s = 60,
                              .belt_speed_m_s = UNKNOWN,
                              .foot_length_mm = UNKNOWN };
    plan_free(&c.plan);
    return c;
}

static void
set_bar(struct coach *c, int i, enum metric m, double low, double high, double baseline)
{
    c->verdict.bar[i] = (struct verdict_bar){ .metric = m,
                                              .value = UNKNOWN,
                                              .value_left = UNKNOWN,
                                              .value_right = UNKNOWN,
                                              .low = low,
                                              .high = high,
                                              .baseline = baseline };
    band_init(&c->band[i], low, high);
}

/* The bars of a run without targets yet: what every sensor tells, and landing ahead until we know better. */
static void
set_plain_bars(struct coach *c)
{
    set_bar(c, 0, METRIC_CADENCE_SPM, UNKNOWN, UNKNOWN, UNKNOWN);
    set_bar(c, 1, METRIC_CONTACT_MS, UNKNOWN, UNKNOWN, UNKNOWN);
    set_bar(c, 2, METRIC_LANDING_AHEAD_MM, UNKNOWN, UNKNOWN, UNKNOWN);
    c->verdict.n_bars = 3;
    c->verdict.focus = c->config.focus == METRIC_COUNT ? METRIC_CADENCE_SPM : c->config.focus;
}

static void
clear_trend(struct coach *c)
{
    c->trend_slot = -1;
    for (int i = 0; i < VERDICT_TREND_SLOTS; i++) {
        c->verdict.trend[i] = (float) NAN;
        c->verdict.trend_is_silent[i] = false;
    }
}

/* Bars, bands and focus from the targets in the configuration. */
static void
use_targets(struct coach *c)
{
    struct verdict *v = &c->verdict;
    const enum metric focus_before = v->focus;
    v->n_bars = c->config.n_targets;
    v->focus = c->config.focus;
    v->zone_low_pct = v->zone_high_pct = UNKNOWN;
    for (int i = 0; i < c->config.n_targets; i++) {
        const struct target *t = &c->config.target[i];
        set_bar(c, i, t->metric, t->low, t->high, t->baseline);
        if (v->focus == METRIC_COUNT && t->is_change)
            v->focus = t->metric;
        if (t->metric == METRIC_STRIKE_INDEX_PCT) {
            v->zone_low_pct = t->low;
            v->zone_high_pct = t->high;
        }
    }
    if (v->focus == METRIC_COUNT)
        v->focus = c->config.target[0].metric;
    if (v->focus != focus_before)
        clear_trend(c); /* a line of another metric says nothing */
    c->is_third_bar_settled = true;
    v->target_version++;
}

void
coach_init(struct coach *c, const struct coach_config *config)
{
    assert(config->n_targets >= 0 && config->n_targets <= VERDICT_MAX_BARS);
    memset(c, 0, sizeof *c);
    c->config = *config;
    c->verdict = (struct verdict){ .sensor = VERDICT_SENSOR_WAITING,
                                   .block_left_s = UNKNOWN,
                                   .block_length_s = UNKNOWN,
                                   .belt_speed_m_s = config->belt_speed_m_s,
                                   .foot_length_mm = config->foot_length_mm,
                                   .focus = METRIC_COUNT,
                                   .zone_low_pct = UNKNOWN,
                                   .zone_high_pct = UNKNOWN };
    clear_trend(c);
    cue_init(&c->cue);
    baseline_init(&c->baseline);
    plan_clock_init(&c->clock);
    c->block.index = -1;
    if (config->n_targets > 0)
        use_targets(c);
    else
        set_plain_bars(c);
    c->is_baseline = config->n_targets == 0 && config->baseline_s > 0 && config->plan.n_blocks == 0;
    c->is_paused = c->verdict.is_paused = config->is_waiting;
    c->entered_speed_m_s = UNKNOWN;
    c->verdict.n_plan_blocks = config->plan.n_blocks;
    c->verdict.baseline = c->is_baseline ? VERDICT_BASELINE_RUNS : VERDICT_BASELINE_NONE;
    c->is_offered = c->verdict.is_feedback_shown = !c->is_baseline;
    c->verdict.block = c->is_baseline ? VERDICT_BLOCK_BASELINE : VERDICT_BLOCK_FREE;
    if (c->is_baseline)
        c->verdict.block_left_s = c->verdict.block_length_s = config->baseline_s;
}

/* Bars: values from the rolling medians, sides by the bands, then the cue. */
static void
judge(struct coach *c, const struct step *s)
{
    struct verdict *v = &c->verdict;
    for (int i = 0; i < v->n_bars; i++) {
        struct verdict_bar *bar = &v->bar[i];
        const struct run_median *r = &c->rolling[bar->metric];
        bar->value = run_median_of(&r->both);
        bar->value_left = run_median_of(&r->left);
        bar->value_right = run_median_of(&r->right);
        if (s && s->standing[bar->metric] != METRIC_MISSING)
            bar->standing = (enum metric_standing) s->standing[bar->metric];
        bar->side = band_feed(&c->band[i], bar->value);
    }
    if (v->is_feedback_shown)
        v->cue = cue_feed(&c->cue, v->time, v->bar, c->band, v->n_bars);
}

/* Once warm, the third plain bar becomes what this sensor can tell: landing ahead, the strike index, or
 * nothing. */
static void
settle_third_bar(struct coach *c)
{
    if (c->is_third_bar_settled || c->verdict.n_steps < 2 * RUN_MEDIAN_SPAN)
        return;
    c->is_third_bar_settled = true;
    if (c->rolling[METRIC_LANDING_AHEAD_MM].both.n > 0)
        return;
    if (c->rolling[METRIC_STRIKE_INDEX_PCT].both.n > 0)
        set_bar(c, 2, METRIC_STRIKE_INDEX_PCT, UNKNOWN, UNKNOWN, UNKNOWN);
    else
        c->verdict.n_bars = 2;
}

static void
add_landing(struct coach *c, const struct step *s)
{
    if (s->foot == STEP_FOOT_UNKNOWN || (isnan(s->value[METRIC_STRIKE_INDEX_PCT]) && s->zone == STEP_ZONE_UNKNOWN))
        return;
    const int foot = s->foot == STEP_FOOT_RIGHT;
    struct verdict_landing *row = c->verdict.landing[foot];
    memmove(row + 1, row, (VERDICT_N_LANDINGS - 1) * sizeof *row);
    row[0] = (struct verdict_landing){ s->value[METRIC_STRIKE_INDEX_PCT], s->zone, s->touchdown };
    if (c->verdict.n_landings[foot] < VERDICT_N_LANDINGS)
        c->verdict.n_landings[foot]++;
}

static void
reset_values(struct coach *c)
{
    for (int m = 0; m < METRIC_COUNT; m++)
        run_median_reset(&c->rolling[m]);
    cue_silence(&c->cue);
    c->verdict.cue = VERDICT_CUE_NONE;
    judge(c, NULL);
}

static void
feed_values(struct coach *c, const struct step *s, struct coach_recent *seen, bool is_foot_new)
{
    for (int m = 0; m < METRIC_COUNT; m++) {
        const uint64_t bit = UINT64_C(1) << m;
        if (isnan(s->value[m]))
            continue;
        if (!(seen->given & bit))
            run_median_feed(&c->rolling[m], s->foot, s->value[m]);
        else if (is_foot_new)
            run_median_feed_foot(&c->rolling[m], s->foot, s->value[m]);
        seen->given |= bit;
    }
}

static void
feed_trend(struct coach *c)
{
    const double value = run_median_of(&c->rolling[c->verdict.focus].both);
    if (c->trend_slot >= 0)
        c->verdict.trend[c->verdict.trend_head] = (float) value;
}

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

static bool
is_baseline_now(const struct coach *c)
{
    return c->is_baseline || (c->block.kind == VERDICT_BLOCK_BASELINE && c->verdict.baseline != VERDICT_BASELINE_ACCEPTED);
}

void
coach_feed_step(struct coach *c, const struct step *s)
{
    struct verdict *v = &c->verdict;
    if (s->gait != STEP_GAIT_RUNNING)
        return;
    struct coach_recent *seen = &c->recent[s->number % COACH_N_RECENT];
    const bool is_new = seen->number != s->number;
    const bool is_foot_new = !is_new && !seen->has_foot && s->foot != STEP_FOOT_UNKNOWN;
    if (is_new) {
        if (v->n_steps > 0 && units_dev_since_us(s->touchdown, c->last_step) > COACH_PAUSE_US)
            reset_values(c);
        *seen = (struct coach_recent){ .number = s->number };
        c->last_step = s->touchdown;
        v->n_steps++;
    }
    feed_values(c, s, seen, is_foot_new);
    seen->has_foot = s->foot != STEP_FOOT_UNKNOWN;
    if (is_new || is_foot_new)
        add_landing(c, s);
    if (is_baseline_now(c) && s->is_settled && units_dev_since_us(s->touchdown, c->block.start) >= 0)
        baseline_feed(&c->baseline, s);
    if (!isnan(s->value[METRIC_BELT_SPEED_M_S])) {
        c->is_speed_measured = s->standing[METRIC_BELT_SPEED_M_S] == METRIC_MEASURED;
        if (c->is_speed_measured || isnan(v->belt_speed_m_s))
            v->belt_speed_m_s = s->value[METRIC_BELT_SPEED_M_S];
    }
    if (is_new) {
        settle_third_bar(c);
        if (units_dev_since_us(s->toe_off, v->time) > 0)
            v->time = s->toe_off;
        v->arrived = v->last_value_at = s->arrived;
        judge(c, s);
        feed_trend(c);
    }
    v->serial++;
}

/* Targets from the baseline, unless there are some from before. False when it says too little for any. */
static bool
propose_targets(struct coach *c)
{
    struct target proposed[BASELINE_MAX_TARGETS];
    const int n = baseline_propose(&c->baseline, c->config.cadence_rule, proposed);
    if (n == 0)
        return false;
    c->verdict.baseline = VERDICT_BASELINE_ACCEPTED;
    c->verdict.baseline_text[0] = '\0';
    if (c->config.n_targets > 0)
        return true;
    memcpy(c->config.target, proposed, (size_t) n * sizeof *proposed);
    c->config.n_targets = n;
    c->are_targets_by_rule = true;
    use_targets(c);
    return true;
}

/* The baseline of a run without a plan is over when it was long enough and says enough. */
static void
end_baseline(struct coach *c)
{
    if (propose_targets(c))
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
    if (look.is_steady && propose_targets(c))
        return;
    v->baseline = VERDICT_BASELINE_UNSTEADY;
    baseline_look_text(&look, v->baseline_text, sizeof v->baseline_text);
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
        v->baseline_text[0] = '\0';
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

static void
feed_clock(struct coach *c, struct dev_time now, enum step_gait gait)
{
    struct verdict *v = &c->verdict;
    /* A baseline is of running; a plan's blocks are of the clock, but not of an empty belt. */
    const bool is_counting = !c->is_paused && (is_baseline_now(c) ? gait == STEP_GAIT_RUNNING
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

/* Opens the slots up to now; those without a step stay NAN. */
static void
move_trend(struct coach *c, struct dev_time now)
{
    struct verdict *v = &c->verdict;
    const int64_t slot = now.us / (VERDICT_TREND_SLOT_MS * UNITS_US_PER_MS);
    if (c->trend_slot < 0 || slot < c->trend_slot)
        c->trend_slot = slot - 1;
    if (slot - c->trend_slot > VERDICT_TREND_SLOTS)
        c->trend_slot = slot - VERDICT_TREND_SLOTS;
    for (; c->trend_slot < slot; c->trend_slot++) {
        v->trend_head = (v->trend_head + 1) % VERDICT_TREND_SLOTS;
        v->trend[v->trend_head] = (float) NAN;
        v->trend_is_silent[v->trend_head] = !v->is_feedback_shown;
    }
}

void
coach_feed_time(struct coach *c, struct dev_time now, enum step_gait gait)
{
    struct verdict *v = &c->verdict;
    if (units_dev_since_us(now, v->time) > 0)
        v->time = now;
    v->gait = gait;
    if (v->n_steps > 0 && units_dev_since_us(now, c->last_step) > COACH_PAUSE_US && c->rolling[METRIC_CADENCE_SPM].both.n)
        reset_values(c);
    feed_clock(c, now, gait);
    move_trend(c, now);
    v->serial++;
}

void
coach_set_sensor(struct coach *c, enum verdict_sensor sensor, const char *message)
{
    struct verdict *v = &c->verdict;
    if (v->sensor == sensor && strcmp(v->message, message) == 0)
        return;
    v->sensor = sensor;
    str_copy(v->message, sizeof v->message, message);
    v->serial++;
}

static void
set_targets(struct coach *c, const struct command *m)
{
    assert(m->n_targets >= 1 && m->n_targets <= VERDICT_MAX_BARS);
    memcpy(c->config.target, m->target, (size_t) m->n_targets * sizeof *m->target);
    c->config.n_targets = m->n_targets;
    c->config.focus = m->focus;
    c->is_baseline = false;
    c->are_targets_by_rule = false;
    use_targets(c);
    judge(c, NULL);
}

static void
skip_block(struct coach *c)
{
    if (c->is_baseline)
        c->is_baseline = false; /* without targets: values without bands */
    else
        plan_skip(&c->config.plan, c->clock.run_us);
}

static void
accept_baseline(struct coach *c)
{
    if (!is_baseline_now(c) || !propose_targets(c))
        return;
    if (c->is_baseline)
        c->is_baseline = false;
    else
        plan_skip(&c->config.plan, c->clock.run_us);
}

void
coach_command(struct coach *c, const struct command *m)
{
    switch (m->kind) {
    case COMMAND_PAUSE:
    case COMMAND_RESUME:
        c->is_paused = c->verdict.is_paused = m->kind == COMMAND_PAUSE;
        break;
    case COMMAND_SKIP:
        skip_block(c);
        break;
    case COMMAND_EXTEND:
        if (c->is_baseline)
            c->config.baseline_s += m->number;
        else
            plan_extend(&c->config.plan, c->clock.run_us, m->number);
        break;
    case COMMAND_FEEDBACK:
        c->feedback = (enum command_feedback) m->number;
        break;
    case COMMAND_BELT_SPEED:
        c->verdict.belt_speed_m_s = c->entered_speed_m_s = m->number;
        c->is_sped = true;
        break;
    case COMMAND_TARGETS:
        set_targets(c, m);
        break;
    case COMMAND_ACCEPT_BASELINE:
        accept_baseline(c);
        break;
    case COMMAND_END:
        coach_end(c);
        break;
    }
    c->verdict.serial++;
}

bool
coach_take_belt_speed(struct coach *c, double *m_s)
{
    if (isnan(c->entered_speed_m_s))
        return false;
    *m_s = c->entered_speed_m_s;
    c->entered_speed_m_s = UNKNOWN;
    return true;
}

void
coach_end(struct coach *c)
{
    c->is_over = true;
    c->verdict.block = VERDICT_BLOCK_ENDED;
    c->verdict.block_left_s = UNKNOWN;
    cue_silence(&c->cue);
    c->verdict.cue = VERDICT_CUE_NONE;
    c->verdict.serial++;
}

void
coach_verdict(const struct coach *c, struct verdict *out)
{
    *out = c->verdict;
}

bool
coach_is_feedback_shown(const struct coach *c)
{
    return c->is_offered;
}

const struct coach_block *
coach_block(const struct coach *c)
{
    return &c->block;
}

int
coach_targets(const struct coach *c, const struct target **out)
{
    *out = c->config.target;
    return c->config.n_targets;
}
