#include "coach/coach.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

/* A runner on virtual time: steps every 60 / cadence s, frames every 20 ms. */
struct rig {
    struct coach coach;
    struct verdict v;
    int64_t now_us;
    uint32_t number;
    double cadence_spm, ahead_mm, strike_pct;
    bool is_settled_only_ahead; /* landing ahead comes only with the settled record */
};
static struct rig RIG_EMPTY;

static struct rig *
rig_new(const struct coach_config *config)
{
    struct rig *r = malloc(sizeof *r);
    *r = RIG_EMPTY;
    r->cadence_spm = 165;
    r->ahead_mm = 210;
    r->strike_pct = 20;
    coach_init(&r->coach, config);
    coach_set_sensor(&r->coach, VERDICT_SENSOR_LIVE, &(struct message){ .code = MESSAGE_NONE });
    return r;
}

static struct step
step_now(const struct rig *r, uint32_t number, bool is_settled)
{
    struct step s = { .number = number,
                      .is_settled = is_settled,
                      .foot = number % 2 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT,
                      .gait = STEP_GAIT_RUNNING,
                      .zone = STEP_ZONE_REAR,
                      .touchdown = { r->now_us },
                      .toe_off = { r->now_us + 250000 },
                      .arrived = { r->now_us + 7 } };
    for (int m = 0; m < METRIC_COUNT; m++)
        s.value[m] = NAN;
    s.value[METRIC_CADENCE_SPM] = r->cadence_spm;
    s.value[METRIC_CONTACT_MS] = 250;
    s.value[METRIC_LANDING_AHEAD_MM] = r->is_settled_only_ahead && !is_settled ? (double) NAN : r->ahead_mm;
    s.value[METRIC_STRIKE_INDEX_PCT] = r->strike_pct;
    for (int m = 0; m < METRIC_COUNT; m++)
        s.standing[m] = (uint8_t) (isnan(s.value[m]) ? METRIC_MISSING : METRIC_MEASURED);
    return s;
}

static void
run_time(struct rig *r, double seconds, enum step_gait gait)
{
    for (const int64_t end_us = r->now_us + units_us_from_s(seconds); r->now_us < end_us; r->now_us += 20000)
        coach_feed_time(&r->coach, (struct dev_time){ r->now_us }, gait);
    coach_verdict(&r->coach, &r->v);
}

static void
run_steps(struct rig *r, int n)
{
    for (int i = 0; i < n; i++) {
        const struct step live = step_now(r, ++r->number, false);
        coach_feed_step(&r->coach, &live);
        if (r->number > 4) {
            const struct step settled = step_now(r, r->number - 4, true);
            coach_feed_step(&r->coach, &settled);
        }
        run_time(r, 60 / r->cadence_spm, STEP_GAIT_RUNNING);
    }
}

static struct coach_config
with_cadence_target(double low, double high)
{
    struct coach_config c = coach_config_default();
    c.n_targets = 1;
    c.target[0] = (struct target){ METRIC_CADENCE_SPM, low, high, NAN, true };
    return c;
}

Test(coach, counts_before_it_judges)
{
    const struct coach_config c = with_cadence_target(170, 180);
    struct rig *r = rig_new(&c);
    run_steps(r, RUN_MEDIAN_MIN_STEPS - 1);
    cr_assert(isnan(r->v.bar[0].value));
    cr_assert_eq(r->v.bar[0].side, VERDICT_UNKNOWN);
    cr_assert_eq(r->v.cue, VERDICT_CUE_NONE);
    run_steps(r, 1);
    cr_assert_eq(r->v.bar[0].value, 165);
    cr_assert_eq(r->v.bar[0].side, VERDICT_BELOW);
    cr_assert_eq(r->v.cue, VERDICT_CUE_QUICKER_STEPS);
    cr_assert_eq(r->v.focus, METRIC_CADENCE_SPM);
    cr_assert_eq(r->v.n_steps, RUN_MEDIAN_MIN_STEPS);
    free(r);
}

Test(coach, every_change_has_a_new_serial)
{
    const struct coach_config c = with_cadence_target(170, 180);
    struct rig *r = rig_new(&c);
    coach_verdict(&r->coach, &r->v);
    const uint64_t before = r->v.serial;
    const struct step s = step_now(r, 1, false);
    coach_feed_step(&r->coach, &s);
    coach_verdict(&r->coach, &r->v);
    cr_assert_eq(r->v.serial, before + 1);
    cr_assert_eq(r->v.arrived.us, 7);
    coach_set_sensor(&r->coach, VERDICT_SENSOR_LIVE, &(struct message){ .code = MESSAGE_NONE });
    coach_verdict(&r->coach, &r->v);
    cr_assert_eq(r->v.serial, before + 1, "nothing changed");
    free(r);
}

