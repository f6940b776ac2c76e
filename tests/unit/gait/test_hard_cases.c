/* The hard cases of real treadmills on the simulated runner: no step made up, none silently wrong. A step may
 * be missing a figure or carry a flag that says why it is weak; it may not be wrong without saying so. */
#include "aid/gait_rig.h"

#include <criterion/criterion.h>

#define N(a) (int) (sizeof(a) / sizeof((a)[0]))

/* Why a figure may be off. */
#define EXCUSES (STEP_FLAG_GAP | STEP_FLAG_SATURATED | STEP_FLAG_EDGE | STEP_FLAG_UNSTEADY | STEP_FLAG_CUT)

static struct gait_rig G; /* each test runs in a process of its own */

static const enum frame_kind WITH_PLACE[] = { FRAME_KIND_FORCE, FRAME_KIND_CELLS, FRAME_KIND_MAT };
static const char *const NAMES[] = { "force", "cells", "mat", "switches" };

struct tolerance {
    enum metric metric;
    double share, own; /* of the truth, or in the metric's unit, whichever is more */
    bool is_of_curve;  /* the first stride of a run and a stumble are not periodic */
};

static const struct tolerance TOLERANCES[] = {
    { METRIC_STEP_TIME_S, 0.01, 0.004, false }, { METRIC_CONTACT_MS, 0.02, 4, false },
    { METRIC_FLIGHT_MS, 0.02, 4, false },       { METRIC_PEAK_FORCE_BW, 0.03, 0, false },
    { METRIC_COM_DROP_MM, 0.07, 4, true },      { METRIC_STRIKE_INDEX_PCT, 0, 12, false },
    { METRIC_LANDING_AHEAD_MM, 0, 50, true },
};

static void
begin(enum frame_kind kind, const struct runner_segment *script, int n)
{
    gait_rig_init(&G, kind, kind == FRAME_KIND_MAT ? 250 : 500);
    G.noise_n = kind == FRAME_KIND_FORCE || kind == FRAME_KIND_CELLS ? 4 : 0;
    G.runner_config.script = script;
    G.runner_config.n_segments = n;
    G.engine_config.body_mass_kg = G.runner_config.style.mass_kg;
    G.engine_config.belt_speed_m_s = G.runner_config.style.speed_m_s;
    G.engine_config.foot_length_mm = G.runner_config.style.foot_length_mm;
}

static void
play(enum frame_kind kind, const struct runner_segment *script, int n)
{
    begin(kind, script, n);
    gait_rig_start(&G);
    gait_rig_run(&G, runner_script_s(&G.runner_config) + 1);
    gait_rig_finish(&G);
}

static double
truth_of(const struct runner_truth *t, enum metric m)
{
    switch ((int) m) {
    case METRIC_STEP_TIME_S:
        return t->step_time_s;
    case METRIC_CONTACT_MS:
        return t->contact_ms;
    case METRIC_FLIGHT_MS:
        return t->flight_ms;
    case METRIC_PEAK_FORCE_BW:
        return t->peak_force_bw;
    case METRIC_COM_DROP_MM: /* likewise: by then the body has fallen a little, at the speed of half a flight
                              */
        return t->com_drop_mm - 0.5 * UNITS_GRAVITY_M_S2 * (t->step_time_s - 1e-3 * t->contact_zero_ms) *
                                    (t->down_s - t->touchdown_s) * 1e3;
    case METRIC_STRIKE_INDEX_PCT:
        return t->strike_index_pct;
    case METRIC_LANDING_AHEAD_MM:
        return t->landing_ahead_mm;
    default:
        return NAN;
    }
}

static void
expect_step_right(const struct step *s, const struct runner_truth *t, const char *what)
{
    for (int k = 0; k < N(TOLERANCES); k++) {
        const struct tolerance *l = &TOLERANCES[k];
        double truth = truth_of(t, l->metric), got = s->value[l->metric];
        if (isnan(truth) || isnan(got) || s->standing[l->metric] == METRIC_MISSING)
            continue;
        if (l->is_of_curve && s->flags & (STEP_FLAG_FIRST | STEP_FLAG_LAST))
            continue;
        cr_assert_float_eq(got, truth, fmax(l->own, l->share * fabs(truth)),
                           "%s, step at %.2f s: %s %.3f, truth %.3f, flags %x", what, t->down_s,
                           metric_info(l->metric)->name, got, truth, (unsigned) s->flags);
    }
}

