/* The coach under a plan: the baseline's acceptance, targets from it, commands, bandwidth feedback. */
#include "coach/coach.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A runner on virtual time: steps every 60 / cadence s, frames every 20 ms. */
struct rig {
    struct coach coach;
    struct verdict v;
    int64_t now_us;
    uint32_t number;
    double cadence_spm, contact_ms, wobble_spm, drift_spm_s, speed_m_s, speed_up_m_s2; /* speed 0: not known */
};

static struct rig *r; /* one a test process */

static void
remove_rig(void)
{
    free(r);
}

TestSuite(coach_plan, .fini = remove_rig);

static struct coach_config
with_plan(double baseline_s)
{
    struct coach_config c = coach_config_default();
    c.plan.n_blocks = 4;
    c.plan.block[0] = (struct plan_block){ VERDICT_BLOCK_WARM_UP, 30, 2.4, 0, 0 };
    c.plan.block[1] = (struct plan_block){ VERDICT_BLOCK_BASELINE, baseline_s, 3.0, 0, 0 };
    c.plan.block[2] = (struct plan_block){ VERDICT_BLOCK_COACHED, 120, 3.0, 0.5, 0 };
    c.plan.block[3] = (struct plan_block){ VERDICT_BLOCK_SILENT, 60, 3.0, 0, 0 };
    return c;
}

/* And a cadence target, above what is run. */
static struct coach_config
with_plan_and_target(double baseline_s)
{
    struct coach_config c = with_plan(baseline_s);
    c.n_targets = 1;
    c.target[0] = (struct target){ METRIC_CADENCE_SPM, 171, 179, 155, true };
    return c;
}

static void
start(const struct coach_config *c)
{
    r = calloc(1, sizeof *r);
    r->cadence_spm = 160;
    r->contact_ms = 260;
    coach_init(&r->coach, c);
    coach_set_sensor(&r->coach, VERDICT_SENSOR_LIVE, &(struct message){ .code = MESSAGE_NONE });
}

static void
run_time(double seconds, enum step_gait gait)
{
    for (const int64_t end_us = r->now_us + units_us_from_s(seconds); r->now_us < end_us; r->now_us += 20000)
        coach_feed_time(&r->coach, (struct dev_time){ r->now_us }, gait);
    coach_verdict(&r->coach, &r->v);
}

static void
one_step(void)
{
    struct step s = { .number = ++r->number,
                      .is_settled = true,
                      .foot = r->number % 2 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT,
                      .gait = STEP_GAIT_RUNNING,
                      .touchdown = { r->now_us },
                      .toe_off = { r->now_us + 250000 } };
    /* Two quick, two slow steps in turn: strides differ, not sides. */
    const double cadence = r->cadence_spm + (r->number / 2 % 2 ? r->wobble_spm : -r->wobble_spm);
    for (int m = 0; m < METRIC_COUNT; m++)
        s.value[m] = NAN;
    s.value[METRIC_CADENCE_SPM] = cadence;
    s.value[METRIC_CONTACT_MS] = r->contact_ms;
    if (r->speed_m_s > 0) {
        s.value[METRIC_BELT_SPEED_M_S] = r->speed_m_s + (r->number % 2 ? 0.03 : -0.03);
        s.standing[METRIC_BELT_SPEED_M_S] = METRIC_MEASURED;
    }
    s.standing[METRIC_CADENCE_SPM] = s.standing[METRIC_CONTACT_MS] = METRIC_MEASURED;
    coach_feed_step(&r->coach, &s);
    run_time(60 / cadence, STEP_GAIT_RUNNING);
    r->cadence_spm += r->drift_spm_s * 60 / cadence;
    r->speed_m_s += r->speed_up_m_s2 * 60 / cadence;
}

static void
run_for(double seconds)
{
    for (const int64_t end_us = r->now_us + units_us_from_s(seconds); r->now_us < end_us;)
        one_step();
}

static void
tell(enum command_kind kind, double number)
{
    const struct command c = { .kind = kind, .number = number };
    coach_command(&r->coach, &c);
    run_time(0.04, STEP_GAIT_RUNNING);
}

