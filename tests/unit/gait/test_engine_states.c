#include "aid/gait_rig.h"

#include <criterion/criterion.h>

#define N(a) (int) (sizeof(a) / sizeof((a)[0]))

static struct gait_rig G; /* each test runs in a process of its own */

static const enum frame_kind KINDS[] = { FRAME_KIND_FORCE, FRAME_KIND_CELLS, FRAME_KIND_MAT,
                                         FRAME_KIND_SWITCHES };
static const char *const NAMES[] = { "force", "cells", "mat", "switches" };

static void
begin(enum frame_kind kind, double rate_hz, const struct runner_segment *script, int n)
{
    gait_rig_init(&G, kind, rate_hz);
    G.noise_n = kind == FRAME_KIND_SWITCHES ? 0 : 5;
    G.runner_config.script = script;
    G.runner_config.n_segments = n;
    gait_rig_start(&G);
}

static int
n_running_truths(void)
{
    int n = 0;
    for (int i = 0; i < G.n_truth; i++)
        n += G.truth[i].gait == STEP_GAIT_RUNNING;
    return n;
}

static int
n_with_flag(uint32_t flag)
{
    int n = 0;
    for (int i = 0; i < G.n_settled; i++)
        n += (G.settled[i].flags & flag) != 0;
    return n;
}

/* No step is longer than a slow runner's, whatever happened between. */
static void
expect_no_step_across(const char *what)
{
    for (int i = 0; i < G.n_settled; i++)
        cr_assert(!(G.settled[i].value[METRIC_STEP_TIME_S] > 0.5), "%s: step %d of %.3f s", what, i,
                  G.settled[i].value[METRIC_STEP_TIME_S]);
}

static void
expect_foot_and_times(const char *what)
{
    for (int i = 0; i < G.n_settled; i++) {
        const struct step *s = &G.settled[i];
        const struct runner_truth *t = gait_rig_truth(&G, s);
        cr_assert_not_null(t, "%s: step %d is none", what, i);
        cr_assert_eq(s->foot, t->foot, "%s: step %d at %.2f s", what, i, t->down_s);
        if (!isnan(s->value[METRIC_CONTACT_MS]))
            cr_assert_float_eq(s->value[METRIC_CONTACT_MS], t->contact_ms, 7, "%s: step %d", what, i);
    }
}

Test(engine_states, stop_and_start_makes_two_rows_of_steps)
{
    static const struct runner_segment script[] = { { RUNNER_IS_OFF, 3, 3, 3, 0 },
                                                    { RUNNER_RUNS, 10, 3, 3, 0 },
                                                    { RUNNER_IS_OFF, 5, 3, 3, 0 },
                                                    { RUNNER_RUNS, 10, 3, 3, 0 },
                                                    { RUNNER_IS_OFF, 3, 3, 3, 0 } };
    for (int k = 0; k < 4; k++) {
        begin(KINDS[k], 500, script, N(script));
        gait_rig_run(&G, 31);
        gait_rig_finish(&G);
        cr_assert_eq(G.n_settled, n_running_truths(), "%s: %d of %d", NAMES[k], G.n_settled,
                     n_running_truths());
        cr_assert_eq(G.n_live, G.n_settled);
        cr_assert_eq(n_with_flag(STEP_FLAG_FIRST), 2);
        cr_assert_eq(n_with_flag(STEP_FLAG_LAST), 2);
        cr_assert(G.settled[0].flags & STEP_FLAG_FIRST);
        cr_assert(G.settled[G.n_settled - 1].flags & STEP_FLAG_LAST);
        cr_assert(isnan(G.settled[G.n_settled - 1].value[METRIC_STEP_TIME_S]));
        cr_assert(isnan(G.settled[G.n_settled - 1].value[METRIC_FLIGHT_MS]));
        cr_assert(!isnan(G.settled[G.n_settled - 1].value[METRIC_CONTACT_MS]));
        expect_no_step_across(NAMES[k]);
        expect_foot_and_times(NAMES[k]);
        cr_assert_gt(G.n_gait[STEP_GAIT_OFF], 2 * 500);
        cr_assert_gt(G.n_gait[STEP_GAIT_RUNNING], 18 * 500);
        cr_assert_eq(engine_gait(&G.engine), STEP_GAIT_OFF);
    }
}

Test(engine_states, walking_makes_no_step_and_is_named)
{
    static const struct runner_segment script[] = { { RUNNER_WALKS, 30, 1.4, 1.4, 0 } };
    for (int k = 0; k < 4; k++) {
        begin(KINDS[k], 250, script, 1);
        gait_rig_run(&G, 20);
        cr_assert_eq(G.n_live, 0, "%s: %d steps", NAMES[k], G.n_live);
        cr_assert_gt(G.n_gait[STEP_GAIT_WALKING], 16 * 250, "%s: %d", NAMES[k], G.n_gait[STEP_GAIT_WALKING]);
        cr_assert_eq(G.n_gait[STEP_GAIT_RUNNING], 0);
        cr_assert_eq(G.n_gait[STEP_GAIT_STANDING], 0);
        gait_rig_finish(&G);
        cr_assert_eq(G.n_settled, 0);
    }
}

