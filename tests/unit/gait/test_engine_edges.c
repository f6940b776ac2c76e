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