Test(coach, without_targets_a_silent_baseline_comes_first_and_bands_follow_from_it)
{
    struct coach_config c = coach_config_default();
    c.baseline_s = 20;
    struct rig *r = rig_new(&c);
    run_steps(r, 50); /* 18 s */
    cr_assert_eq(r->v.block, VERDICT_BLOCK_BASELINE);
    cr_assert(!r->v.is_feedback_shown);
    cr_assert_eq(r->v.cue, VERDICT_CUE_NONE);
    cr_assert_float_eq(r->v.block_left_s, 20 - units_s_from_us(r->now_us), 0.03);
    cr_assert(isnan(r->v.bar[0].low));
    cr_assert(coach_block(&r->coach)->index == 0 && coach_block(&r->coach)->kind == VERDICT_BLOCK_BASELINE);
    run_steps(r, 10);
    cr_assert(coach_block(&r->coach)->index == 1 && coach_block(&r->coach)->kind == VERDICT_BLOCK_FREE);
    cr_assert_float_eq(units_s_from_us(coach_block(&r->coach)->start.us), 20, 0.05);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_FREE);
    cr_assert(r->v.is_feedback_shown);
    cr_assert_eq(r->v.n_bars, 3);
    cr_assert_float_eq(r->v.bar[0].low, 165 * 1.025, 1e-9);
    cr_assert_float_eq(r->v.bar[0].high, 165 * 1.075, 1e-9);
    cr_assert_eq(r->v.bar[0].baseline, 165);
    cr_assert_eq(r->v.bar[2].metric, METRIC_LANDING_AHEAD_MM);
    cr_assert_eq(r->v.bar[0].side, VERDICT_BELOW);
    cr_assert_eq(r->v.bar[1].side, VERDICT_IN);
    cr_assert_eq(r->v.cue, VERDICT_CUE_QUICKER_STEPS);
    r->cadence_spm = 174;
    run_steps(r, 30);
    cr_assert_eq(r->v.bar[0].side, VERDICT_IN);
    cr_assert_eq(r->v.cue, VERDICT_CUE_NONE);
    free(r);
}

Test(coach, a_baseline_with_nobody_running_does_not_run_out)
{
    struct coach_config c = coach_config_default();
    c.baseline_s = 20;
    struct rig *r = rig_new(&c);
    run_time(r, 60, STEP_GAIT_OFF);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_BASELINE);
    cr_assert_eq(r->v.block_left_s, 20);
    free(r);
}

Test(coach, the_third_bar_is_what_the_sensor_can_tell)
{
    static const struct {
        double ahead_mm, strike_pct;
        int n_bars;
        enum metric third;
    } rows[] = { { 210, 20, 3, METRIC_LANDING_AHEAD_MM },
                 { NAN, 20, 3, METRIC_STRIKE_INDEX_PCT },
                 { NAN, NAN, 2, METRIC_COUNT } };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct coach_config c = coach_config_default();
        struct rig *r = rig_new(&c);
        r->ahead_mm = rows[i].ahead_mm;
        r->strike_pct = rows[i].strike_pct;
        run_steps(r, 2 * RUN_MEDIAN_SPAN);
        cr_assert_eq(r->v.n_bars, rows[i].n_bars);
        if (rows[i].n_bars == 3)
            cr_assert_eq(r->v.bar[2].metric, rows[i].third);
        free(r);
    }
}

/* case 3 and 4 */
Test(coach, a_settled_step_adds_what_the_live_one_lacked_and_nothing_twice)
{
    struct coach_config c = coach_config_default();
    c.n_targets = 2;
    c.target[0] = (struct target){ METRIC_CADENCE_SPM, 170, 180, NAN, true };
    c.target[1] = (struct target){ METRIC_LANDING_AHEAD_MM, 100, 200, NAN, false };
    struct rig *r = rig_new(&c);
    r->is_settled_only_ahead = true;
    run_steps(r, 8);
    cr_assert_eq(r->coach.rolling[METRIC_CADENCE_SPM].both.n, 8);
    cr_assert_eq(r->coach.rolling[METRIC_CADENCE_SPM].left.n, 4);
    cr_assert_eq(r->coach.rolling[METRIC_LANDING_AHEAD_MM].both.n, 4);
    cr_assert_eq(r->v.n_steps, 8);
    cr_assert_eq(r->v.landing[0].n_earlier, 2);
    cr_assert_eq(r->v.landing[1].n_earlier, 2);
    run_steps(r, 1);
    cr_assert_eq(r->v.bar[1].value, 210);
    cr_assert_eq(r->v.bar[1].side, VERDICT_ABOVE);
    free(r);
}