Test(coach_plan, a_steady_baseline_is_accepted_and_gives_the_targets)
{
    const struct coach_config c = with_plan(60);
    const struct target *t;
    start(&c);
    run_for(60);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_BASELINE);
    cr_assert_eq(r->v.baseline, VERDICT_BASELINE_RUNS);
    run_for(32);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_COACHED);
    cr_assert_eq(r->v.baseline, VERDICT_BASELINE_ACCEPTED);
    cr_assert_geq(coach_targets(&r->coach, &t), 2);
    cr_assert_float_eq(0.5 * (t[0].low + t[0].high), 168, 0.1);
    cr_assert(r->coach.are_targets_by_rule);
    cr_assert_eq(r->v.target_version, 1);
}

Test(coach_plan, an_unsteady_baseline_goes_on_until_it_is_steady)
{
    const struct coach_config c = with_plan(60);
    start(&c);
    r->wobble_spm = 14; /* stride times +- 8.8 % */
    run_for(100);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_BASELINE);
    cr_assert_eq(r->v.baseline, VERDICT_BASELINE_UNSTEADY);
    cr_assert(strstr(message_english(&r->v.baseline_why), "stride time varies"), "%s", message_english(&r->v.baseline_why));
    r->wobble_spm = 0;
    run_for(75);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_COACHED);
    cr_assert_eq(r->v.baseline, VERDICT_BASELINE_ACCEPTED);
}

Test(coach_plan, a_drifting_baseline_is_not_accepted_and_ends_without_targets)
{
    const struct coach_config c = with_plan(60);
    const struct target *t;
    start(&c);
    r->drift_spm_s = 0.25; /* 3.75 steps/min in a quarter of a minute */
    run_for(95);
    cr_assert(strstr(message_english(&r->v.baseline_why), "cadence moved"), "%s", message_english(&r->v.baseline_why));
    run_for(COACH_BASELINE_MORE_MAX_S + 5);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_COACHED);
    cr_assert_eq(coach_targets(&r->coach, &t), 0);
    cr_assert_eq(r->v.baseline, VERDICT_BASELINE_UNSTEADY);
}

Test(coach_plan, a_baseline_on_a_belt_that_speeds_up_is_not_accepted)
{
    const struct coach_config c = with_plan(60);
    start(&c);
    r->speed_m_s = 2.5;
    r->speed_up_m_s2 = 0.004; /* 0.06 m/s from quarter to quarter minute: 2.4 % */
    run_for(95);
    cr_assert_eq(r->v.baseline, VERDICT_BASELINE_UNSTEADY);
    cr_assert(strstr(message_english(&r->v.baseline_why), "belt speed moved by +"), "%s", message_english(&r->v.baseline_why));
    r->speed_up_m_s2 = 0;
    run_for(75);
    cr_assert_eq(r->v.baseline, VERDICT_BASELINE_ACCEPTED);
}

Test(coach_plan, a_visit_whose_coached_running_was_mostly_skipped_is_cut_short)
{
    const struct coach_config c = with_plan_and_target(60); /* 30 warm-up, 60 baseline, 120 coached, 60 silent */
    start(&c);
    run_for(92 + 70);
    cr_assert(coach_is_cut_short(&r->coach), "before its end");
    tell(COMMAND_SKIP, 0); /* 50 of 120 s */
    run_for(62);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_ENDED);
    cr_assert_not(coach_is_cut_short(&r->coach));
    free(r);
    start(&c);
    run_for(92 + 40);
    tell(COMMAND_SKIP, 0); /* 80 of 120 s */
    run_for(62);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_ENDED);
    cr_assert(coach_is_cut_short(&r->coach));
}

Test(coach_plan, a_person_may_accept_an_unsteady_baseline)
{
    const struct coach_config c = with_plan(60);
    const struct target *t;
    start(&c);
    r->wobble_spm = 14;
    run_for(100);
    tell(COMMAND_ACCEPT_BASELINE, 0);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_COACHED);
    cr_assert_geq(coach_targets(&r->coach, &t), 2);
}

Test(coach_plan, targets_from_before_stay_when_the_baseline_is_accepted)
{
    const struct coach_config c = with_plan_and_target(60);
    const struct target *t;
    start(&c);
    run_for(95);
    cr_assert_eq(r->v.baseline, VERDICT_BASELINE_ACCEPTED);
    cr_assert_eq(coach_targets(&r->coach, &t), 1);
    cr_assert_eq(t[0].low, 171);
}