/* Every record is a true running step and right, or says why not. */
static void
expect_none_wrong(const char *what)
{
    for (int i = 0; i < G.n_settled; i++) {
        const struct step *s = &G.settled[i];
        const struct runner_truth *t = gait_rig_truth(&G, s);
        if (G.n_truth > 0 && units_s_from_us(s->touchdown.us) > G.truth[G.n_truth - 1].down_s + 0.1)
            continue; /* the truth of the very last step is not told yet */
        cr_assert_not_null(t, "%s: a step was made up at %.3f s", what, units_s_from_us(s->touchdown.us));
        cr_assert_eq(t->gait, STEP_GAIT_RUNNING, "%s: a step at %.3f s is no running step", what, t->down_s);
        if (i > 0)
            cr_assert_gt(s->touchdown.us, G.settled[i - 1].touchdown.us, "%s: step %d twice", what, i);
        if (s->foot != STEP_FOOT_UNKNOWN && !(s->flags & STEP_FLAG_SIDE_GUESS))
            cr_assert_eq(s->foot, t->foot, "%s: foot of the step at %.2f s", what, t->down_s);
        /* The step before a walk is half a stride of each: its curve is nobody's. */
        bool is_before_walk = t + 1 < &G.truth[G.n_truth] && t[1].gait != STEP_GAIT_RUNNING;
        if (!(s->flags & EXCUSES) && !is_before_walk)
            expect_step_right(s, t, what);
    }
}

/* True running steps between two times that have no record. */
static int
n_missed(double from_s, double to_s)
{
    int n = 0;
    for (int k = 0; k < G.n_truth; k++) {
        bool is_found = false;
        if (G.truth[k].gait != STEP_GAIT_RUNNING || G.truth[k].down_s < from_s || G.truth[k].down_s > to_s)
            continue;
        for (int i = 0; i < G.n_settled && !is_found; i++)
            is_found = fabs(units_s_from_us(G.settled[i].touchdown.us) - G.truth[k].down_s) < 0.06;
        n += !is_found;
    }
    return n;
}

Test(hard_cases, first_step_onto_a_moving_belt_is_the_first_and_says_so)
{
    static const struct runner_segment script[] = { { RUNNER_IS_OFF, 4, NAN, NAN, 0 },
                                                    { RUNNER_RUNS, 12, NAN, NAN, 0 } };
    for (int k = 0; k < N(WITH_PLACE); k++) {
        const char *name = NAMES[WITH_PLACE[k]];
        play(WITH_PLACE[k], script, N(script));
        expect_none_wrong(name);
        cr_assert_eq(n_missed(0, 15), 0, "%s: %d missed", name, n_missed(0, 15));
        cr_assert_gt(G.n_settled, 25, "%s", name);
        cr_assert(G.settled[0].flags & STEP_FLAG_FIRST, "%s", name);
        cr_assert_not(G.settled[1].flags & STEP_FLAG_FIRST, "%s", name);
    }
}

Test(hard_cases, stepping_off_and_on_again_makes_no_step_of_the_pause)
{
    static const struct runner_segment script[] = {
        { RUNNER_RUNS, 10, NAN, NAN, 0 }, { RUNNER_IS_OFF, 1.1, NAN, NAN, 0 },
        { RUNNER_RUNS, 8, NAN, NAN, 0 },  { RUNNER_IS_OFF, 3.7, NAN, NAN, 0 },
        { RUNNER_RUNS, 8, NAN, NAN, 0 },
    };
    for (int k = 0; k < N(WITH_PLACE); k++) {
        const char *name = NAMES[WITH_PLACE[k]];
        int n_first = 0, n_last = 0;
        play(WITH_PLACE[k], script, N(script));
        expect_none_wrong(name);
        cr_assert_eq(n_missed(0.5, 30), 0, "%s: %d missed", name, n_missed(0.5, 30));
        for (int i = 0; i < G.n_settled; i++) {
            n_first += (G.settled[i].flags & STEP_FLAG_FIRST) != 0;
            n_last += (G.settled[i].flags & STEP_FLAG_LAST) != 0;
            cr_assert(!(G.settled[i].value[METRIC_STEP_TIME_S] > 0.6), "%s: a step of %.2f s", name,
                      G.settled[i].value[METRIC_STEP_TIME_S]);
        }
        cr_assert_eq(n_first, 3, "%s: %d first steps", name, n_first);
        cr_assert_eq(n_last, 3, "%s: %d last steps", name, n_last);
    }
}

