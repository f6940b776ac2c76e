#include "gait/footprint.h"

#include "aid/gait_print.h"

#include <criterion/criterion.h>

static struct frame_image MAT;
static struct footprint PRINT;

#define T0_US 1e6 /* touchdown, by gait_print_frame() */
#define LEVEL_SHARE_PER_MM 0.0005 /* read: footprint.c, the load a mm that a foot's row exceeds */

/* Reads one whole contact; phase 0..1 shifts the frames against the touchdown. */
static struct footprint_result
read_contact(const struct gait_print *g, double rate_hz, double phase, double speed_m_s, double foot_mm)
{
    struct frame f;
    footprint_reset(&PRINT);
    for (int i = 0; (i + phase) / rate_hz < g->contact_s; i++) {
        double t_s = (i + phase) / rate_hz;
        if (gait_print_force_n(g, t_s) < 25)
            continue;
        gait_print_frame(g, t_s, &MAT, &f);
        footprint_feed(&PRINT, &f);
    }
    return footprint_read(&PRINT, T0_US, T0_US + g->contact_s * 1e6, speed_m_s, foot_mm);
}

struct errors {
    double speed_share, heel_mm, toe_mm, axis_deg; /* largest, over places on the mat and phases */
};

static struct errors
worst_of(bool is_forefoot, double speed_m_s, double rate_hz, double pitch_mm, double foot_mm)
{
    struct errors worst = { 0, 0, 0, 0 };
    for (int k = 0; k < 6; k++) {
        struct gait_print g = gait_print_default();
        g.speed_m_s = speed_m_s;
        g.contact_s = speed_m_s > 3 ? 0.20 : 0.26;
        g.is_forefoot = is_forefoot;
        g.heel_fwd_mm += 3.7 * k - (pitch_mm < 10 ? 120 : 0);
        g.axis_deg = k % 3 * 7 - 5;
        gait_print_mat(&MAT, pitch_mm);
        struct footprint_result r = read_contact(&g, rate_hz, k / 6.0, NAN, foot_mm);
        double toe_mm = g.heel_fwd_mm + g.foot_mm * cos(g.axis_deg * 3.14159265 / 180);
        cr_assert(r.is_valid);
        worst.speed_share = fmax(worst.speed_share, fabs(r.belt_speed_m_s / speed_m_s - 1));
        worst.heel_mm = fmax(worst.heel_mm, fabs(r.heel_fwd_mm - g.heel_fwd_mm));
        worst.toe_mm = fmax(worst.toe_mm, fabs(r.toe_fwd_mm - toe_mm));
        worst.axis_deg = fmax(worst.axis_deg, fabs(r.axis_deg - g.axis_deg));
    }
    return worst;
}

/* Speeds at which the belt does not move whole rows between frames: see footprint.h. */
Test(footprint, belt_speed_and_outline_of_a_heel_landing)
{
    static const double speed_m_s[] = { 2.4, 3.7 }, rate_hz[] = { 100, 200, 500 }, pitch_mm[] = { 5, 10, 20 };
    for (int s = 0; s < 2; s++)
        for (int r = 0; r < 3; r++)
            for (int p = 0; p < 3; p++) {
                struct errors e = worst_of(false, speed_m_s[s], rate_hz[r], pitch_mm[p], NAN);
                /* At 100 Hz a contact has 10 frames in which the edge stands. */
                double loose = rate_hz[r] < 150 ? 2 : 1;
                cr_expect_leq(e.speed_share, 0.015 * loose, "%g m/s %g Hz %g mm: speed %.4f", speed_m_s[s],
                              rate_hz[r], pitch_mm[p], e.speed_share);
                cr_expect_leq(e.heel_mm, loose * fmax(3, 0.4 * pitch_mm[p]), "%g m/s %g Hz %g mm: heel %.1f",
                              speed_m_s[s], rate_hz[r], pitch_mm[p], e.heel_mm);
                cr_expect_leq(e.toe_mm, loose * fmax(4, 0.5 * pitch_mm[p]), "%g m/s %g Hz %g mm: toe %.1f",
                              speed_m_s[s], rate_hz[r], pitch_mm[p], e.toe_mm);
                cr_expect_leq(e.axis_deg, 0.2 * loose, "%g", e.axis_deg);
            }
}

