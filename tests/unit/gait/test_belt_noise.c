/* The treadmill's own noise, from the simulated board's bytes to steps: a motor that shakes and a seam that
 * passes make no steps on an empty moving belt, and leave the steps of a runner as they are. */
#include "gait/engine.h"
#include "sense/sense.h"
#include "sim/board.h"
#include "sim/cast.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#define MAX_STEPS 200

static struct board board;
static struct runner runner;
static struct wire_decoder decoder;
static struct sense sense;
static struct sense_profile profile;
static struct engine engine;
static bool is_bare; /* the board's own word alone: no gain, no noise floor */

struct outcome {
    int n;
    struct step step[MAX_STEPS];
    double force_max_n, force_sum_sq, n_frames;
};
static struct outcome quiet, loud;

static void
calibrate(enum frame_kind kind)
{
    profile_from_hello(&profile, &board.packet.hello);
    if (is_bare)
        return;
    if (kind == FRAME_KIND_MAT) {
        profile.gain_n_per_count = board_mat_gain_n(&board.config);
        profile.noise_counts = 12;
    }
    for (int i = 0; kind == FRAME_KIND_CELLS && i < board.config.layout.n_cells; i++)
        profile.cell[i] = (struct profile_cell){ .fwd_mm = board.config.layout.cell_fwd_mm[i],
                                                 .right_mm = board.config.layout.cell_right_mm[i],
                                                 .gain_n_per_count = board_cell_gain_n() };
}

static void
take_steps(struct outcome *o)
{
    struct step s;
    while (engine_take(&engine, &s))
        if (s.is_settled) {
            cr_assert_lt(o->n, MAX_STEPS);
            o->step[o->n++] = s;
        }
}

static void
run(struct outcome *o, enum frame_kind kind, const char *scenario, double vibration_n, double seam_n,
    double seconds)
{
    struct board_config c = board_config_default(kind);
    struct runner_config r = runner_config_default();
    const struct cast_scenario *s = cast_scenario_find(scenario);
    memset(o, 0, sizeof *o);
    r.script = s->script;
    r.n_segments = s->n_segments;
    c.faults.vibration_n = vibration_n;
    c.faults.seam_bump_n = seam_n;
    runner_init(&runner, &r);
    board_init(&board, &c, &runner);
    calibrate(kind);
    wire_init(&decoder);
    sense_init(&sense, &profile);
    struct engine_config e = engine_config_default(kind);
    e.rate_hz = c.rate_hz;
    engine_init(&engine, &e);
    for (int i = 0; i < seconds * c.rate_hz; i++) {
        const uint8_t *bytes;
        const size_t len = board_step(&board, &bytes);
        for (size_t at = 0; at < len;) {
            at += wire_feed(&decoder, bytes + at, len - at, (struct host_time){ 0 });
            const struct packet *p = wire_take(&decoder);
            struct frame f;
            if (!p || !sense_feed(&sense, p, &f))
                continue;
            o->force_max_n = fmax(o->force_max_n, f.force_n);
            o->force_sum_sq += f.force_n * f.force_n;
            o->n_frames++;
            engine_feed(&engine, &f);
            take_steps(o);
        }
    }
    engine_finish(&engine);
    take_steps(o);
}

Test(belt_noise, an_empty_moving_belt_makes_no_steps)
{
    static const enum frame_kind kinds[] = { FRAME_KIND_MAT, FRAME_KIND_CELLS };
    static const double seam_n[] = { 12, 60, 150 };
    for (int k = 0; k < 2; k++)
        for (int i = 0; i < 3; i++) {
            run(&loud, kinds[k], "empty", 30, seam_n[i], 30);
            cr_expect_eq(loud.n, 0, "kind %d, seam %.0f N: %d steps", kinds[k], seam_n[i], loud.n);
            cr_expect_neq(engine_gait(&engine), STEP_GAIT_RUNNING);
            cr_expect_gt(loud.n_frames, 7000);
        }
}

