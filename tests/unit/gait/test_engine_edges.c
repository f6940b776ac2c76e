/* What the engine says of clean steps, at the edge of a rate, and in newtons without a calibration. Expected: step.h's
 * words; the same runner on a calibrated sensor. */
#include "aid/gait_rig.h"

#include <criterion/criterion.h>

static struct gait_rig G, H; /* each test runs in a process of its own */

static void
run_at(struct gait_rig *g, enum frame_kind kind, double rate_hz, double seconds)
{
    gait_rig_init(g, kind, rate_hz);
    g->engine_config.rate_hz = rate_hz;
    g->engine_config.belt_speed_m_s = g->runner_config.style.speed_m_s;
    gait_rig_start(g);
    gait_rig_run(g, seconds);
    gait_rig_finish(g);
}

Test(engine_edges, a_clean_run_has_clean_steps)
{
    run_at(&G, FRAME_KIND_FORCE, 500, 20);
    cr_assert_gt(G.n_settled, 40);
    for (int i = 12; i < G.n_settled - 3; i++)
        cr_expect_eq(G.settled[i].flags, 0u, "step %d: %x", i, G.settled[i].flags);
}

/* Half a foot's length is where a middle landing is, within what the front method errs by (test_engine.c: 11 %). */
Test(engine_edges, a_run_has_its_gait_its_rolling_figures_and_its_places)
{
    double index_pct = 0, width_mm = 0, n = 0;
    gait_rig_init(&G, FRAME_KIND_FORCE, 500);
    G.runner_config.style.strike_index_pct = 40;
    G.engine_config.belt_speed_m_s = G.runner_config.style.speed_m_s;
    G.engine_config.foot_length_mm = G.runner_config.style.foot_length_mm;
    gait_rig_start(&G);
    gait_rig_run(&G, 20);
    cr_expect_eq(engine_gait(&G.engine), STEP_GAIT_RUNNING);
    cr_expect_gt(G.n_gait[STEP_GAIT_RUNNING], 17 * 500, "%d frames", G.n_gait[STEP_GAIT_RUNNING]);
    gait_rig_finish(&G);
    for (int i = 24; i < G.n_settled - 4; i++) {
        const struct step *s = &G.settled[i];
        const struct runner_truth *t = gait_rig_truth(&G, s);
        cr_assert_not_null(t);
        index_pct += s->value[METRIC_STRIKE_INDEX_PCT] - t->strike_index_pct;
        width_mm += s->value[METRIC_STEP_WIDTH_MM];
        n += 1;
        cr_expect(!isnan(G.live[i].value[METRIC_ASYM_STEP_TIME_PCT]) && !isnan(G.live[i].value[METRIC_STEP_VAR_PCT]), "live %d", i);
        cr_expect(!isnan(s->value[METRIC_ASYM_STEP_TIME_PCT]) && !isnan(s->value[METRIC_STEP_VAR_PCT]), "settled %d", i);
    }
    cr_expect_float_eq(index_pct / n, 0, 11, "index %+.1f", index_pct / n);
    cr_expect_float_eq(width_mm / n, G.runner_config.style.width_mm, 15, "width %.1f", width_mm / n);
}

/* 200 Hz less 2 % of play (measure.c: 196.08 Hz) is enough for places on the foot; less is not. */
Test(engine_edges, a_rate_over_2_percent_under_200_hz_makes_places_estimates)
{
    static const double rate_hz[] = { 196.5, 195.5 };
    for (int k = 0; k < 2; k++) {
        int n = 0;
        run_at(&G, FRAME_KIND_FORCE, rate_hz[k], 10);
        for (int i = 4; i < G.n_settled - 3; i++) {
            const struct step *s = &G.settled[i];
            if (isnan(s->value[METRIC_STRIKE_TRAVEL_MM]))
                continue;
            n++;
            cr_expect_eq(s->standing[METRIC_STRIKE_TRAVEL_MM], k == 0 ? METRIC_MEASURED : METRIC_ESTIMATED, "%g Hz", rate_hz[k]);
        }
        cr_expect_gt(n, 10);
    }
}

/* The runner's mass makes newtons of body weights. */
Test(engine_edges, stiffness_without_a_calibration_is_that_with_one)
{
    for (int k = 0; k < 2; k++) {
        struct gait_rig *g = k == 0 ? &G : &H;
        gait_rig_init(g, FRAME_KIND_FORCE, 500);
        g->engine_config.body_mass_kg = g->runner_config.style.mass_kg;
        g->gain = k == 0 ? 1 : 0.013;
        g->flags = k == 0 ? 0 : FRAME_RELATIVE;
        gait_rig_start(g);
        gait_rig_run(g, 20);
        gait_rig_finish(g);
    }
    cr_assert(G.n_settled > 30 && H.n_settled > 30);
    const double with_kn_m = G.settled[G.n_settled - 6].value[METRIC_STIFFNESS_KN_M];
    const double without_kn_m = H.settled[H.n_settled - 6].value[METRIC_STIFFNESS_KN_M];
    cr_expect(with_kn_m > 5 && with_kn_m < 100, "%g kN/m", with_kn_m);
    cr_expect_float_eq(without_kn_m, with_kn_m, 0.1 * with_kn_m, "%g of %g kN/m", without_kn_m, with_kn_m);
}

/* A switch is seen with a frame; its edge lies halfway to the one before (signal.c), at 500 Hz an odd millisecond. */
Test(engine_edges, a_switch_closes_halfway_between_two_frames)
{
    run_at(&G, FRAME_KIND_SWITCHES, 500, 10);
    cr_assert_gt(G.n_settled, 15);
    for (int i = 0; i < G.n_settled; i++)
        cr_expect_eq(G.settled[i].touchdown.us % 2000, 1000, "step %d: %lld", i, (long long) G.settled[i].touchdown.us);
}
