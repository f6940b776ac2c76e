#include "sim/sensor.h"

#include <criterion/criterion.h>
#include <math.h>

static struct runner RUNNER;
static struct frame_image IMAGE;

static void
set_mat(struct sensor_layout *l, int n_rows, int n_cols, double pitch_mm)
{
    l->n_rows = n_rows;
    l->n_cols = n_cols;
    l->pitch_fwd_mm = l->pitch_right_mm = pitch_mm;
    l->origin_fwd_mm = -(n_rows - 1) / 2.0 * pitch_mm;
    l->origin_right_mm = -(n_cols - 1) / 2.0 * pitch_mm;
}

Test(sensor, mat_keeps_force_and_centre_of_pressure_at_any_pitch)
{
    static const struct {
        int n_rows, n_cols;
        double pitch_mm;
    } mat[] = { { 128, 64, 11 }, { 128, 32, 10 }, { 96, 32, 15 }, { 64, 16, 20 } };
    for (size_t k = 0; k < sizeof mat / sizeof mat[0]; k++) {
        struct sensor_layout l = sensor_layout_default(FRAME_KIND_MAT);
        struct runner_config c = runner_config_default();
        struct runner_now now;
        struct frame f;
        c.style.strike_index_pct = k == 1 ? 78 : 10;
        set_mat(&l, mat[k].n_rows, mat[k].n_cols, mat[k].pitch_mm);
        runner_init(&RUNNER, &c);
        for (int i = 0; i < 1500; i++) {
            runner_now(&RUNNER, i * 2e-3, &now);
            sensor_frame(&l, &now, 0, &IMAGE, NULL, &f);
            cr_assert_float_eq(f.force_n, now.force_n, 1e-3 * now.force_n + 1e-6);
            if (now.force_n < 20)
                continue;
            cr_assert_float_eq(f.cop_fwd_mm, now.cop_fwd_mm, 0.05);
            cr_assert_float_eq(f.cop_right_mm, now.cop_right_mm, 0.05);
            cr_assert(!(f.flags & FRAME_AT_EDGE));
        }
    }
}

/* Rows of the picture that carry load, over foot length. */
static double
outline_share(const struct sensor_layout *l, double foot_length_mm)
{
    int first = l->n_rows, last = -1;
    for (int i = 0; i < l->n_rows * l->n_cols; i++) {
        if (IMAGE.load_n[i] < 0.5F)
            continue;
        first = i / l->n_cols < first ? i / l->n_cols : first;
        last = i / l->n_cols > last ? i / l->n_cols : last;
    }
    return (last - first + 1) * l->pitch_fwd_mm / foot_length_mm;
}

Test(sensor, heel_lander_rolls_from_heel_over_flat_to_toe)
{
    struct sensor_layout l = sensor_layout_default(FRAME_KIND_MAT);
    struct runner_config c = runner_config_default();
    struct runner_now now;
    struct runner_truth t;
    struct frame f;
    runner_init(&RUNNER, &c);
    runner_now(&RUNNER, 3, &now);
    while (runner_take(&RUNNER, &t))
        ;
    static const struct {
        double phase, low, high;
    } row[] = { { 0.03, 0.1, 0.5 }, { 0.4, 0.85, 1.1 }, { 0.95, 0.1, 0.45 } };
    for (size_t i = 0; i < 3; i++) {
        runner_now(&RUNNER, t.touchdown_s + row[i].phase * (t.toe_off_s - t.touchdown_s), &now);
        sensor_frame(&l, &now, 0, &IMAGE, NULL, &f);
        double share = outline_share(&l, c.style.foot_length_mm);
        cr_assert(share > row[i].low && share < row[i].high, "phase %g: %g", row[i].phase, share);
    }
}

Test(sensor, flat_foot_rides_with_the_belt)
{
    struct sole_place p = { .heel_fwd_mm = 0, .length_mm = 265, .width_mm = 95 };
    double fwd_mm, right_mm;
    struct runner_config c = runner_config_default();
    struct runner_now a, b;
    runner_init(&RUNNER, &c);
    runner_now(&RUNNER, 0.08, &a);
    runner_now(&RUNNER, 0.10, &b);
    cr_assert_float_eq(a.foot[0].place.heel_fwd_mm - b.foot[0].place.heel_fwd_mm, 3.0 * 20, 1e-6);
    sole_axis_point(&p, 1, &fwd_mm, &right_mm);
    cr_assert_float_eq(fwd_mm, 265, 1e-9);
}

Test(sensor, foot_beside_the_mat_is_seen_in_part)
{
    static const struct runner_segment script[] = { { RUNNER_RUNS, 10, 3, 3, 150 } };
    struct sensor_layout l = sensor_layout_default(FRAME_KIND_MAT);
    struct runner_config c = runner_config_default();
    struct runner_now now;
    struct frame f;
    int n_edge = 0;
    double least = 1;
    c.script = script;
    c.n_segments = 1;
    runner_init(&RUNNER, &c);
    for (int i = 0; i < 2000; i++) {
        runner_now(&RUNNER, i * 2e-3, &now);
        sensor_frame(&l, &now, 0, &IMAGE, NULL, &f);
        n_edge += (f.flags & FRAME_AT_EDGE) != 0;
        if (now.force_n > 100)
            least = fmin(least, f.force_n / now.force_n);
    }
    cr_assert(n_edge > 100);
    cr_assert(least < 0.6);
}

Test(sensor, cells_carry_force_and_both_moments)
{
    struct sensor_layout l = sensor_layout_default(FRAME_KIND_CELLS);
    for (int n_cells = 3; n_cells <= 4; n_cells++) {
        double load_n[SENSOR_MAX_CELLS], sum = 0, fwd = 0, right = 0;
        l.n_cells = n_cells;
        sensor_cell_loads(&l, 1500, 210, -70, load_n);
        for (int i = 0; i < n_cells; i++) {
            sum += load_n[i];
            fwd += load_n[i] * l.cell_fwd_mm[i];
            right += load_n[i] * l.cell_right_mm[i];
        }
        cr_assert_float_eq(sum, 1500, 1e-9);
        cr_assert_float_eq(fwd / sum, 210, 1e-9);
        cr_assert_float_eq(right / sum, -70, 1e-9);
    }
}

Test(sensor, switches_close_in_the_order_of_the_landing)
{
    for (int k = 0; k < 2; k++) {
        struct sensor_layout l = sensor_layout_default(FRAME_KIND_SWITCHES);
        struct runner_config c = runner_config_default();
        struct runner_now now;
        struct frame_switches s = { 0 };
        struct frame f;
        double heel_s = NAN, fore_s = NAN;
        c.style.strike_index_pct = k ? 80 : 10;
        runner_init(&RUNNER, &c);
        for (double t_s = 0; t_s < 0.3; t_s += 1e-3) { /* the first step is a right one */
            runner_now(&RUNNER, t_s, &now);
            sensor_frame(&l, &now, 0, NULL, &s, &f);
            cr_assert(isnan(f.force_n));
            if (s.is_down[2] && isnan(heel_s))
                heel_s = t_s;
            if (s.is_down[3] && isnan(fore_s))
                fore_s = t_s;
            cr_assert(!s.is_down[0] && !s.is_down[1]);
        }
        cr_assert(k ? fore_s < heel_s : heel_s < fore_s, "heel %g fore %g", heel_s, fore_s);
    }
}