/* case 1 and 5 */
Test(coach, values_go_when_the_runner_stops_and_counting_begins_anew)
{
    const struct coach_config c = with_cadence_target(170, 180);
    struct rig *r = rig_new(&c);
    run_steps(r, 10);
    run_time(r, 3, STEP_GAIT_OFF);
    cr_assert_eq(r->v.bar[0].value, 165);
    run_time(r, 2, STEP_GAIT_OFF);
    cr_assert(isnan(r->v.bar[0].value));
    cr_assert_eq(r->v.bar[0].side, VERDICT_UNKNOWN);
    cr_assert_eq(r->v.cue, VERDICT_CUE_NONE);
    cr_assert_eq(r->v.gait, STEP_GAIT_OFF);
    run_steps(r, 1);
    cr_assert(isnan(r->v.bar[0].value));
    run_steps(r, 3);
    cr_assert_eq(r->v.bar[0].value, 165);
    free(r);
}

/* case 2 */
Test(coach, a_lost_sensor_keeps_the_values_and_says_so)
{
    const struct coach_config c = with_cadence_target(170, 180);
    struct rig *r = rig_new(&c);
    run_steps(r, 10);
    struct message gone;
    message_say(&gone, "The sensor was unplugged.");
    coach_set_sensor(&r->coach, VERDICT_SENSOR_GONE, &gone);
    coach_verdict(&r->coach, &r->v);
    cr_assert_eq(r->v.sensor, VERDICT_SENSOR_GONE);
    cr_assert_str_eq(message_english(&r->v.message), "The sensor was unplugged.");
    cr_assert_eq(r->v.bar[0].value, 165);
    free(r);
}

Test(coach, walking_steps_are_not_coached)
{
    const struct coach_config c = with_cadence_target(170, 180);
    struct rig *r = rig_new(&c);
    for (uint32_t i = 1; i < 20; i++) {
        struct step s = step_now(r, i, false);
        s.gait = STEP_GAIT_WALKING;
        coach_feed_step(&r->coach, &s);
    }
    coach_verdict(&r->coach, &r->v);
    cr_assert_eq(r->v.n_steps, 0);
    cr_assert(isnan(r->v.bar[0].value));
    free(r);
}

Test(coach, the_trend_holds_the_last_two_minutes_of_the_focus_metric)
{
    const struct coach_config c = with_cadence_target(170, 180);
    struct rig *r = rig_new(&c);
    run_time(r, 1, STEP_GAIT_OFF);
    run_steps(r, 165);
    cr_assert_eq(r->v.trend[r->v.trend_head == 0 ? VERDICT_TREND_SLOTS - 1 : r->v.trend_head - 1], 165);
    r->cadence_spm = 180;
    run_steps(r, 540); /* three minutes */
    int n_old = 0, n_known = 0;
    for (int i = 0; i < VERDICT_TREND_SLOTS; i++) {
        n_known += !isnan(r->v.trend[i]);
        n_old += r->v.trend[i] < 170;
    }
    cr_assert_eq(n_old, 0);
    cr_assert_geq(n_known, VERDICT_TREND_SLOTS - 1);
    run_time(r, 10, STEP_GAIT_OFF);
    n_known = 0;
    for (int i = 0; i < VERDICT_TREND_SLOTS; i++)
        n_known += !isnan(r->v.trend[i]);
    cr_assert_leq(n_known, VERDICT_TREND_SLOTS - 19, "slots without a step are unknown");
    free(r);
}

Test(coach, the_trend_moves_by_half_seconds_from_the_very_first)
{
    const struct coach_config c = with_cadence_target(170, 180);
    struct rig *r = rig_new(&c);
    coach_feed_time(&r->coach, (struct dev_time){ 100000 }, STEP_GAIT_OFF); /* slot 0 */
    coach_verdict(&r->coach, &r->v);
    const int head = r->v.trend_head;
    coach_feed_time(&r->coach, (struct dev_time){ 5100000 }, STEP_GAIT_OFF);
    coach_verdict(&r->coach, &r->v);
    cr_expect_eq((r->v.trend_head - head + VERDICT_TREND_SLOTS) % VERDICT_TREND_SLOTS, 10);
    free(r);
}