/* The noise is there at all: what the engine was given is not an empty trace. */
Test(belt_noise, seam_and_vibration_reach_the_frames)
{
    run(&loud, FRAME_KIND_MAT, "empty", 0, 150, 10);
    cr_expect_gt(loud.force_max_n, 100, "seam on the mat: %.1f N", loud.force_max_n);
    cr_expect_lt(loud.force_max_n, 160);
    run(&quiet, FRAME_KIND_MAT, "empty", 0, 0, 10);
    cr_expect_lt(quiet.force_max_n, 5);
    run(&loud, FRAME_KIND_CELLS, "empty", 30, 0, 10);
    cr_expect_float_eq(sqrt(loud.force_sum_sq / loud.n_frames), 30 / sqrt(2), 2);
}

static void
compare(enum frame_kind kind, double seam_n, double time_ms, double peak_bw)
{
    double sum_sq_ms = 0;
    run(&quiet, kind, "steady", 0, 0, 20);
    run(&loud, kind, "steady", 20, seam_n, 20);
    cr_assert_eq(loud.n, quiet.n, "%d steps with noise, %d without", loud.n, quiet.n);
    cr_assert_geq(quiet.n, 40);
    for (int i = 0; i < loud.n; i++) {
        const struct step *a = &quiet.step[i], *b = &loud.step[i];
        const double d_ms = units_ms_from_us(units_dev_since_us(b->touchdown, a->touchdown));
        cr_expect_eq(a->foot, b->foot, "step %d is on another side", i + 1);
        cr_expect_leq(fabs(d_ms), 3 * time_ms, "touchdown %d moved by %.2f ms", i + 1, d_ms);
        cr_expect_float_eq(b->value[METRIC_PEAK_FORCE_BW], a->value[METRIC_PEAK_FORCE_BW], peak_bw);
        sum_sq_ms += d_ms * d_ms;
    }
    cr_expect_leq(sqrt(sum_sq_ms / loud.n), time_ms, "touchdowns moved by %.2f ms", sqrt(sum_sq_ms / loud.n));
}

Test(belt_noise, steps_of_a_runner_stay_as_they_are)
{
    compare(FRAME_KIND_MAT, 40, 1.5, 0.06);
    compare(FRAME_KIND_CELLS, 40, 1.5, 0.06);
}

/* A sensor without calibration has no newtons to measure noise by: what it takes for a body must not be the belt. */
Test(belt_noise, uncalibrated_sensor_waits_for_the_runner_after_an_empty_belt)
{
    static const enum frame_kind kinds[] = { FRAME_KIND_MAT, FRAME_KIND_CELLS };
    static const double vibration_n[] = { 0, 6, 20 }, seam_n[] = { 0, 12, 40 };
    is_bare = true;
    for (int k = 0; k < 2; k++)
        for (int i = 0; i < 9; i++) {
            run(&loud, kinds[k], "hard", vibration_n[i % 3], seam_n[i / 3], 14); /* empty for 4 s, then a run */
            cr_assert(loud.n == 27 || loud.n == 26, "kind %d, case %d: %d steps", kinds[k], i, loud.n);
            for (int n = 0; n < loud.n; n++) {
                const struct step *s = &loud.step[n];
                double touchdown_s = units_s_from_us(s->touchdown.us), contact_ms = s->value[METRIC_CONTACT_MS];
                cr_assert_geq(touchdown_s, 3.98, "kind %d, case %d: a step at %.3f s", kinds[k], i, touchdown_s);
                cr_assert(contact_ms > 235 && contact_ms < 265, "kind %d, case %d: contact %.0f ms", kinds[k], i, contact_ms);
                cr_assert(isnan(s->value[METRIC_PEAK_FORCE_BW]) || fabs(s->value[METRIC_PEAK_FORCE_BW] - 2.2) < 0.5);
            }
            cr_assert_float_eq(units_s_from_us(loud.step[0].touchdown.us), 4.0, 0.012);
        }
}

Test(belt_noise, seam_beside_the_foot_is_not_the_belts_speed)
{
    run(&loud, FRAME_KIND_MAT, "steady", 6, 12, 40);
    int n_known = 0;
    double speed_m_s = runner.config.style.speed_m_s;
    for (int i = 0; i < loud.n; i++) {
        double m_s = loud.step[i].value[METRIC_BELT_SPEED_M_S];
        if (isnan(m_s))
            continue;
        n_known++;
        cr_assert_float_eq(m_s, speed_m_s, 0.08 * speed_m_s, "step %d: %.2f m/s of %.2f", i + 1, m_s, speed_m_s);
    }
    cr_assert_geq(n_known, 0.85 * loud.n);
}