Test(coach_plan, who_steps_off_stops_the_clock_and_it_goes_on_where_it_was)
{
    const struct coach_config c = with_plan(60);
    start(&c);
    run_for(20);
    const double left_s = r->v.block_left_s;
    run_time(60, STEP_GAIT_OFF);
    cr_assert(r->v.is_clock_stopped && !r->v.is_paused);
    cr_assert_float_eq(r->v.block_left_s, left_s, 0.05);
    run_for(5);
    cr_assert(!r->v.is_clock_stopped);
    cr_assert_float_eq(r->v.block_left_s, left_s - 5, 0.4);
    cr_assert_eq(coach_block(&r->coach)->index, 0, "no new block");
}

Test(coach_plan, a_pause_is_a_block_of_its_own_and_withholds_feedback)
{
    const struct coach_config c = with_plan_and_target(60);
    start(&c);
    run_for(95);
    cr_assert(r->v.is_feedback_shown);
    const double left_s = r->v.block_left_s;
    tell(COMMAND_PAUSE, 0);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_PAUSED);
    cr_assert(!r->v.is_feedback_shown && !coach_is_feedback_shown(&r->coach));
    cr_assert_eq(coach_block(&r->coach)->index, 3);
    run_for(30);
    tell(COMMAND_RESUME, 0);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_COACHED);
    cr_assert_float_eq(r->v.block_left_s, left_s, 0.1);
    cr_assert_eq(coach_block(&r->coach)->index, 4);
    cr_assert_float_eq(coach_block(&r->coach)->planned_s, left_s, 0.1);
}

Test(coach_plan, a_plan_that_waits_begins_with_resume)
{
    struct coach_config c = with_plan(60);
    c.is_waiting = true;
    start(&c);
    run_for(30);
    cr_assert(r->v.block == VERDICT_BLOCK_PAUSED && r->v.is_paused && r->v.block_left_s == 30);
    tell(COMMAND_RESUME, 0);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_WARM_UP);
    cr_assert_float_eq(coach_block(&r->coach)->planned_s, 30, 0.05);
}

Test(coach_plan, skip_and_extend_act_on_the_block_that_runs)
{
    const struct coach_config c = with_plan(60);
    start(&c);
    run_for(10);
    tell(COMMAND_EXTEND, 60);
    cr_assert_float_eq(r->v.block_left_s, 80, 0.5);
    tell(COMMAND_SKIP, 0);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_BASELINE);
    tell(COMMAND_SKIP, 0);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_COACHED);
    tell(COMMAND_SKIP, 0);
    tell(COMMAND_SKIP, 0);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_ENDED);
    tell(COMMAND_SKIP, 0);
    tell(COMMAND_EXTEND, 60);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_ENDED);
}

Test(coach_plan, belt_speed_comes_with_the_block_or_by_command_and_the_engine_is_told)
{
    const struct coach_config c = with_plan(60);
    double m_s;
    start(&c);
    run_for(1);
    cr_assert(coach_take_belt_speed(&r->coach, &m_s) && m_s == 2.4);
    cr_assert(!coach_take_belt_speed(&r->coach, &m_s));
    const struct command faster = { .kind = COMMAND_BELT_SPEED, .number = 2.6 };
    coach_command(&r->coach, &faster);
    cr_assert(coach_take_belt_speed(&r->coach, &m_s) && m_s == 2.6);
    run_for(1);
    cr_assert_eq(coach_block(&r->coach)->index, 1, "a block of its own speed");
    cr_assert_eq(coach_block(&r->coach)->belt_speed_m_s, 2.6);
    cr_assert_eq(coach_block(&r->coach)->kind, VERDICT_BLOCK_WARM_UP);
}

Test(coach_plan, a_measured_belt_speed_is_not_overruled_by_an_entered_one)
{
    const struct coach_config c = with_plan(60);
    double m_s;
    start(&c);
    run_for(1);
    cr_assert(coach_take_belt_speed(&r->coach, &m_s));
    r->coach.is_speed_measured = true;
    const struct command faster = { .kind = COMMAND_BELT_SPEED, .number = 2.6 };
    coach_command(&r->coach, &faster);
    cr_assert(!coach_take_belt_speed(&r->coach, &m_s));
    run_for(1);
    cr_assert_eq(coach_block(&r->coach)->index, 0, "no block of its own");
}

