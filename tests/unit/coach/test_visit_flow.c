#include "coach/visit_flow.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct visit_flow flow;
static struct verdict verdict;
static struct message why;

static void
begin(void)
{
    visit_flow_init(&flow, &(struct visit_flow_config){ .pain_limit = 4 });
    verdict = (struct verdict){ .sensor = VERDICT_SENSOR_WAITING, .is_paused = true,
                                .n_plan_blocks = 5 };
    message_say(&verdict.message, "Waiting for the sensor.");
}

TestSuite(visit_flow, .init = begin);

static void
feed(void)
{
    visit_flow_feed(&flow, &verdict);
}

static void
go_to_run(double pain)
{
    verdict.sensor = VERDICT_SENSOR_LIVE;
    message_init(&verdict.message, MESSAGE_NONE);
    feed();
    cr_assert(visit_flow_next(&flow, &why) && visit_flow_next(&flow, &why));
    cr_assert(visit_flow_pain(&flow, pain));
    cr_assert(visit_flow_next(&flow, &why), "%s", message_english(&why));
    verdict.is_paused = false;
    verdict.block = VERDICT_BLOCK_WARM_UP;
    feed();
}

static enum command_kind
take(void)
{
    struct command c;
    cr_assert(visit_flow_take_command(&flow, &c), "a command waits");
    return c.kind;
}

Test(visit_flow, nothing_runs_before_sensor_cautions_and_pain_are_through)
{
    struct command c;
    feed();
    cr_assert(!visit_flow_next(&flow, &why));
    cr_assert_str_eq(message_english(&why), "Waiting for the sensor.");
    verdict.sensor = VERDICT_SENSOR_LIVE;
    feed();
    cr_assert(visit_flow_next(&flow, &why));
    cr_assert_eq(flow.phase, VISIT_FLOW_CAUTIONS);
    cr_assert(visit_flow_next(&flow, &why));
    cr_assert(!visit_flow_next(&flow, &why), "pain is not asked yet");
    cr_assert(!visit_flow_skip(&flow) && !visit_flow_pause(&flow));
    cr_assert(!visit_flow_pain(&flow, 11) && !visit_flow_pain(&flow, -1));
    cr_assert(visit_flow_pain(&flow, 2));
    cr_assert(!visit_flow_take_command(&flow, &c), "not a command so far");
    cr_assert(visit_flow_next(&flow, &why));
    cr_assert_eq(flow.phase, VISIT_FLOW_RUN);
    cr_assert_eq(take(), COMMAND_RESUME);
}

Test(visit_flow, pain_may_be_passed_over_and_is_unknown_then)
{
    struct visit_flow_pain pain;
    go_to_run((double) NAN);
    cr_assert(isnan(flow.pain_before));
    cr_assert(!visit_flow_take_pain(&flow, &pain), "unknown is no row");
}

Test(visit_flow, pain_at_the_limit_before_the_run_must_be_confirmed)
{
    verdict.sensor = VERDICT_SENSOR_LIVE;
    feed();
    visit_flow_next(&flow, &why);
    visit_flow_next(&flow, &why);
    visit_flow_pain(&flow, 4);
    cr_assert(!visit_flow_next(&flow, &why));
    cr_assert(strstr(message_english(&why), "limit"), "%s", message_english(&why));
    cr_assert(visit_flow_next(&flow, &why));
    cr_assert_eq(flow.phase, VISIT_FLOW_RUN);
}

Test(visit_flow, pain_at_the_limit_in_the_run_pauses_and_asks_to_stop)
{
    struct message told;
    const char *text;
    go_to_run(1);
    cr_assert_eq(take(), COMMAND_RESUME);
    cr_assert(visit_flow_pain(&flow, 3));
    cr_assert(!flow.is_stop_asked);
    visit_flow_sentence(&flow, &told);
    text = message_english(&told);
    cr_assert(strstr(text, "rose from 1 to 3"), "%s", text);
    cr_assert(visit_flow_pain(&flow, 4));
    cr_assert(flow.is_stop_asked);
    cr_assert_eq(take(), COMMAND_PAUSE);
    visit_flow_sentence(&flow, &told);
    text = message_english(&told);
    cr_assert(strstr(text, "Stop: pain 4") && strstr(text, "limit of 4"), "%s", text);
    cr_assert(visit_flow_resume(&flow));
    cr_assert(!flow.is_stop_asked);
    cr_assert_eq(take(), COMMAND_RESUME);
    struct visit_flow_pain p;
    cr_assert(visit_flow_take_pain(&flow, &p) && p.when == VISIT_FLOW_PAIN_WAS_BEFORE && p.pain == 1);
    cr_assert(visit_flow_take_pain(&flow, &p) && p.when == VISIT_FLOW_PAIN_WAS_DURING && p.pain == 3);
}

Test(visit_flow, without_a_limit_any_pain_asks_for_a_decision)
{
    struct message told;
    const char *text;
    flow.config.pain_limit = (double) NAN;
    go_to_run(0);
    cr_assert(visit_flow_pain(&flow, 1));
    cr_assert(flow.is_stop_asked);
    visit_flow_sentence(&flow, &told);
    text = message_english(&told);
    cr_assert(strstr(text, "no limit is set"), "%s", text);
}