Test(hard_cases, stumble_is_recorded_as_it_was)
{
    static const struct runner_segment script[] = {
        { RUNNER_RUNS, 10, NAN, NAN, 0 },
        { RUNNER_STUMBLES, 8, NAN, NAN, 0 },
        { RUNNER_STUMBLES, 8, NAN, NAN, 0 },
        { RUNNER_STUMBLES, 8, NAN, NAN, 0 },
    };
    for (int k = 0; k < N(WITH_PLACE); k++) {
        const char *name = NAMES[WITH_PLACE[k]];
        play(WITH_PLACE[k], script, N(script));
        for (int i = 0; i < G.n_settled; i++) {
            const struct runner_truth *t = gait_rig_truth(&G, &G.settled[i]);
            cr_assert_not_null(t, "%s: made up", name);
            if (!isnan(G.settled[i].value[METRIC_CONTACT_MS]))
                cr_assert_float_eq(G.settled[i].value[METRIC_CONTACT_MS], t->contact_ms, 4, "%s at %.2f s",
                                   name, t->down_s);
            if (!(G.settled[i].flags & STEP_FLAG_SIDE_GUESS))
                cr_assert_eq(G.settled[i].foot, t->foot, "%s at %.2f s", name, t->down_s);
        }
        cr_assert_eq(n_missed(0.5, 33), 0, "%s: %d missed", name, n_missed(0.5, 33));
    }
}

Test(hard_cases, walk_run_walk_on_every_sensor_counts_the_run_alone)
{
    static const struct runner_segment script[] = { { RUNNER_WALKS, 10, 1.4, 1.4, 0 },
                                                    { RUNNER_RUNS, 15, NAN, NAN, 0 },
                                                    { RUNNER_WALKS, 10, 1.4, 1.4, 0 } };
    for (int k = 0; k < 4; k++) {
        enum frame_kind kind = (enum frame_kind) k;
        play(kind, script, N(script));
        for (int i = 0; i < G.n_settled; i++) {
            const struct runner_truth *t = gait_rig_truth(&G, &G.settled[i]);
            cr_assert_not_null(t, "%s: made up", NAMES[k]);
            cr_assert_eq(t->gait, STEP_GAIT_RUNNING, "%s: a walking step at %.2f s", NAMES[k], t->down_s);
        }
        cr_assert_leq(n_missed(0, 40), 2, "%s: %d missed", NAMES[k], n_missed(0, 40));
        cr_assert_gt(G.n_gait[STEP_GAIT_WALKING], 0, "%s never says walking", NAMES[k]);
    }
}

Test(hard_cases, foot_over_the_mats_edge_says_so)
{
    static const struct runner_segment script[] = { { RUNNER_RUNS, 10, NAN, NAN, 0 },
                                                    { RUNNER_RUNS, 10, NAN, NAN, 110 },
                                                    { RUNNER_RUNS, 10, NAN, NAN, 175 },
                                                    { RUNNER_RUNS, 10, NAN, NAN, 0 } };
    int n_edge = 0;
    play(FRAME_KIND_MAT, script, N(script));
    expect_none_wrong("mat");
    for (int i = 0; i < G.n_settled; i++) {
        const struct step *s = &G.settled[i];
        bool is_outside = s->touchdown.us > 11000000 && s->touchdown.us < 30000000;
        n_edge += (s->flags & STEP_FLAG_EDGE) != 0;
        if (!is_outside && (s->touchdown.us < 9500000 || s->touchdown.us > 31500000))
            cr_assert_not(s->flags & STEP_FLAG_EDGE, "step at %.2f s", units_s_from_us(s->touchdown.us));
    }
    cr_assert_gt(n_edge, 20, "%d", n_edge);
}