Test(coach_plan, new_targets_begin_a_new_block_and_hold_at_once)
{
    const struct coach_config c = with_plan_and_target(60);
    start(&c);
    run_for(95);
    const int index = coach_block(&r->coach)->index;
    const struct command m = { .kind = COMMAND_TARGETS, .n_targets = 1, .focus = METRIC_COUNT,
                               .target = { { METRIC_CADENCE_SPM, 158, 162, 155, true } } };
    coach_command(&r->coach, &m);
    run_for(2);
    cr_assert_eq(r->v.bar[0].low, 158);
    cr_assert_eq(r->v.bar[0].side, VERDICT_IN);
    cr_assert_eq(r->v.target_version, 2);
    cr_assert(!r->coach.are_targets_by_rule);
    cr_assert_eq(coach_block(&r->coach)->index, index + 1);
    cr_assert_eq(coach_block(&r->coach)->kind, VERDICT_BLOCK_COACHED);
}

Test(coach_plan, feedback_can_be_switched_by_hand_and_given_back_to_the_plan)
{
    const struct coach_config c = with_plan_and_target(60);
    start(&c);
    run_for(93);
    cr_assert(r->v.is_feedback_shown);
    tell(COMMAND_FEEDBACK, COMMAND_FEEDBACK_OFF);
    cr_assert(!r->v.is_feedback_shown);
    tell(COMMAND_FEEDBACK, COMMAND_FEEDBACK_BY_PLAN);
    cr_assert(r->v.is_feedback_shown);
    run_for(130);
    cr_assert(r->v.block == VERDICT_BLOCK_SILENT && !r->v.is_feedback_shown);
    tell(COMMAND_FEEDBACK, COMMAND_FEEDBACK_ON);
    cr_assert(r->v.is_feedback_shown);
}

Test(coach_plan, bandwidth_feedback_is_shown_only_out_of_the_band)
{
    struct coach_config c = with_plan(60);
    c.plan.is_bandwidth = true;
    c.plan.block[2].feedback_share = 1;
    c.n_targets = 1;
    c.target[0] = (struct target){ METRIC_CADENCE_SPM, 155, 165, 150, true };
    start(&c);
    run_for(100);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_COACHED);
    cr_assert(!r->v.is_feedback_shown, "in its band");
    cr_assert(coach_is_feedback_shown(&r->coach), "on offer all the same");
    r->cadence_spm = 145;
    run_for(6);
    cr_assert(r->v.is_feedback_shown && r->v.cue == VERDICT_CUE_QUICKER_STEPS);
    r->cadence_spm = 160;
    run_for(15);
    cr_assert(!r->v.is_feedback_shown && r->v.cue == VERDICT_CUE_NONE);
}

Test(coach_plan, the_end_by_command_stays_the_end)
{
    const struct coach_config c = with_plan(60);
    start(&c);
    run_for(40);
    tell(COMMAND_END, 0);
    run_for(5);
    cr_assert_eq(r->v.block, VERDICT_BLOCK_ENDED);
    cr_assert_eq(r->v.plan_index, 1, "where it was cut short");
}

Test(coach_plan, a_speed_entered_before_the_run_is_what_a_plans_shares_are_of_and_one_in_the_run_is_not)
{
    struct coach_config c = with_plan(60);
    c.is_waiting = true;
    c.belt_speed_m_s = (double) NAN;
    for (int i = 0; i < 3; i++)
        c.plan.block[i].belt_speed_m_s = (double) NAN;
    c.plan.speed_share[0] = 0.8; /* the baseline: not said */
    c.plan.speed_share[2] = 1.1; /* the last block: 3 m/s, absolute */
    start(&c);
    run_time(1, STEP_GAIT_STANDING);
    cr_assert(isnan(r->v.belt_speed_m_s));
    tell(COMMAND_BELT_SPEED, 2.5);
    tell(COMMAND_RESUME, 0);
    cr_assert_float_eq(r->v.belt_speed_m_s, 2.0, 1e-9);
    run_for(5);
    tell(COMMAND_BELT_SPEED, 2.2);
    cr_assert_float_eq(r->v.belt_speed_m_s, 2.2, 1e-9);
    cr_assert_float_eq(r->coach.config.plan.block[2].belt_speed_m_s, 2.75, 1e-9);
    cr_assert_float_eq(r->coach.config.plan.block[3].belt_speed_m_s, 3.0, 1e-9);
}
