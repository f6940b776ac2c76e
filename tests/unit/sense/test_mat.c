/* A mat image made by hand: force, centre of pressure and flags worked out on paper. */
#include "sense/mat.h"
#include "sense/profile_parts.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct sense_profile profile;
static struct packet packet;
static struct frame_image image;
static struct frame frame;

/* 4 rows x 3 columns, 10 mm along the belt and 20 mm across, 2 N a count after an offset of 5, noise 3. */
static void
start(void)
{
    profile_clear(&profile);
    profile.kind = FRAME_KIND_MAT;
    profile.n_rows = 4;
    profile.n_cols = 3;
    profile.pitch_fwd_mm = 10;
    profile.pitch_right_mm = 20;
    profile.gain_n_per_count = 2;
    profile.offset_counts = 5;
    profile.noise_counts = 3;
    profile.saturation_counts = 255;
    profile_fill_defaults(&profile);
    memset(&packet, 0, sizeof packet);
    packet.type = PACKET_MAT;
    packet.n_rows = 4;
    packet.n_cols = 3;
    packet.n_values = 12;
    for (int i = 0; i < 12; i++)
        packet.mat_counts[i] = 5;
}

static void
read(void)
{
    memset(&frame, 0, sizeof frame);
    mat_read(&profile, &packet, &image, &frame);
}

TestSuite(mat, .init = start);

Test(mat, two_elements_give_their_sum_and_weighted_mean)
{
    packet.mat_counts[1 * 3 + 1] = 15; /* row 1, column 1: 20 N */
    packet.mat_counts[2 * 3 + 1] = 35; /* row 2, column 1: 60 N */
    read();
    cr_expect_float_eq(frame.force_n, 80, 1e-9);
    /* Centred: rows at -15 -5 5 15, columns at -20 0 20. (20 * -5 + 60 * 5) / 80 = 2.5 */
    cr_expect_float_eq(frame.cop_fwd_mm, 2.5, 1e-9);
    cr_expect_float_eq(frame.cop_right_mm, 0, 1e-9);
    cr_expect_float_eq(frame.moment_fwd_n_mm, 80 * 2.5, 1e-9);
    cr_expect_float_eq(frame.moment_right_n_mm, 0, 1e-9);
    cr_expect_eq(frame.flags, 0);
    cr_expect_eq(frame.image, &image);
    cr_expect_float_eq((double) image.load_n[7], 60, 1e-6);
}

Test(mat, stated_origin_moves_the_centre_of_pressure)
{
    profile.origin_fwd_mm = 100;
    profile.origin_right_mm = -50;
    packet.mat_counts[1 * 3 + 1] = 15;
    read();
    cr_expect_float_eq(frame.cop_fwd_mm, 110, 1e-9);
    cr_expect_float_eq(frame.cop_right_mm, -30, 1e-9);
    cr_expect_float_eq(frame.moment_fwd_n_mm, 20 * 110, 1e-9);
    cr_expect_float_eq(frame.moment_right_n_mm, 20 * -30, 1e-9);
}

Test(mat, noise_and_readings_below_the_offset_are_no_load)
{
    packet.mat_counts[4] = 8; /* 3 counts above the offset: at the noise */
    packet.mat_counts[7] = 0;
    read();
    cr_expect_float_eq(frame.force_n, 0, 1e-12);
    cr_expect(isnan(frame.cop_fwd_mm) && isnan(frame.cop_right_mm));
    packet.mat_counts[4] = 9; /* one more counts in full, without the noise taken off */
    read();
    cr_expect_float_eq(frame.force_n, 8, 1e-9);
}

Test(mat, load_on_each_outermost_element_is_at_the_edge)
{
    for (int i = 0; i < 12; i++) {
        start();
        packet.mat_counts[i] = 50;
        read();
        bool is_inner = i == 4 || i == 7;
        cr_expect_eq((frame.flags & FRAME_AT_EDGE) != 0, !is_inner, "element %d", i);
    }
}

Test(mat, full_scale_is_saturated_and_one_below_is_not)
{
    packet.mat_counts[4] = 254;
    read();
    cr_expect_eq(frame.flags, 0);
    packet.mat_counts[4] = 255;
    read();
    cr_expect_eq(frame.flags, FRAME_SATURATED);
}

Test(mat, dead_element_is_left_out_and_told_only_beside_a_load)
{
    profile.dead[0] = 4;
    profile.n_dead = 1;
    packet.mat_counts[4] = 255; /* stuck at full scale */
    read();
    cr_expect_float_eq(frame.force_n, 0, 1e-12);
    cr_expect_eq(frame.flags, 0);
    packet.mat_counts[7] = 15;
    read();
    cr_expect_float_eq(frame.force_n, 20, 1e-9);
    cr_expect_eq(frame.flags, FRAME_DEAD_ELEMENT);
}

Test(mat, without_a_gain_force_is_relative_and_500_kpa_at_full_scale)
{
    profile.gain_n_per_count = NAN;
    profile.offset_counts = 0;
    memset(packet.mat_counts, 0, 24);
    packet.mat_counts[4] = 51; /* a fifth of full scale on 200 mm2: 100 kPa x 200e-6 m2 = 20 N */
    read();
    cr_expect_float_eq(frame.force_n, 20, 1e-6);
    cr_expect_eq(frame.flags, FRAME_RELATIVE);
}

Test(mat, equalised_element_has_its_own_gain)
{
    profile.element_gain[4] = 1.5F;
    packet.mat_counts[4] = 15;
    read();
    cr_expect_float_eq(frame.force_n, 30, 1e-6);
}

Test(mat, nothing_is_read_past_the_largest_mat)
{
    profile.n_rows = 128;
    profile.n_cols = 64;
    packet.n_rows = 128;
    packet.n_cols = 64;
    for (int i = 0; i < 8192; i++)
        packet.mat_counts[i] = 15;
    read();
    cr_expect_float_eq(frame.force_n, 8192 * 20.0, 1e-3);
    cr_expect_float_eq(frame.cop_fwd_mm, 0, 1e-6);
}