/* Plays a mat whose picture is spoilt by `spoil` before force and COP are summed from it. */
static void
play_spoilt_mat(void (*spoil)(struct frame_image *, uint32_t *flags), double seconds)
{
    begin(FRAME_KIND_MAT, NULL, 0);
    gait_rig_start(&G);
    for (G.i = 0; (double) G.i < seconds * G.rate_hz; G.i++) {
        struct runner_now now;
        struct frame f;
        double sum = 0, fwd = 0, right = 0;
        G.t_s = (double) G.i / G.rate_hz;
        runner_now(&G.runner, G.t_s, &now);
        sensor_frame(&G.layout, &now, 0, &G.image, &G.switches, &f);
        spoil(&G.image, &f.flags);
        for (int r = 0; r < G.image.n_rows; r++)
            for (int c = 0; c < G.image.n_cols; c++) {
                double load_n = (double) G.image.load_n[r * G.image.n_cols + c];
                sum += load_n;
                fwd += load_n * (G.image.origin_fwd_mm + r * G.image.pitch_fwd_mm);
                right += load_n * (G.image.origin_right_mm + c * G.image.pitch_right_mm);
            }
        f.force_n = sum;
        f.cop_fwd_mm = sum > 0 ? fwd / sum : (double) NAN;
        f.cop_right_mm = sum > 0 ? right / sum : (double) NAN;
        engine_feed(&G.engine, &f);
        gait_rig_take(&G);
    }
    gait_rig_finish(&G);
}

static void
saturate_at_12_n(struct frame_image *m, uint32_t *flags)
{
    for (int i = 0; i < m->n_rows * m->n_cols; i++)
        if (m->load_n[i] >= 12) {
            m->load_n[i] = 12;
            *flags |= FRAME_SATURATED;
        }
}

Test(hard_cases, saturated_elements_withhold_forces_and_nothing_else)
{
    int n_saturated = 0;
    play_spoilt_mat(saturate_at_12_n, 20);
    expect_none_wrong("mat");
    cr_assert_eq(n_missed(0.5, 19), 0);
    for (int i = 0; i < G.n_settled; i++) {
        const struct step *s = &G.settled[i];
        if (!(s->flags & STEP_FLAG_SATURATED))
            continue;
        n_saturated++;
        cr_assert_eq(s->standing[METRIC_PEAK_FORCE_BW], METRIC_MISSING);
        cr_assert_eq(s->standing[METRIC_LOAD_RATE_BW_S], METRIC_MISSING);
        cr_assert_neq(s->standing[METRIC_CONTACT_MS], METRIC_MISSING);
    }
    cr_assert_gt(n_saturated, 20, "%d", n_saturated);
}

/* One element near the rear left corner always reads 15 N, another one nothing. */
static void
stick_two(struct frame_image *m, uint32_t *flags)
{
    (void) flags;
    m->load_n[12 * m->n_cols + 4] = 15;
    m->load_n[90 * m->n_cols + 15] = 0;
}

Test(hard_cases, stuck_element_makes_no_step_and_no_wrong_figure)
{
    play_spoilt_mat(stick_two, 30);
    cr_assert_eq(n_missed(1.5, 29), 0, "%d missed", n_missed(1.5, 29));
    expect_none_wrong("mat with a stuck element");
}

Test(hard_cases, slow_belt_ramp_is_followed)
{
    static const struct runner_segment script[] = { { RUNNER_RUNS, 5, 2.4, 2.4, 0 },
                                                    { RUNNER_RUNS, 60, 2.4, 4.0, 0 },
                                                    { RUNNER_RUNS, 5, 4.0, 4.0, 0 },
                                                    { RUNNER_RUNS, 60, 4.0, 2.4, 0 } };
    for (int k = 0; k < N(WITH_PLACE); k++) {
        const char *name = NAMES[WITH_PLACE[k]];
        begin(WITH_PLACE[k], script, N(script));
        gait_rig_start(&G);
        for (int s = 0; s < 130; s++) { /* the operator, or the treadmill, tells the speed every second */
            engine_set_belt_speed(&G.engine, runner_belt_speed_m_s(&G.runner, s));
            gait_rig_run(&G, 1);
        }
        gait_rig_finish(&G);
        expect_none_wrong(name);
        cr_assert_eq(n_missed(0.5, 129), 0, "%s: %d missed", name, n_missed(0.5, 129));
    }
}

