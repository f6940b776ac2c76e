/* Boards that restart, jump in time, or send packets twice or damaged: the steps before and after are right,
 * and none is made up over the break. */
#include "cli/demo.h"
#include "cli/mimic.h"
#include "live/pipeline.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RUN_S     24.0
#define BREAK_S   12.0
#define MAX_STEPS 200

struct rig {
    struct mimic mimic;
    struct pipeline pipeline;
    int n;
    struct step step[MAX_STEPS];
};

static void
take(struct rig *r)
{
    struct coached_step s;
    while (pipeline_take_step(&r->pipeline, &s))
        if (s.step.is_settled) {
            cr_assert_lt(r->n, MAX_STEPS);
            r->step[r->n++] = s.step;
        }
}

static struct rig *
run(const char *kind, const char *wire, void (*spoil)(struct faults_config *f, double by), double by)
{
    struct rig *r = calloc(1, sizeof *r);
    struct mimic_config c = mimic_config_default();
    const struct pipeline_config p = pipeline_config_default();
    struct message why;
    const uint8_t *bytes;
    cr_assert(r && demo_board(kind, wire, &c.board, &why));
    spoil(&c.board.faults, by);
    c.seconds = RUN_S;
    mimic_init(&r->mimic, &c);
    pipeline_init(&r->pipeline, &p);
    for (int n; (n = mimic_step(&r->mimic, &bytes)) >= 0;) {
        const struct host_time now = { 7000000 + units_us_from_s(r->mimic.board.t_s) };
        if (n > 0)
            cr_assert_eq(pipeline_feed(&r->pipeline, bytes, (size_t) n, now), (size_t) n);
        take(r);
    }
    pipeline_finish(&r->pipeline);
    take(r);
    return r;
}

/* Every step is like the runner's steps, and all but n_missing of them are there. */
static void
judge(struct rig *r, const char *what, int n_missing)
{
    const int n_true = (int) r->mimic.n_truths;
    cr_expect_geq(r->n, n_true - n_missing, "%s: %d steps of %d", what, r->n, n_true);
    cr_expect_leq(r->n, n_true + 1, "%s: %d steps of %d", what, r->n, n_true);
    for (int i = 0; i < r->n; i++) {
        const double step_s = r->step[i].value[METRIC_STEP_TIME_S],
                     contact_ms = r->step[i].value[METRIC_CONTACT_MS];
        cr_expect(isnan(step_s) || fabs(step_s - r->mimic.last.step_time_s) < 0.04,
                  "%s: step %d takes %.3f s", what, i, step_s);
        cr_expect(isnan(contact_ms) || fabs(contact_ms - r->mimic.last.contact_ms) < 40,
                  "%s: contact %d lasts %.0f ms", what, i, contact_ms);
        if (i > 0)
            cr_expect_gt(r->step[i].touchdown.us, r->step[i - 1].touchdown.us, "%s: step %d", what, i);
    }
    free(r);
}

static void
restart(struct faults_config *f, double by)
{
    f->reset_at_s = BREAK_S;
    f->reset_for_s = by;
}

static void
jump(struct faults_config *f, double by)
{
    f->jump_at_s = BREAK_S;
    f->jump_s = by;
    f->clock_start_us = 200000000;
}

static void
repeat(struct faults_config *f, double by)
{
    f->duplicate_share = by;
}

static void
damage(struct faults_config *f, double by)
{
    f->corrupt_share = by;
}

static const char *const KINDS[] = { "cells", "switches", "mat" };

Test(pipeline_faults, a_restart_costs_a_few_steps_and_makes_none_up, .timeout = 500)
{
    for (int k = 0; k < 3; k++)
        for (int i = 0; i < 2; i++) {
            struct rig *r = run(KINDS[k], "binary", restart, i ? 3.0 : 0.3);
            cr_expect_eq(r->pipeline.sense.health.n_restarts, 1, "%s", KINDS[k]);
            judge(r, KINDS[k], i ? 16 : 8);
        }
}

Test(pipeline_faults, a_clock_that_jumps_forwards_or_back_makes_no_step_up, .timeout = 500)
{
    static const double by_s[] = { 0.5, 5, 100, -0.5, -5, -100 };
    for (int k = 0; k < 3; k++)
        for (size_t i = 0; i < sizeof by_s / sizeof *by_s; i++) {
            char what[40];
            snprintf(what, sizeof what, "%s, %+g s", KINDS[k], by_s[i]);
            struct rig *r = run(KINDS[k], "binary", jump, by_s[i]);
            cr_expect(r->pipeline.sense.health.n_restarts + r->pipeline.sense.health.n_lost > 0,
                      "%s: not seen", what);
            judge(r, what, 8);
        }
}

Test(pipeline_faults, repeated_packets_change_nothing, .timeout = 500)
{
    for (int k = 0; k < 3; k++)
        for (int i = 0; i < 2; i++) {
            struct rig *r = run(KINDS[k], i ? "text" : "binary", repeat, 0.3);
            struct rig *clean = run(KINDS[k], i ? "text" : "binary", repeat, 0);
            cr_expect_gt(r->pipeline.wire.health.n_duplicates + r->pipeline.sense.health.n_dropped, 100);
            cr_expect_eq(r->pipeline.sense.health.n_lost, 0);
            cr_assert_eq(r->n, clean->n, "%s: %d steps, %d without repeats", KINDS[k], r->n, clean->n);
            for (int s = 0; s < r->n; s++) {
                cr_expect_eq(r->step[s].touchdown.us, clean->step[s].touchdown.us);
                cr_expect_eq(memcmp(r->step[s].value, clean->step[s].value, sizeof clean->step[s].value), 0,
                             "%s, step %d", KINDS[k], s);
            }
            free(clean);
            free(r);
        }
}

Test(pipeline_faults, damaged_packets_are_holes_and_no_data, .timeout = 500)
{
    for (int k = 0; k < 3; k++)
        for (int i = 0; i < 2; i++) {
            struct rig *r = run(KINDS[k], i ? "text" : "binary", damage, 0.01);
            cr_expect_gt(r->pipeline.wire.health.n_bad_crc + r->pipeline.wire.health.n_malformed, 10);
            judge(r, KINDS[k], 10);
        }
}