/* The worst case: 4 m/s at 200 Hz moves exactly two rows of 10 mm. */
Test(footprint, whole_rows_between_frames_cost_at_most_3_percent)
{
    cr_assert_leq(worst_of(false, 4, 200, 10, NAN).speed_share, 0.03);
}

Test(footprint, forefoot_landing_lays_the_entered_foot_back_from_the_toe)
{
    static const double rate_hz[] = { 200, 500 };
    for (int r = 0; r < 2; r++) {
        struct errors e = worst_of(true, 2.4, rate_hz[r], 10, 265);
        cr_expect_leq(e.speed_share, 0.02, "%.4f", e.speed_share);
        cr_expect_leq(e.heel_mm, 7, "%.1f",
                      e.heel_mm); /* the toe's error, and a foot at 9 degrees is shorter */
        e = worst_of(true, 2.4, rate_hz[r], 10, NAN);
        cr_expect_geq(e.heel_mm, 60); /* without it the print is all there is */
    }
}

Test(footprint, longer_print_than_the_entered_foot_is_believed)
{
    struct gait_print g = gait_print_default();
    gait_print_mat(&MAT, 10);
    struct footprint_result r = read_contact(&g, 200, 0.3, NAN, 240);
    cr_assert_float_eq(r.length_mm, 265, 5);
    cr_assert_float_eq(r.heel_fwd_mm, g.heel_fwd_mm, 4);
}

Test(footprint, entered_speed_is_used_for_the_outline_and_the_own_still_told)
{
    struct gait_print g = gait_print_default();
    gait_print_mat(&MAT, 10);
    struct footprint_result own = read_contact(&g, 500, 0, NAN, NAN),
                            given = read_contact(&g, 500, 0, 2.5, NAN);
    struct footprint_result wrong = read_contact(&g, 500, 0, 3.5, NAN);
    cr_assert_float_eq(given.belt_speed_m_s, own.belt_speed_m_s, 0);
    cr_assert_float_eq(given.length_mm, 265, 4);
    cr_assert_geq(wrong.length_mm, 265 + 100); /* smeared out: it was used */
}

Test(footprint, place_on_the_mat_and_strike_place_do_not_change_the_outline)
{
    gait_print_mat(&MAT, 10);
    for (int k = 0; k < 5; k++) {
        struct gait_print g = gait_print_default();
        g.heel_fwd_mm = 60 + 50 * k;
        g.heel_right_mm = -80 + 40 * k;
        struct footprint_result r = read_contact(&g, 300, 0.1 * k, NAN, NAN);
        cr_assert_float_eq(r.heel_fwd_mm, g.heel_fwd_mm, 3);
        cr_assert_float_eq(r.length_mm, 265, 5);
    }
}

Test(footprint, cover_is_the_share_of_the_foot_on_the_mat)
{
    struct gait_print g = gait_print_default();
    gait_print_mat(&MAT, 10);
    read_contact(&g, 500, 0, NAN, NAN);
    cr_assert_float_eq(footprint_cover(&PRINT, T0_US + 0.35 * 260e3, 265), 1, 0.04); /* flat */
    cr_assert_leq(footprint_cover(&PRINT, T0_US + 0.9 * 260e3, 265), 0.6);           /* heel off */
    cr_assert_leq(footprint_cover(&PRINT, T0_US + 4e3, 265), 0.6);                   /* only the heel yet */
    cr_assert(isnan(footprint_cover(&PRINT, T0_US, NAN)));
    footprint_reset(&PRINT);
    cr_assert(isnan(footprint_cover(&PRINT, T0_US, 265)));
}

Test(footprint, too_few_and_too_many_frames_are_refused)
{
    struct gait_print g = gait_print_default();
    gait_print_mat(&MAT, 20);
    cr_assert(!read_contact(&g, 25, 0, NAN, 265).is_valid); /* 6 frames */
    cr_assert(read_contact(&g, 2000, 0, NAN, 265).is_valid);
    cr_assert(!read_contact(&g, 4000, 0, NAN, 265).is_valid);
    footprint_reset(&PRINT);
    cr_assert(!footprint_read(&PRINT, T0_US, T0_US + 2e5, 3, 265).is_valid);
}