Test(coach, the_trend_begins_anew_with_another_focus_and_only_then)
{
    const struct coach_config c = with_cadence_target(170, 180);
    struct rig *r = rig_new(&c);
    run_time(r, 1, STEP_GAIT_OFF);
    run_steps(r, 60);
    for (int round = 0; round < 2; round++) {
        struct command targets = { .kind = COMMAND_TARGETS,
                                   .n_targets = 2,
                                   .target = { { METRIC_CADENCE_SPM, 171, 181, NAN, true },
                                               { METRIC_CONTACT_MS, 200, 260, NAN, false } },
                                   .focus = round == 0 ? METRIC_CADENCE_SPM : METRIC_CONTACT_MS };
        coach_command(&r->coach, &targets);
        run_time(r, 0.1, STEP_GAIT_RUNNING);
        cr_assert_eq(r->v.focus, targets.focus);
        int n_known = 0;
        for (int i = 0; i < VERDICT_TREND_SLOTS; i++)
            n_known += !isnan(r->v.trend[i]);
        if (round == 0)
            cr_expect_geq(n_known, 35, "60 steps of 165 a minute fill 43 slots of half a second; %d", n_known);
        else
            cr_expect_leq(n_known, 1, "cadence is no contact time; %d", n_known);
    }
    free(r);
}

Test(coach, a_plan_withholds_feedback_and_marks_the_trend)
{
    struct coach_config c = with_cadence_target(170, 180);
    c.plan = (struct plan){ .n_blocks = 2 };
    c.plan.block[0] = (struct plan_block){ VERDICT_BLOCK_COACHED, 30, 2.8, 1, 0 };
    c.plan.block[1] = (struct plan_block){ VERDICT_BLOCK_SILENT, 30, 2.8, 0, 0 };
    struct rig *r = rig_new(&c);
    cr_assert_eq(coach_block(&r->coach)->index, -1);
    run_steps(r, 60); /* 21.8 s */
    cr_assert(coach_block(&r->coach)->index == 0 && coach_block(&r->coach)->shown_share == 1);
    cr_assert(r->v.is_feedback_shown && r->v.cue == VERDICT_CUE_QUICKER_STEPS);
    cr_assert(!r->v.trend_is_silent[r->v.trend_head]);
    run_steps(r, 40);
    cr_assert(!r->v.is_feedback_shown);
    cr_assert_eq(r->v.cue, VERDICT_CUE_NONE);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_SILENT);
    cr_assert(r->v.trend_is_silent[r->v.trend_head]);
    cr_assert(coach_block(&r->coach)->index == 1 && coach_block(&r->coach)->shown_share == 0);
    cr_assert_float_eq(units_s_from_us(coach_block(&r->coach)->start.us), 30, 0.05);
    cr_assert_eq(r->v.bar[0].value, 165, "silent time is measured all the same");
    run_steps(r, 80);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_ENDED);
    free(r);
}

Test(coach, each_foots_landing_is_its_own_median_against_the_band)
{
    struct coach_config c = coach_config_default();
    c.n_targets = 1;
    c.target[0] = (struct target){ METRIC_LANDING_AHEAD_MM, 180, 205, NAN, true };
    struct rig *r = rig_new(&c);
    cr_assert_not(r->v.has_landing);
    for (int i = 0; i < 2 * RUN_MEDIAN_MIN_STEPS; i++) {
        r->ahead_mm = i % 2 ? 190 : 215 + i; /* odd numbers are the left foot's */
        run_steps(r, 1);
        cr_assert(r->v.has_landing);
        cr_assert_eq(isnan(r->v.landing[0].middle_mm), i / 2 + 1 < RUN_MEDIAN_MIN_STEPS, "counting until warm");
    }
    cr_assert_eq(r->v.landing_low_mm, 180);
    cr_assert_eq(r->v.landing[0].middle_mm, 218);
    cr_assert_eq(r->v.landing[0].side, VERDICT_ABOVE);
    cr_assert_eq(r->v.landing[1].middle_mm, 190);
    cr_assert_eq(r->v.landing[1].side, VERDICT_IN);
    cr_assert_eq(r->v.landing[0].earlier_mm[0], 221, "newest first");
    cr_assert(isnan(r->v.landing[0].first_mm), "no first load told");
    run_time(r, 5, STEP_GAIT_OFF);
    cr_assert(isnan(r->v.landing[0].middle_mm), "what is over is not shown as live");
    cr_assert_eq(r->v.landing[0].n_earlier, 0);
    cr_assert(r->v.has_landing, "the ruler stays");
    free(r);
}

Test(coach, a_run_that_tells_no_place_has_no_landing)
{
    const struct coach_config c = coach_config_default();
    struct rig *r = rig_new(&c);
    r->ahead_mm = NAN;
    run_steps(r, 20);
    cr_assert_not(r->v.has_landing);
    free(r);
}