Test(visit_flow, the_end_of_the_plan_ends_the_run_whole)
{
    go_to_run(0);
    verdict.block = VERDICT_BLOCK_ENDED;
    verdict.plan_index = 5;
    feed();
    cr_assert_eq(flow.phase, VISIT_FLOW_AFTER);
    cr_assert(!flow.is_cut_short);
    struct visit_flow_pain p;
    visit_flow_take_pain(&flow, &p);
    cr_assert(visit_flow_pain(&flow, 2));
    cr_assert(visit_flow_take_pain(&flow, &p) && p.when == VISIT_FLOW_PAIN_WAS_AFTER && p.pain == 2 && isnan(p.effort));
    cr_assert(visit_flow_effort(&flow, 6));
    cr_assert(visit_flow_take_pain(&flow, &p) && p.when == VISIT_FLOW_PAIN_WAS_AFTER && isnan(p.pain) && p.effort == 6);
    cr_assert(visit_flow_pain(&flow, (double) NAN)); /* passed over later */
    cr_assert(flow.pain_after == 2 && !visit_flow_take_pain(&flow, &p));
    cr_assert(visit_flow_next(&flow, &why));
    cr_assert_eq(flow.phase, VISIT_FLOW_NOTES);
    cr_assert(visit_flow_next(&flow, &why));
    cr_assert_eq(flow.phase, VISIT_FLOW_SAVED);
    cr_assert(!visit_flow_next(&flow, &why));
    cr_assert_not(visit_flow_take_pain(&flow, &p));
}

Test(visit_flow, effort_is_asked_after_the_run_and_goes_from_0_to_10)
{
    go_to_run(0);
    cr_expect_not(visit_flow_effort(&flow, 6), "not while it runs");
    verdict.block = VERDICT_BLOCK_ENDED;
    feed();
    cr_assert_eq(flow.phase, VISIT_FLOW_AFTER);
    cr_expect(visit_flow_effort(&flow, 0) && visit_flow_effort(&flow, 10));
    cr_expect_not(visit_flow_effort(&flow, -0.1));
    cr_expect_not(visit_flow_effort(&flow, 10.1));
    cr_expect_eq(flow.effort, 10, "what is refused changes nothing");
}

Test(visit_flow, a_run_stopped_early_is_cut_short)
{
    struct message told;
    const char *text;
    go_to_run(0);
    take();
    verdict.plan_index = 2;
    feed();
    visit_flow_stop(&flow);
    cr_assert_eq(take(), COMMAND_END);
    cr_assert(flow.phase == VISIT_FLOW_AFTER && flow.is_cut_short);
    visit_flow_sentence(&flow, &told);
    text = message_english(&told);
    cr_assert(strstr(text, "Cut short"), "%s", text);
}

Test(visit_flow, given_up_before_the_run_is_no_visit)
{
    visit_flow_stop(&flow);
    cr_assert(flow.phase == VISIT_FLOW_SAVED && !flow.has_run);
}

Test(visit_flow, keys_of_the_run_become_commands_in_order)
{
    struct command c;
    go_to_run(0);
    take();
    cr_assert(visit_flow_extend(&flow, 60) && visit_flow_belt_speed(&flow, 2.5));
    cr_assert(!visit_flow_extend(&flow, 0) && !visit_flow_belt_speed(&flow, 0));
    cr_assert(visit_flow_skip(&flow) && visit_flow_feedback(&flow, COMMAND_FEEDBACK_OFF));
    cr_assert(visit_flow_take_command(&flow, &c) && c.kind == COMMAND_EXTEND && c.number == 60);
    cr_assert(visit_flow_take_command(&flow, &c) && c.kind == COMMAND_BELT_SPEED && c.number == 2.5);
    cr_assert_eq(take(), COMMAND_SKIP);
    cr_assert(visit_flow_take_command(&flow, &c) && c.kind == COMMAND_FEEDBACK && c.number == COMMAND_FEEDBACK_OFF);
}

Test(visit_flow, the_sentence_tells_of_an_empty_belt_and_of_an_unsteady_baseline)
{
    struct message told;
    const char *text;
    go_to_run(0);
    verdict.is_clock_stopped = true;
    feed();
    visit_flow_sentence(&flow, &told);
    text = message_english(&told);
    cr_assert(strstr(text, "clock stands"), "%s", text);
    verdict.is_clock_stopped = false;
    verdict.baseline = VERDICT_BASELINE_UNSTEADY;
    message_say(&verdict.baseline_why, "The baseline is not steady.");
    feed();
    visit_flow_sentence(&flow, &told);
    text = message_english(&told);
    cr_assert(strstr(text, "not steady") && strstr(text, "accept"), "%s", text);
}

Test(visit_flow, cautions_are_there_and_end)
{
    int n = 0;
    while (visit_flow_caution(n))
        n++;
    cr_assert_geq(n, 5);
}
