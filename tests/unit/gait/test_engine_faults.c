#include "aid/gait_rig.h"

#include <criterion/criterion.h>
#include <stdlib.h>

static struct gait_rig G; /* each test runs in a process of its own */

static const enum frame_kind KINDS[] = { FRAME_KIND_FORCE, FRAME_KIND_CELLS, FRAME_KIND_MAT,
                                         FRAME_KIND_SWITCHES };

static void
expect_contacts_from(int first, double tolerance_ms)
{
    for (int i = first; i < G.n_settled - 1; i++) {
        const struct runner_truth *t = gait_rig_truth(&G, &G.settled[i]);
        cr_assert_not_null(t, "step %d is none", i);
        cr_assert_float_eq(G.settled[i].value[METRIC_CONTACT_MS], t->contact_ms, tolerance_ms,
                           "step %d: %.2f of %.2f", i, G.settled[i].value[METRIC_CONTACT_MS], t->contact_ms);
    }
}

Test(engine_faults, offset_of_300_n_at_the_start_is_found)
{
    static const double offset_n[] = { 300, -300, 120 };
    for (int k = 0; k < 3; k++) {
        gait_rig_init(&G, FRAME_KIND_FORCE, 500);
        G.offset_n = offset_n[k];
        G.noise_n = 8;
        gait_rig_start(&G);
        gait_rig_run(&G, 30);
        gait_rig_finish(&G);
        cr_assert_float_eq(engine_health(&G.engine).zero_n, offset_n[k], 8, "%g: %g", offset_n[k],
                           engine_health(&G.engine).zero_n);
        cr_assert_geq(G.n_settled, G.n_truth - 12, "%g: %d of %d", offset_n[k], G.n_settled, G.n_truth);
        expect_contacts_from(4, 3);
    }
}

/* Nobody on: the zero is taken before the first step. */
Test(engine_faults, offset_is_taken_off_while_nobody_is_on)
{
    static const struct runner_segment script[] = { { RUNNER_IS_OFF, 4, 3, 3, 0 },
                                                    { RUNNER_RUNS, 20, 3, 3, 0 } };
    gait_rig_init(&G, FRAME_KIND_FORCE, 500);
    G.runner_config.script = script;
    G.runner_config.n_segments = 2;
    G.offset_n = 40;
    G.noise_n = 8;
    gait_rig_start(&G);
    gait_rig_run(&G, 3.5);
    cr_assert_float_eq(engine_health(&G.engine).zero_n, 40, 2);
    gait_rig_run(&G, 16);
    gait_rig_finish(&G);
    cr_assert_eq(G.n_settled, G.n_truth);
    expect_contacts_from(0, 2.5);
}

Test(engine_faults, drift_of_10_n_a_second_is_followed)
{
    for (int sign = -1; sign <= 1; sign += 2) {
        gait_rig_init(&G, FRAME_KIND_FORCE, 500);
        G.drift_n_s = 10 * sign;
        G.noise_n = 5;
        gait_rig_start(&G);
        gait_rig_run(&G, 60);
        gait_rig_finish(&G);
        cr_assert_geq(G.n_settled, G.n_truth - 1);
        expect_contacts_from(0, 2.5);
        cr_assert_float_eq(engine_health(&G.engine).zero_n, 600 * sign, 10);
        for (int i = 8; i < G.n_settled - 1; i++)
            cr_assert_float_eq(G.settled[i].value[METRIC_PEAK_FORCE_BW],
                               gait_rig_truth(&G, &G.settled[i])->peak_force_bw, 0.05);
    }
}

/* What was on the sensor before a hole is not taken for the flight after it, wherever in the step the hole
 * lies. */
