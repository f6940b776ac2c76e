/* The session fed by the simulated board in virtual time: blocks told once, what is held back and what is not kept.
 * Expected: session.h's words, counted against a session that nobody holds. */
#include "cli/demo.h"
#include "cli/mimic.h"
#include "live/session.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

static struct mimic mimic;
static struct session session;
static struct session_config config;
static struct host_time now;

enum { N_KEPT = 1024 };
static int n_steps, n_blocks, n_targets, last_block, newest_steps_block, newest_targets_block;
static int live_block[N_KEPT]; /* of the live step with that number */
static uint32_t first_number;

static void
see_step(void *context, const struct coached_step *step)
{
    cr_assert_null(context);
    if (!config.is_early_dropped)
        cr_expect_leq(step->block, last_block, "a block is told before its steps");
    if (!step->step.is_settled)
        live_block[step->step.number % N_KEPT] = step->block;
    else if (!config.is_early_dropped)
        cr_expect_eq(step->block, live_block[step->step.number % N_KEPT], "a settled step is of its live twin's block");
    newest_steps_block = step->step.is_settled ? newest_steps_block : step->block;
    first_number = n_steps++ == 0 ? step->step.number : first_number;
}

static void
see_block(void *context, const struct coach_block *block, struct dev_time at)
{
    cr_assert_null(context);
    cr_expect_gt(block->index, last_block);
    cr_expect_eq(at.us, block->start.us);
    last_block = block->index;
    n_blocks++;
}

static void
see_targets(void *context, const struct coach *coach)
{
    cr_assert_null(context);
    cr_expect_gt(coach->config.n_targets, 0);
    newest_targets_block = last_block;
    n_targets++;
}

static void
begin(bool is_early_dropped)
{
    struct mimic_config c = mimic_config_default();
    struct message why;
    cr_assert(demo_board("switches", "binary", &c.board, &why));
    mimic_init(&mimic, &c);
    config = (struct session_config){ .pipeline = pipeline_config_default(), .is_early_dropped = is_early_dropped,
                                      .on_step = see_step, .on_block = see_block, .on_targets = see_targets };
    session_init(&session, &config);
    n_steps = n_blocks = n_targets = 0;
    last_block = -1;
    now = (struct host_time){ 0 };
}

static void
run(double seconds)
{
    const uint8_t *bytes;
    for (const double end_s = mimic.board.t_s + seconds; mimic.board.t_s < end_s;) {
        const int n = mimic_step(&mimic, &bytes);
        now.us = units_us_from_s(mimic.board.t_s);
        if (n > 0)
            session_feed(&session, bytes, (size_t) n, now);
    }
}

Test(session, every_block_is_told_once_and_before_its_steps)
{
    const struct command faster = { .kind = COMMAND_BELT_SPEED, .number = 3.1 };
    begin(false);
    run(5);
    cr_expect_eq(n_blocks, 1);
    cr_expect_eq(newest_steps_block, 0);
    session_obey(&session, &faster, now);
    run(5);
    cr_expect_eq(n_blocks, 2);
    cr_expect_eq(newest_steps_block, 1);
    cr_expect_gt(n_steps, 10);
}

Test(session, targets_are_told_once_and_before_the_block_that_begins_with_them)
{
    const struct command targets = { .kind = COMMAND_TARGETS, .n_targets = 1, .focus = METRIC_COUNT,
                                     .target = { { .metric = METRIC_CADENCE_SPM, .low = 160, .high = 180, .baseline = NAN } } };
    begin(false);
    config.pipeline.coach.baseline_s = 0;
    session_init(&session, &config);
    run(5);
    cr_expect(n_targets == 0 && n_blocks == 1);
    session_obey(&session, &targets, now);
    run(5);
    cr_expect(n_targets == 1 && n_blocks == 2, "%d, %d", n_targets, n_blocks);
    cr_expect_eq(newest_targets_block, 0);
}

Test(session, what_was_held_back_comes_with_the_release)
{
    begin(false);
    run(20);
    const int n_all = n_steps;
    begin(false);
    session_hold(&session);
    run(19.9);
    cr_expect(n_steps == 0 && n_blocks == 0, "held");
    session_release(&session);
    run(0.1);
    cr_expect_eq(n_steps, n_all);
    cr_expect_eq(first_number, 1);
    cr_expect_eq(session.n_unkept, 0);
}

Test(session, what_is_dropped_early_never_comes)
{
    begin(true);
    session_hold(&session);
    run(15);
    session_release(&session);
    run(5);
    cr_expect_gt(n_steps, 5);
    cr_expect_gt(first_number, 20, "a runner takes over two steps a second");
    cr_expect_eq(session.n_unkept, 0, "nobody wanted them");
}

Test(session, a_block_that_runs_on_past_the_release_is_told_with_it)
{
    begin(true);
    session_hold(&session);
    run(15);
    cr_expect_eq(n_blocks, 0, "held");
    session_release(&session);
    run(5);
    cr_expect_eq(n_blocks, 1);
    cr_expect_eq(last_block, 0);
    cr_expect_eq(newest_steps_block, 0);
}

Test(session, the_wait_for_a_run_is_no_block_of_it)
{
    const struct command resume = { .kind = COMMAND_RESUME };
    begin(true);
    config.pipeline.coach.is_waiting = true;
    session_init(&session, &config);
    session_hold(&session);
    run(5);
    session_release(&session);
    run(3);
    cr_expect_eq(n_blocks, 0, "it waits still");
    session_obey(&session, &resume, now);
    run(3);
    cr_expect_eq(n_blocks, 1);
    cr_expect_eq(last_block, 1);
}

/* A minute and a half has more records than the queue: two a step, live and settled, at over two steps a second. */
Test(session, what_has_to_wait_too_long_is_dropped_and_counted)
{
    begin(false);
    run(90);
    const int n_all = n_steps;
    cr_assert_gt(n_all, PIPELINE_N_STEPS + 20);
    begin(false);
    session_hold(&session);
    run(89.9);
    session_release(&session);
    run(0.1);
    cr_expect_gt(session.n_unkept, 20);
    cr_expect_eq(n_steps + (int) session.n_unkept, n_all);
}
