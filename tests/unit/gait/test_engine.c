#include "aid/gait_rig.h"

#include "sim/cast.h"

#include <criterion/criterion.h>
#include <stdlib.h>

static struct gait_rig G, H; /* each test runs in a process of its own */

static const enum frame_kind KINDS[] = { FRAME_KIND_FORCE, FRAME_KIND_CELLS, FRAME_KIND_MAT,
                                         FRAME_KIND_SWITCHES };
static const char *const NAMES[] = { "force", "cells", "mat", "switches" };

static void
run_whole(struct gait_rig *g, double seconds)
{
    gait_rig_start(g);
    gait_rig_run(g, seconds);
    gait_rig_finish(g);
}

/* A switch closes in its own zone, at 40 N, and opens at 25 N: it sees another contact than a 50 N threshold.
 */
Test(engine, times_agree_with_the_simulated_truth)
{
    static const double contact_ms[] = { 2, 2, 2, 6 }, bias_ms[] = { 0.3, 0.3, 0.3, 4 };
    for (int k = 0; k < 4; k++) {
        double sum_ms = 0, cadence_spm = 0, true_spm = 0;
        gait_rig_init(&G, KINDS[k], 500);
        G.noise_n = 8;
        G.offset_n = 5;
        run_whole(&G, 30);
        cr_assert_eq(G.n_settled, G.n_truth, "%s: %d steps of %d", NAMES[k], G.n_settled, G.n_truth);
        for (int i = 0; i < G.n_settled - 1; i++) {
            const struct step *s = &G.settled[i];
            const struct runner_truth *t = gait_rig_truth(&G, s);
            cr_assert_not_null(t);
            cr_assert_float_eq(s->value[METRIC_CONTACT_MS], t->contact_ms, contact_ms[k],
                               "%s, step %d: %.2f of %.2f", NAMES[k], i, s->value[METRIC_CONTACT_MS],
                               t->contact_ms);
            sum_ms += s->value[METRIC_CONTACT_MS] - t->contact_ms;
            cadence_spm += s->value[METRIC_CADENCE_SPM];
            true_spm += t->cadence_spm;
        }
        cr_assert_float_eq(cadence_spm / (G.n_settled - 1), true_spm / (G.n_settled - 1), 0.2, "%s",
                           NAMES[k]);
        cr_assert_leq(fabs(sum_ms / (G.n_settled - 1)), bias_ms[k], "%s: %.2f ms", NAMES[k],
                      sum_ms / (G.n_settled - 1));
    }
}

/* 10 minutes with 1 % of the frames lost: no side ever swaps, none is missed, none is invented. */
static void
expect_sides_hold(struct gait_rig *g, double seconds, const char *what)
{
    g->lost_share = 0.01;
    run_whole(g, seconds);
    cr_assert_leq(abs(g->n_settled - g->n_truth), 1, "%s: %d steps of %d", what, g->n_settled, g->n_truth);
    for (int i = 0; i < g->n_settled - 1; i++) { /* the end may cut the last one off for either */
        const struct runner_truth *t = gait_rig_truth(g, &g->settled[i]);
        cr_assert_not_null(t);
        cr_assert_eq(g->settled[i].foot, t->foot, "%s, step %d", what, i);
    }
}

Test(engine, sides_never_swap_in_ten_minutes_with_lost_frames)
{
    static const double rate_hz[] = { 500, 500, 200, 500 };
    for (int k = 0; k < 4; k++) {
        gait_rig_init(&G, KINDS[k], rate_hz[k]);
        expect_sides_hold(&G, k == 2 ? 150 : 600, NAMES[k]); /* pictures take time */
    }
}

Test(engine, sides_hold_for_every_demo_runner_whose_feet_do_not_cross)
{
    struct cast_runner d;
    int n = 0;
    for (int i = 0; i < cast_runner_count(); i++) {
        cast_runner_get(i, &d);
        if (d.style.width_mm < 0)
            continue;
        gait_rig_init(&G, FRAME_KIND_FORCE, 500);
        G.runner_config.style = d.style;
        expect_sides_hold(&G, 60, d.code);
        n++;
    }
    cr_assert_geq(n, 4);
}