Test(engine_faults, zero_is_not_learnt_across_a_hole)
{
    for (int k = 0; k < 24; k++) {
        gait_rig_init(&G, FRAME_KIND_FORCE, 500);
        G.noise_n = 5;
        G.hole_from_s = 4 + 0.03 * k;
        G.hole_to_s = G.hole_from_s + (k % 2 == 0 ? 0.12 : 0.45);
        gait_rig_start(&G);
        while (G.t_s < 7) {
            gait_rig_run(&G, 0.1);
            cr_assert_float_eq(engine_health(&G.engine).zero_n, 0, 6, "hole at %.2f s: zero %.1f N at %.1f s",
                               G.hole_from_s, engine_health(&G.engine).zero_n, G.t_s);
        }
    }
}

/* The peak is cut off: times stand, forces are withheld. */
Test(engine_faults, saturation_is_flagged_and_forces_are_withheld)
{
    gait_rig_init(&G, FRAME_KIND_FORCE, 500);
    G.full_scale_n = 1200;
    gait_rig_start(&G);
    gait_rig_run(&G, 20);
    gait_rig_finish(&G);
    cr_assert_geq(G.n_settled, G.n_truth - 1);
    expect_contacts_from(0, 2);
    for (int i = 0; i < G.n_settled; i++) {
        const struct step *s = &G.settled[i];
        cr_assert(s->flags & STEP_FLAG_SATURATED);
        cr_assert(isnan(s->value[METRIC_PEAK_FORCE_BW]) && isnan(s->value[METRIC_LOAD_RATE_BW_S]));
        cr_assert_eq(s->standing[METRIC_PEAK_FORCE_BW], METRIC_MISSING);
    }
}

Test(engine_faults, slow_sampling_is_flagged_and_its_figures_are_estimates)
{
    gait_rig_init(&G, FRAME_KIND_FORCE, 100);
    gait_rig_start(&G);
    gait_rig_run(&G, 20);
    gait_rig_finish(&G);
    cr_assert_geq(G.n_settled, G.n_truth - 1);
    for (int i = 2; i < G.n_settled - 1; i++) {
        cr_assert(G.settled[i].flags & STEP_FLAG_LOW_RATE);
        cr_assert_eq(G.settled[i].standing[METRIC_LOAD_RATE_BW_S], METRIC_ESTIMATED);
        cr_assert_eq(G.settled[i].standing[METRIC_CADENCE_SPM], METRIC_MEASURED);
    }
}

Test(engine_faults, lost_frames_are_flagged_on_their_steps)
{
    gait_rig_init(&G, FRAME_KIND_FORCE, 500);
    gait_rig_start(&G);
    gait_rig_run(&G, 20);
    cr_assert_eq(engine_health(&G.engine).n_gaps, 0);
    for (int i = 0; i < G.n_settled; i++)
        cr_assert(!(G.settled[i].flags & STEP_FLAG_GAP));
    gait_rig_init(&G, FRAME_KIND_FORCE, 500);
    G.lost_share = 0.002; /* one in four contacts or so */
    gait_rig_start(&G);
    gait_rig_run(&G, 60);
    int n_gap = 0;
    for (int i = 0; i < G.n_settled; i++)
        n_gap += (G.settled[i].flags & STEP_FLAG_GAP) != 0;
    cr_assert(n_gap > G.n_settled / 10 && n_gap < G.n_settled / 2, "%d of %d", n_gap, G.n_settled);
}

Test(engine_faults, records_that_nobody_takes_are_counted)
{
    gait_rig_init(&G, FRAME_KIND_FORCE, 500);
    G.is_untaken = true;
    gait_rig_start(&G);
    gait_rig_run(&G, 60);
    gait_rig_finish(&G);
    struct step s;
    int n_left = 0;
    uint32_t last = 0;
    while (engine_take(&G.engine, &s)) {
        n_left++;
        last = s.number;
    }
    cr_assert_eq(n_left, STEP_QUEUE_CAP);
    cr_assert_eq((uint64_t) n_left + engine_health(&G.engine).n_overflow,
                 2 * (uint64_t) last); /* the newest are kept */
}