/* One ghost element behind the foot in a lightly loaded frame does not move the heel. */
Test(footprint, ghost_load_in_a_light_frame_does_not_place_the_heel)
{
    struct gait_print g = gait_print_default();
    gait_print_mat(&MAT, 10);
    struct frame f;
    footprint_reset(&PRINT);
    for (int i = 0; i < 130; i++) {
        double t_s = i / 500.0;
        if (gait_print_force_n(&g, t_s) < 25)
            continue;
        gait_print_frame(&g, t_s, &MAT, &f);
        if (f.force_n < 60)
            MAT.load_n[20 * MAT.n_cols + 3] += 2;
        footprint_feed(&PRINT, &f);
    }
    struct footprint_result r = footprint_read(&PRINT, T0_US, T0_US + 260e3, NAN, NAN);
    cr_assert_float_eq(r.heel_fwd_mm, g.heel_fwd_mm, 3);
}

/* The belt's seam runs through the mat as a ridge right across it: it is not the foot. */
Test(footprint, ridge_elsewhere_on_the_mat_moves_nothing)
{
    struct gait_print g = gait_print_default();
    struct frame f;
    gait_print_mat(&MAT, 10);
    struct footprint_result clean = read_contact(&g, 250, 0, NAN, NAN);
    footprint_reset(&PRINT);
    for (int i = 1; i < 65; i++) {
        double t_s = i / 250.0;
        gait_print_frame(&g, t_s, &MAT, &f);
        if (f.force_n < 25)
            continue;
        struct footprint_frame alone = footprint_feed(&PRINT, &f);
        PRINT.n--; /* the same frame once more, with a ridge of 24 N at the mat's rear and one at its front */
        for (int c = 0; c < MAT.n_cols; c++)
            for (int r = 2; r < 6; r++)
                MAT.load_n[r * MAT.n_cols + c] = MAT.load_n[(MAT.n_rows - 1 - r) * MAT.n_cols + c] = (float) (6.0 / MAT.n_cols);
        f.force_n += 48;
        struct footprint_frame ridged = footprint_feed(&PRINT, &f);
        cr_assert_float_eq(ridged.cop_fwd_mm, alone.cop_fwd_mm, 3, "%g s: %g %g", t_s, ridged.cop_fwd_mm,
                           alone.cop_fwd_mm);
        cr_assert(!ridged.is_at_border);
    }
    struct footprint_result r = footprint_read(&PRINT, T0_US, T0_US + g.contact_s * 1e6, NAN, NAN);
    cr_assert_float_eq(r.belt_speed_m_s, clean.belt_speed_m_s, 0.01);
    cr_assert_float_eq(r.heel_fwd_mm, clean.heel_fwd_mm, 2);
    cr_assert_float_eq(r.toe_fwd_mm, clean.toe_fwd_mm, 2);
}

/* ------------------------------------------------------------------ single frames, computed by hand: rows of 10 mm */

/* Rows that bear load_n in their one loaded column; row 20 is the first. */
static struct footprint_frame
feed_rows(const double *load_n, int n_rows, int col, double force_n)
{
    struct frame f = { .time.us = 1000000, .force_n = force_n, .image = &MAT };
    memset(&MAT, 0, sizeof MAT);
    gait_print_mat(&MAT, 10);
    for (int r = 0; r < n_rows; r++)
        MAT.load_n[(20 + r) * MAT.n_cols + col] = (float) load_n[r];
    return footprint_feed(&PRINT, &f);
}

static double
row_mm(double row)
{
    return MAT.origin_fwd_mm + (20 + row) * MAT.pitch_fwd_mm;
}

Test(footprint, three_frames_of_a_flight_show_what_is_stuck_and_two_do_not)
{
    static struct footprint_idle idle;
    struct frame f = { .time.us = 1000, .image = &MAT };
    memset(&PRINT, 0, sizeof PRINT);
    gait_print_mat(&MAT, 10);
    MAT.load_n[5 * MAT.n_cols] = 7;
    footprint_idle_reset(&idle);
    for (int n = 1; n <= 3; n++) {
        footprint_idle_feed(&idle, &f);
        footprint_set_idle(&PRINT, &idle);
        cr_expect_eq(PRINT.has_idle, n == 3, "%d", n);
        for (int r = 0; r < MAT.n_rows; r++)
            cr_expect_eq(PRINT.idle_n[r], n == 3 && r == 5 ? 7 : 0, "%d frames, row %d: a row's load is its own alone", n, r);
    }
}