/* The force curve, in body weights by the momentum balance, against the noise-free curve's own answers. */
Test(engine, force_figures_agree_with_the_simulated_truth)
{
    static const double strike_pct[] = { 10, 45, 78 };
    for (int k = 0; k < 3; k++) {
        double peak = 0, drop_mm = 0, rate = 0, n = 0;
        int n_transient_wrong = 0;
        gait_rig_init(&G, FRAME_KIND_FORCE, 1000);
        G.runner_config.style.strike_index_pct = strike_pct[k];
        G.noise_n = 3;
        run_whole(&G, 30);
        for (int i = 2; i < G.n_settled - 2; i++) {
            const struct step *s = &G.settled[i];
            const struct runner_truth *t = gait_rig_truth(&G, s);
            cr_assert_not_null(t);
            peak += s->value[METRIC_PEAK_FORCE_BW] / t->peak_force_bw - 1;
            rate += s->value[METRIC_LOAD_RATE_BW_S] / t->load_rate_bw_s - 1;
            drop_mm += s->value[METRIC_COM_DROP_MM] - t->com_drop_mm;
            n_transient_wrong += (s->value[METRIC_IMPACT_TRANSIENT] > 0) != t->has_transient;
            n += 1;
        }
        cr_assert_float_eq(peak / n, 0, 0.005, "strike %g: peak %+.4f", strike_pct[k], peak / n);
        cr_assert_float_eq(rate / n, 0, 0.08, "strike %g: rate %+.4f", strike_pct[k],
                           rate / n); /* the 50 Hz filter's */
        /* By the engine from the 50 N touchdown on, by the truth from force zero: some ms at 0.5 m/s. */
        cr_assert_float_eq(drop_mm / n, -1.5, 1.5, "strike %g: drop %+.2f mm", strike_pct[k], drop_mm / n);
        cr_assert_leq(n_transient_wrong, (int) n / 10, "strike %g: %d", strike_pct[k], n_transient_wrong);
        enum engine_weight_source from;
        cr_assert_float_eq(engine_body_weight_n(&G.engine, &from), 70 * UNITS_GRAVITY_M_S2, 70 * 0.05);
        cr_assert_eq(from, ENGINE_WEIGHT_MOMENTUM);
    }
}

/* The landing place is a mean over 25 ms, in which the pressure rolls some mm forward from the heel, up to 16
 * back from the forefoot. The simulated foot leaves further
 * forward than the recorded ones that the front method was measured on. */
Test(engine, landing_place_and_strike_agree_with_the_simulated_truth)
{
    static const double strike_pct[] = { 10, 40, 80 };
    for (int k = 0; k < 6; k++) {
        double ahead_mm = 0, index_pct = 0, travel_mm = 0, n = 0;
        int n_zone = 0;
        gait_rig_init(&G, k < 3 ? FRAME_KIND_FORCE : FRAME_KIND_MAT, 500);
        G.runner_config.style.strike_index_pct = strike_pct[k % 3];
        G.engine_config.belt_speed_m_s = G.runner_config.style.speed_m_s;
        G.engine_config.foot_length_mm = G.runner_config.style.foot_length_mm;
        run_whole(&G, 30);
        for (int i = 4; i < G.n_settled - 4; i++) {
            const struct step *s = &G.settled[i];
            const struct runner_truth *t = gait_rig_truth(&G, s);
            ahead_mm += s->value[METRIC_LANDING_AHEAD_MM] - t->landing_ahead_mm;
            index_pct += s->value[METRIC_STRIKE_INDEX_PCT] - t->strike_index_pct;
            travel_mm += s->value[METRIC_STRIKE_TRAVEL_MM] - t->strike_travel_mm;
            n_zone += s->zone == t->zone || s->zone == STEP_ZONE_BORDER || t->zone == STEP_ZONE_BORDER;
            n += 1;
        }
        cr_assert_float_eq(ahead_mm / n, 0, 10, "strike %g: ahead %+.1f mm", strike_pct[k % 3], ahead_mm / n);
        cr_assert_float_eq(travel_mm / n, 0, 6, "strike %g: travel %+.1f mm", strike_pct[k % 3], travel_mm / n);
        cr_assert_float_eq(index_pct / n, 0, k < 3 ? 11 : 7, "strike %g: index %+.1f", strike_pct[k % 3],
                           index_pct / n);
        cr_assert_geq(n_zone, (int) (0.9 * n), "strike %g: %d of %g", strike_pct[k % 3], n_zone, n);
    }
}