Test(hard_cases, mat_sees_a_belt_ramp_that_nobody_told_it_of)
{
    static const struct runner_segment script[] = { { RUNNER_RUNS, 5, 2.4, 2.4, 0 },
                                                    { RUNNER_RUNS, 60, 2.4, 4.0, 0 } };
    begin(FRAME_KIND_MAT, script, N(script));
    G.engine_config.belt_speed_m_s = NAN;
    gait_rig_start(&G);
    gait_rig_run(&G, 64);
    gait_rig_finish(&G);
    expect_none_wrong("mat");
    for (int i = 4; i < G.n_settled - 2; i++) {
        const struct step *s = &G.settled[i];
        if (s->flags & EXCUSES || s->standing[METRIC_BELT_SPEED_M_S] == METRIC_MISSING)
            continue;
        double truth_m_s = gait_rig_truth(&G, s)->belt_speed_m_s;
        cr_assert_float_eq(s->value[METRIC_BELT_SPEED_M_S], truth_m_s, 0.04 * truth_m_s, "%.3f, truth %.3f",
                           s->value[METRIC_BELT_SPEED_M_S], truth_m_s);
    }
}

Test(hard_cases, standing_with_both_feet_between_runs_is_no_step)
{
    static const struct runner_segment script[] = { { RUNNER_STANDS, 6, 0, 0, 0 },
                                                    { RUNNER_RUNS, 10, NAN, NAN, 0 },
                                                    { RUNNER_STANDS, 6, 0, 0, 0 },
                                                    { RUNNER_RUNS, 10, NAN, NAN, 0 } };
    for (int k = 0; k < 4; k++) {
        play((enum frame_kind) k, script, N(script));
        for (int i = 0; i < G.n_settled; i++) {
            const struct runner_truth *t = gait_rig_truth(&G, &G.settled[i]);
            cr_assert_not_null(t, "%s: made up at %.2f s", NAMES[k],
                               units_s_from_us(G.settled[i].touchdown.us));
            cr_assert_eq(t->gait, STEP_GAIT_RUNNING, "%s at %.2f s", NAMES[k], t->down_s);
        }
        cr_assert_leq(n_missed(0, 33), 2, "%s: %d missed", NAMES[k], n_missed(0, 33));
        cr_assert_gt(G.n_gait[STEP_GAIT_STANDING], 0, "%s never says standing", NAMES[k]);
    }
}

Test(hard_cases, belt_that_slows_to_a_stop_ends_the_run_cleanly)
{
    static const struct runner_segment script[] = { { RUNNER_RUNS, 10, NAN, NAN, 0 },
                                                    { RUNNER_RUNS, 6, NAN, 1.6, 0 },
                                                    { RUNNER_WALKS, 6, 1.6, 0.4, 0 },
                                                    { RUNNER_STANDS, 8, 0, 0, 0 } };
    for (int k = 0; k < N(WITH_PLACE); k++) {
        const char *name = NAMES[WITH_PLACE[k]];
        begin(WITH_PLACE[k], script, N(script));
        gait_rig_start(&G);
        for (int s = 0; s < 310; s++) {
            double speed_m_s = runner_belt_speed_m_s(&G.runner, 0.1 * s);
            engine_set_belt_speed(&G.engine, speed_m_s > 0.3 ? speed_m_s : (double) NAN);
            gait_rig_run(&G, 0.1);
        }
        gait_rig_finish(&G);
        expect_none_wrong(name);
        cr_assert_leq(n_missed(0.5, 16), 2, "%s: %d missed", name, n_missed(0.5, 16));
        cr_assert_eq(engine_gait(&G.engine), STEP_GAIT_STANDING, "%s: %d at the end", name,
                     (int) engine_gait(&G.engine));
    }
}