Test(engine_states, standing_and_nobody_are_told_apart)
{
    static const struct runner_segment script[] = { { RUNNER_IS_OFF, 6, 0, 0, 0 },
                                                    { RUNNER_STANDS, 8, 0, 0, 0 },
                                                    { RUNNER_IS_OFF, 8, 0, 0, 0 } };
    for (int k = 0; k < 4; k++) {
        begin(KINDS[k], 250, script, N(script));
        gait_rig_run(&G, 6);
        cr_assert_eq(engine_gait(&G.engine), STEP_GAIT_OFF, "%s", NAMES[k]);
        gait_rig_run(&G, 7);
        cr_assert_eq(engine_gait(&G.engine), STEP_GAIT_STANDING, "%s: %d", NAMES[k],
                     (int) engine_gait(&G.engine));
        cr_assert_eq(G.n_gait[STEP_GAIT_WALKING], 0, "%s", NAMES[k]); /* stepping on is no walk */
        gait_rig_run(&G, 9);
        cr_assert_eq(engine_gait(&G.engine), STEP_GAIT_OFF, "%s", NAMES[k]);
        cr_assert_eq(G.n_live, 0);
        cr_assert_eq(G.n_gait[STEP_GAIT_RUNNING], 0, "%s", NAMES[k]);
    }
}

Test(engine_states, walk_run_walk_counts_only_the_run)
{
    static const struct runner_segment script[] = { { RUNNER_STANDS, 4, 0, 0, 0 },
                                                    { RUNNER_WALKS, 8, 1.2, 1.4, 0 },
                                                    { RUNNER_RUNS, 15, 2.2, 3, 0 },
                                                    { RUNNER_WALKS, 8, 1.4, 1.2, 0 },
                                                    { RUNNER_STANDS, 4, 0, 0, 0 } };
    for (int k = 0; k < 4; k++) {
        begin(KINDS[k], 500, script, N(script));
        gait_rig_run(&G, 39);
        gait_rig_finish(&G);
        int n = n_running_truths();
        /* The first and last contacts overlap with a walking one: they are of neither. */
        cr_assert(G.n_settled <= n && G.n_settled >= n - 4, "%s: %d of %d", NAMES[k], G.n_settled, n);
        expect_no_step_across(NAMES[k]);
        expect_foot_and_times(NAMES[k]);
        cr_assert_gt(G.n_gait[STEP_GAIT_WALKING], 8 * 500, "%s", NAMES[k]);
        cr_assert_gt(G.n_gait[STEP_GAIT_STANDING], 3 * 500, "%s", NAMES[k]);
    }
}

Test(engine_states, stumble_costs_no_side)
{
    static const struct runner_segment script[] = { { RUNNER_RUNS, 10, 3, 3, 0 },
                                                    { RUNNER_STUMBLES, 15, 3, 3, 0 } };
    for (int k = 0; k < 4; k++) {
        begin(KINDS[k], 500, script, N(script));
        gait_rig_run(&G, 24);
        gait_rig_finish(&G);
        cr_assert_geq(G.n_settled, n_running_truths() - 1, "%s: %d of %d", NAMES[k], G.n_settled,
                      n_running_truths());
        expect_no_step_across(NAMES[k]);
        expect_foot_and_times(NAMES[k]);
    }
}

/* Holes from half a step to some steps: nothing is joined across, and the feet stay right after it. */
Test(engine_states, hole_in_the_data_makes_no_step_across_it)
{
    static const double hole_s[] = { 0.08, 0.15, 0.3, 0.7, 1.5, 5 };
    for (int k = 0; k < 4; k++)
        for (int h = 0; h < N(hole_s); h++) {
            begin(KINDS[k], 500, NULL, 0);
            G.hole_from_s = 8.0 + 0.05 * h;
            G.hole_to_s = G.hole_from_s + hole_s[h];
            gait_rig_run(&G, 18);
            gait_rig_finish(&G);
            expect_no_step_across(NAMES[k]);
            for (int i = 0; i < G.n_settled; i++) {
                const struct step *s = &G.settled[i];
                const struct runner_truth *t = gait_rig_truth(&G, s);
                cr_assert_not_null(t);
                cr_assert_eq(s->foot, t->foot, "%s, hole of %g s: step %d", NAMES[k], hole_s[h], i);
                /* Up to four steps may be missing: the side count goes on, so nobody guesses anew. */
                if (hole_s[h] < 1 && t->down_s > 8)
                    cr_assert(!(G.live[i].flags & STEP_FLAG_SIDE_GUESS), "%s, hole of %g s: step %d",
                              NAMES[k], hole_s[h], i);
                if (!isnan(s->value[METRIC_CONTACT_MS]))
                    cr_assert_float_eq(s->value[METRIC_CONTACT_MS], t->contact_ms, k == 3 ? 7 : 2.5,
                                       "%s, hole of %g s: step %d: %.2f of %.2f", NAMES[k], hole_s[h], i,
                                       s->value[METRIC_CONTACT_MS], t->contact_ms);
                if (!isnan(s->value[METRIC_STEP_TIME_S]))
                    cr_assert_float_eq(s->value[METRIC_STEP_TIME_S], t->step_time_s, 0.01);
            }
            cr_assert_geq(G.n_settled, n_running_truths() - 3 - (int) (hole_s[h] * 3), "%s, %g s: %d of %d",
                          NAMES[k], hole_s[h], G.n_settled, n_running_truths());
            cr_assert_geq(engine_health(&G.engine).n_gaps, 1);
        }
}
