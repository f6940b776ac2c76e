#include "coach/coach_parts.h"

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
                                   .landing_low_mm = UNKNOWN,
                                   .landing_high_mm = UNKNOWN };
    for (int foot = 0; foot < 2; foot++) {
        c->verdict.landing[foot].middle_mm = c->verdict.landing[foot].first_mm = UNKNOWN;
        band_init(&c->landing_band[foot], UNKNOWN, UNKNOWN);
    }
    coach_clear_trend(c);
    cue_init(&c->cue);
    baseline_init(&c->baseline);
    plan_clock_init(&c->clock);
    c->block.index = -1;
    if (config->n_targets > 0)
        coach_use_targets(c);
    else
        coach_set_plain_bars(c);
    c->is_baseline = config->n_targets == 0 && config->baseline_s > 0 && config->plan.n_blocks == 0;
    c->is_paused = c->verdict.is_paused = config->is_waiting;
    c->entered_speed_m_s = UNKNOWN;
    c->verdict.n_plan_blocks = config->plan.n_blocks;
    for (int i = 0; i < config->plan.n_blocks; i++)
        if (config->plan.block[i].kind == VERDICT_BLOCK_COACHED)
            c->planned_s += config->plan.block[i].length_s;
    c->verdict.baseline = c->is_baseline ? VERDICT_BASELINE_RUNS : VERDICT_BASELINE_NONE;
    c->is_offered = c->verdict.is_feedback_shown = !c->is_baseline;
    c->verdict.block = c->is_baseline ? VERDICT_BLOCK_BASELINE : VERDICT_BLOCK_FREE;
    if (c->is_baseline)
        c->verdict.block_left_s = c->verdict.block_length_s = config->baseline_s;
}

/* One step's mark behind that foot's median. */
static void
add_landing(struct coach *c, const struct step *s)
{
    struct verdict_landing *l = &c->verdict.landing[s->foot == STEP_FOOT_RIGHT];
    memmove(l->earlier_mm + 1, l->earlier_mm, (VERDICT_N_LANDINGS - 1) * sizeof l->earlier_mm[0]);
    l->earlier_mm[0] = s->value[METRIC_LANDING_AHEAD_MM];
    if (l->n_earlier < VERDICT_N_LANDINGS)
        l->n_earlier++;
    c->verdict.has_landing = true;
    c->verdict.landing_standing = (enum metric_standing) s->standing[METRIC_LANDING_AHEAD_MM];
}

static void
reset_values(struct coach *c)
{
    for (int m = 0; m < METRIC_COUNT; m++)
        run_median_reset(&c->rolling[m]);
    c->verdict.landing[0].n_earlier = c->verdict.landing[1].n_earlier = 0;
    cue_silence(&c->cue);
    c->verdict.cue = VERDICT_CUE_NONE;
    coach_judge(c, NULL);
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
    const bool has_landed = seen->given & UINT64_C(1) << METRIC_LANDING_AHEAD_MM;
    feed_values(c, s, seen, is_foot_new);
    seen->has_foot = s->foot != STEP_FOOT_UNKNOWN;
    if (seen->has_foot && !isnan(s->value[METRIC_LANDING_AHEAD_MM]) && (is_foot_new || !has_landed))
        add_landing(c, s);
    if (coach_is_baseline_now(c) && s->is_settled && units_dev_since_us(s->touchdown, c->block.start) >= 0)
        baseline_feed(&c->baseline, s);
    if (!isnan(s->value[METRIC_BELT_SPEED_M_S])) {
        c->is_speed_measured = v->is_speed_measured = s->standing[METRIC_BELT_SPEED_M_S] == METRIC_MEASURED;
        if (c->is_speed_measured || isnan(v->belt_speed_m_s))
            v->belt_speed_m_s = s->value[METRIC_BELT_SPEED_M_S];
    }
    if (is_new) {
        coach_settle_third_bar(c);
        if (units_dev_since_us(s->toe_off, v->time) > 0)
            v->time = s->toe_off;
        v->arrived = v->last_value_at = s->arrived;
        coach_judge(c, s);
        feed_trend(c);
    }
    v->serial++;
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
    coach_feed_clock(c, now, gait);
    move_trend(c, now);
    v->serial++;
}

void
coach_set_sensor(struct coach *c, enum verdict_sensor sensor, const struct message *message)
{
    struct verdict *v = &c->verdict;
    if (v->sensor == sensor && message_is_same(&v->message, message))
        return;
    v->sensor = sensor;
    v->message = *message;
    v->serial++;
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

bool
coach_is_cut_short(const struct coach *c)
{
    const struct verdict *v = &c->verdict;
    return v->n_plan_blocks > 0 && (v->plan_index < v->n_plan_blocks || c->skipped_s > COACH_SKIPPED_MAX * c->planned_s);
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