Test(engine, mat_measures_the_belts_speed)
{
    static const double speed_m_s[] = { 2.3, 3.1, 3.8 };
    for (int k = 0; k < 3; k++) {
        double sum = 0;
        gait_rig_init(&G, FRAME_KIND_MAT, 250);
        G.runner_config.style.speed_m_s = speed_m_s[k];
        run_whole(&G, 20);
        /* Before the first flight nothing has shown what the mat reads with nobody on it. */
        cr_assert_eq(G.settled[0].standing[METRIC_BELT_SPEED_M_S], METRIC_MISSING);
        for (int i = 1; i < G.n_settled; i++) {
            sum += G.settled[i].value[METRIC_BELT_SPEED_M_S];
            cr_assert_eq(G.settled[i].standing[METRIC_BELT_SPEED_M_S], METRIC_MEASURED);
        }
        double mean_m_s = sum / (G.n_settled - 1);
        cr_assert_float_eq(mean_m_s / speed_m_s[k], 1, 0.02, "%g m/s: %g", speed_m_s[k], mean_m_s);
    }
}

/* Live as soon as the next touchdown is sure, settled SEQUENCE_SETTLE_STEPS later, in order, with the same
 * number. */
Test(engine, records_come_live_and_then_settled_with_the_same_number)
{
    gait_rig_init(&G, FRAME_KIND_FORCE, 500);
    run_whole(&G, 30);
    cr_assert_eq(G.n_live, G.n_settled);
    double sure_s = 1e-6 * contact_config_default(ENGINE_THRESHOLD_N, 2000).min_contact_us;
    for (int i = 0; i < G.n_settled; i++) {
        cr_assert_eq(G.live[i].number, (uint32_t) i + 1);
        cr_assert_eq(G.settled[i].number, (uint32_t) i + 1);
        cr_assert_eq(G.live[i].touchdown.us, G.settled[i].touchdown.us);
        cr_assert_eq(G.live[i].toe_off.us, G.settled[i].toe_off.us);
        double next_s = units_s_from_us(G.live[i].touchdown.us) + G.live[i].value[METRIC_STEP_TIME_S];
        if (i >= SEQUENCE_MIN_RUN && i < G.n_live - 1)
            cr_assert(G.live_at_s[i] - next_s <= sure_s + 0.005, "step %d: %.3f s late", i,
                      G.live_at_s[i] - next_s);
    }
}

Test(engine, same_frames_give_the_same_bits_twice)
{
    for (int k = 0; k < 4; k++) {
        struct gait_rig *both[] = { &G, &H };
        for (int i = 0; i < 2; i++) {
            gait_rig_init(both[i], KINDS[k], 300);
            both[i]->noise_n = 8;
            both[i]->lost_share = 0.01;
            run_whole(both[i], 15);
        }
        cr_assert_gt(G.n_settled, 30);
        cr_assert_eq(G.n_settled, H.n_settled);
        for (int i = 0; i < G.n_settled; i++) {
            cr_assert(gait_rig_same_step(&G.settled[i], &H.settled[i]), "%s, step %d", NAMES[k], i);
            cr_assert(gait_rig_same_step(&G.live[i], &H.live[i]), "%s, step %d", NAMES[k], i);
        }
    }
}

/* A sensor in a unit of its own: times, places and body weights are what they were. */
Test(engine, uncalibrated_sensor_still_gives_times_and_body_weights)
{
    gait_rig_init(&G, FRAME_KIND_FORCE, 500);
    G.gain = 0.013;
    G.flags = FRAME_RELATIVE;
    run_whole(&G, 30);
    cr_assert_geq(G.n_settled, G.n_truth - 2);
    for (int i = 6; i < G.n_settled; i++) {
        const struct step *s = &G.settled[i];
        const struct runner_truth *t = gait_rig_truth(&G, s);
        cr_assert(s->flags & STEP_FLAG_RELATIVE);
        cr_assert_float_eq(s->value[METRIC_CONTACT_MS], t->contact_ms, 4);
        cr_assert_float_eq(s->value[METRIC_PEAK_FORCE_BW], t->peak_force_bw, 0.05);
    }
}