/* The board restarts in mid-run: its clock starts again, the numbers of the steps go on. */
Test(engine_faults, clock_reset_starts_a_new_row_of_steps)
{
    for (int k = 0; k < 4; k++) {
        gait_rig_init(&G, KINDS[k], 500);
        gait_rig_start(&G);
        gait_rig_run(&G, 10.05);
        int n_before = G.n_live;
        struct runner_now now;
        struct frame f;
        struct step s;
        int n_after = 0, n_first = 0;
        for (int i = 0; i < 5000; i++) {
            double t_s = G.t_s + (i + 1) / 500.0;
            runner_now(&G.runner, t_s, &now);
            sensor_frame(&G.layout, &now, 0, &G.image, &G.switches, &f);
            f.time.us = 100 + 2000 * (int64_t) i;
            f.flags |= i == 0 ? FRAME_CLOCK_RESET : 0;
            engine_feed(&G.engine, &f);
            while (engine_take(&G.engine, &s)) {
                if (s.is_settled || s.touchdown.us > 9990000)
                    continue;
                n_after++;
                cr_assert(!(s.value[METRIC_STEP_TIME_S] > 0.5));
                n_first += (s.flags & STEP_FLAG_FIRST) != 0;
                if (n_after > 3)
                    cr_assert_eq(s.number, (uint32_t) (n_before + n_after), "%u after %d + %d", s.number,
                                 n_before, n_after);
            }
        }
        cr_assert_geq(n_after, 24);
        cr_assert_geq(n_first, 1);
        cr_assert_eq(engine_health(&G.engine).n_rejected, 0);
    }
}

Test(engine_faults, impossible_frames_are_counted_and_change_nothing)
{
    gait_rig_init(&G, FRAME_KIND_FORCE, 500);
    gait_rig_start(&G);
    gait_rig_run(&G, 10);
    struct frame bad = { .kind = FRAME_KIND_FORCE, .force_n = 100 };
    bad.time.us = units_us_from_s(G.t_s); /* the same time again */
    engine_feed(&G.engine, &bad);
    bad.time.us -= 1000000;
    engine_feed(&G.engine, &bad);
    bad.time.us += 1001000;
    bad.force_n = NAN;
    engine_feed(&G.engine, &bad);
    bad.force_n = INFINITY;
    engine_feed(&G.engine, &bad);
    bad.kind = FRAME_KIND_SWITCHES;
    engine_feed(&G.engine, &bad);
    cr_assert_eq(engine_health(&G.engine).n_rejected, 5);
    gait_rig_run(&G, 10);
    gait_rig_finish(&G);
    cr_assert_geq(G.n_settled, G.n_truth - 1);
    expect_contacts_from(0, 2);
}

/* ------------------------------------------------------------------ memory */

#ifndef __SANITIZE_ADDRESS__
/* Stand before the C library's own, which they call: what is asked for while a run is on is counted. */
extern void *__libc_malloc(size_t n);
extern void *__libc_calloc(size_t n, size_t each);
extern void *__libc_realloc(void *p, size_t n);
static bool is_counting;
static int n_asked;

void *
malloc(size_t n)
{
    n_asked += is_counting;
    return __libc_malloc(n);
}

void *
calloc(size_t n, size_t each)
{
    n_asked += is_counting;
    return __libc_calloc(n, each);
}

void *
realloc(void *p, size_t n)
{
    n_asked += is_counting;
    return __libc_realloc(p, n);
}

Test(engine_faults, nothing_is_allocated_while_a_runner_runs)
{
    void *volatile seen;
    is_counting = true;
    seen = malloc(8);
    cr_assert_eq(n_asked, 1); /* the counting works */
    is_counting = false;
    free(seen);
    for (int k = 0; k < 4; k++) {
        n_asked = 0;
        gait_rig_init(&G, KINDS[k], 1000);
        G.engine_config.belt_speed_m_s = 3;
        is_counting = true;
        gait_rig_start(&G);
        gait_rig_run(&G, 15);
        gait_rig_finish(&G);
        is_counting = false;
        cr_assert_gt(G.n_settled, 30);
        cr_assert_eq(n_asked, 0, "%d", n_asked);
    }
}
#endif