/* An edge row that bears more than the line through the rows behind it is covered, and no more than that. */
Test(footprint, an_outer_row_is_covered_at_most_once)
{
    static const double load_n[] = { 100, 100, 100, 100, 180 };
    footprint_reset(&PRINT);
    feed_rows(load_n, 5, 8, 580);
    cr_expect_float_eq(PRINT.edge[0].front_mm, row_mm(4) + 5, 1e-3);
    cr_expect_float_eq(PRINT.edge[0].rear_mm, row_mm(0) - 5, 1e-3);
}

/* Half of what a covered row would bear: the foot ends in its middle. */
Test(footprint, an_outer_row_at_half_load_is_half_covered)
{
    static const double load_n[] = { 100, 100, 100, 50 };
    footprint_reset(&PRINT);
    feed_rows(load_n, 4, 8, 350);
    cr_expect_float_eq(PRINT.edge[0].front_mm, row_mm(3), 1e-3);
}

/* Noise may leave a row below nothing once its idle load is taken off: such a row tells nothing of the one before it. */
Test(footprint, a_row_behind_that_bears_less_than_nothing_leaves_the_outer_one_covered)
{
    static const double load_n[] = { 100, -10, 100, 100, 100 };
    footprint_reset(&PRINT);
    feed_rows(load_n, 5, 8, 390);
    cr_expect_float_eq(PRINT.edge[0].rear_mm, row_mm(0) - 5, 1e-3);
}

/* A row with exactly the share of the load that a foot's row exceeds is none. Its load is the sum of three floats, the
 * nearest to the double that the share comes to, then of the rest, and of the rest of that. */
Test(footprint, a_row_at_the_very_level_is_not_the_foots)
{
    static const double load_n[] = { 0, 100, 100, 100, 0 };
    const double level_n = LEVEL_SHARE_PER_MM * 10 * 300;
    for (int at = 0; at < 5; at += 4) {
        struct frame f = { .time.us = 1000000, .force_n = 300, .image = &MAT };
        memset(&PRINT, 0, sizeof PRINT);
        feed_rows(load_n, 5, 8, 300);
        float *edge = MAT.load_n + (20 + at) * MAT.n_cols;
        edge[0] = (float) level_n;
        edge[1] = (float) (level_n - (double) edge[0]);
        edge[2] = (float) (level_n - (double) edge[0] - (double) edge[1]);
        cr_assert_eq((double) edge[0] + (double) edge[1] + (double) edge[2], level_n);
        cr_expect_float_eq(footprint_feed(&PRINT, &f).cop_fwd_mm, row_mm(2), 1e-9, "%s", at ? "in front" : "behind");
        edge[0] = nextafterf(edge[0], 1e9f);
        cr_expect_neq(footprint_feed(&PRINT, &f).cop_fwd_mm, row_mm(2), "more is");
    }
}

/* The mat's last row alone: behind it stands nothing, whatever a larger mat showed before. */
Test(footprint, a_lone_row_at_the_mats_end_is_covered_whole)
{
    struct frame f = { .time.us = 1000000, .force_n = 12800, .image = &MAT };
    memset(&PRINT, 0, sizeof PRINT);
    gait_print_mat(&MAT, 5);
    for (int i = 0; i < MAT.n_rows * MAT.n_cols; i++)
        MAT.load_n[i] = 1;
    footprint_feed(&PRINT, &f);
    footprint_reset(&PRINT);
    memset(MAT.load_n, 0, sizeof MAT.load_n);
    gait_print_mat(&MAT, 10);
    MAT.n_rows = 64;
    MAT.load_n[63 * MAT.n_cols + 8] = 32;
    f.force_n = 32;
    footprint_feed(&PRINT, &f);
    cr_assert_eq(PRINT.n, 1);
    cr_expect_float_eq(PRINT.edge[0].rear_mm, MAT.origin_fwd_mm + 63 * 10 - 5, 1e-3);
    cr_expect_float_eq(PRINT.edge[0].front_mm, MAT.origin_fwd_mm + 63 * 10 + 5, 1e-3);
}
