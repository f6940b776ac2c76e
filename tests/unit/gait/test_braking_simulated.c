#include "aid/gait_rig.h"

#include <criterion/criterion.h>

static struct gait_rig G; /* each test runs in a process of its own */

/* The simulated body's mass centre is 1.1 legs high, the figure's 1.04 (gait/braking.h): it reads 1.1 / 1.04 of the truth. */
#define HEIGHT_SHARE (1.1 / 1.04)

static void
run(enum frame_kind kind, double rate_hz, double strike_pct, double speed_m_s)
{
    gait_rig_init(&G, kind, rate_hz);
    G.runner_config.style.strike_index_pct = strike_pct;
    G.runner_config.style.speed_m_s = speed_m_s;
    G.engine_config.belt_speed_m_s = speed_m_s;
    G.engine_config.leg_length_mm = G.runner_config.style.leg_length_mm;
    G.engine_config.foot_length_mm = G.runner_config.style.foot_length_mm;
    gait_rig_start(&G);
    gait_rig_run(&G, 20);
    gait_rig_finish(&G);
}

/* Truth: the simulator's own fore-aft force. Its peak is unfiltered, and in a heel's impact the 50 Hz takes some of it. */
Test(braking_simulated, impulse_peak_and_end_agree_with_the_fore_aft_force)
{
    static const double strike_pct[] = { 10, 45, 78 }, speed_m_s[] = { 2.5, 3.3, 4.2 };
    static const enum frame_kind kind[] = { FRAME_KIND_FORCE, FRAME_KIND_CELLS, FRAME_KIND_MAT };
    for (int k = 0; k < 9; k++) {
        double impulse = 0, peak = 0, end = 0, n = 0;
        run(kind[k / 3], 500, strike_pct[k % 3], speed_m_s[k % 3]);
        for (int i = 4; i < G.n_settled - 4; i++, n++) {
            const struct step *s = &G.settled[i];
            const struct runner_truth *t = gait_rig_truth(&G, s);
            cr_assert_eq(s->standing[METRIC_BRAKING_IMPULSE_BW_S], METRIC_ESTIMATED);
            impulse += s->value[METRIC_BRAKING_IMPULSE_BW_S] / (HEIGHT_SHARE * t->braking_impulse_bw_s) - 1;
            peak += s->value[METRIC_PEAK_BRAKING_BW] / (HEIGHT_SHARE * t->peak_braking_bw) - 1;
            end += s->value[METRIC_BRAKING_END_PCT] - BRAKING_LEAD_PCT - t->braking_end_pct;
        }
        cr_assert_float_eq(impulse / n, 0, 0.06, "%d: impulse %+.3f", k, impulse / n);
        cr_assert_float_eq(peak / n, -0.03, 0.12, "%d: peak %+.3f", k, peak / n);
        cr_assert_float_eq(end / n, 0, 2.5, "%d: end %+.2f", k, end / n);
    }
}

Test(braking_simulated, live_at_toe_off_settled_closer)
{
    double live = 0, settled = 0;
    run(FRAME_KIND_FORCE, 500, 20, 3);
    for (int i = 4; i < G.n_settled - 4; i++) {
        const struct runner_truth *t = gait_rig_truth(&G, &G.settled[i]);
        const double truth = HEIGHT_SHARE * t->braking_impulse_bw_s;
        cr_assert(isfinite(G.live[i].value[METRIC_BRAKING_IMPULSE_BW_S]), "step %d", i);
        live += pow(G.live[i].value[METRIC_BRAKING_IMPULSE_BW_S] - truth, 2);
        settled += pow(G.settled[i].value[METRIC_BRAKING_IMPULSE_BW_S] - truth, 2);
    }
    cr_assert_lt(settled, live);
}

Test(braking_simulated, switches_and_runners_without_a_leg_length_have_none)
{
    for (int k = 0; k < 2; k++) {
        gait_rig_init(&G, k == 0 ? FRAME_KIND_SWITCHES : FRAME_KIND_FORCE, 500);
        if (k == 0)
            G.engine_config.leg_length_mm = 900;
        gait_rig_start(&G);
        gait_rig_run(&G, 10);
        gait_rig_finish(&G);
        cr_assert_gt(G.n_settled, 10);
        for (int i = 0; i < G.n_settled; i++)
            for (int m = METRIC_BRAKING_IMPULSE_BW_S; m <= METRIC_BRAKING_END_PCT; m++)
                cr_assert(G.settled[i].standing[m] == METRIC_MISSING && isnan(G.settled[i].value[m]));
    }
}

/* A force that was cut off holds no braking, and no stride with it in balances. */
Test(braking_simulated, saturated_contact_has_none)
{
    gait_rig_init(&G, FRAME_KIND_FORCE, 500);
    G.engine_config.leg_length_mm = 900;
    G.full_scale_n = 1200;
    gait_rig_start(&G);
    gait_rig_run(&G, 10);
    gait_rig_finish(&G);
    for (int i = 0; i < G.n_settled; i++)
        if (G.settled[i].flags & STEP_FLAG_SATURATED)
            cr_assert_eq(G.settled[i].standing[METRIC_BRAKING_IMPULSE_BW_S], METRIC_MISSING);
}
