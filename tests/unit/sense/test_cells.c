/* Load cells: loads put on the deck by statics must come back as force and place. */
#include "sense/cells.h"
#include "sense/profile_parts.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GAIN 0.001

static struct sense_profile profile;
static struct packet packet;
static struct frame frame;

/* Three cells: the balance of moments has one solution, so loads follow from force and place. */
static void
start(void)
{
    static const double at[3][2] = { { -500, -300 }, { -500, 300 }, { 700, 0 } };
    profile_clear(&profile);
    profile.kind = FRAME_KIND_CELLS;
    profile.saturation_counts = 8388607;
    profile.n_cells = 3;
    for (int i = 0; i < 3; i++)
        profile.cell[i] = (struct profile_cell){ at[i][0], at[i][1], GAIN, 1000.0 * (i + 1) };
    profile_fill_defaults(&profile);
    memset(&packet, 0, sizeof packet);
    packet.type = PACKET_CELLS;
    packet.n_values = 3;
}

/* Rear and front share by the lever fore-aft, the rear two by the lever across. */
static void
put(double force_n, double fwd_mm, double right_mm)
{
    double front = force_n * (fwd_mm + 500) / 1200, rear = force_n - front;
    double right = rear / 2 + force_n * right_mm / 600;
    double loads[3] = { rear - right, right, front };
    for (int i = 0; i < 3; i++)
        packet.channel_counts[i] = (int32_t) lround(loads[i] / GAIN + profile.cell[i].offset_counts);
    memset(&frame, 0, sizeof frame);
    cells_read(&profile, &packet, &frame);
}

TestSuite(cells, .init = start);

Test(cells, load_anywhere_on_the_deck_comes_back_with_its_place)
{
    srand(1);
    for (int i = 0; i < 1000; i++) {
        double force_n = 50 + rand() % 2000, fwd_mm = rand() % 800 - 400, right_mm = rand() % 400 - 200;
        put(force_n, fwd_mm, right_mm);
        cr_assert_float_eq(frame.force_n, force_n, 0.002);
        cr_assert_float_eq(frame.cop_fwd_mm, fwd_mm, 0.05); /* half a count of 1 mN on each cell */
        cr_assert_float_eq(frame.cop_right_mm, right_mm, 0.05);
        cr_assert_eq(frame.flags, 0);
    }
}

/* By hand: 100 N rear left, 200 N rear right, 300 N in front. */
Test(cells, moments_are_the_sum_of_load_times_place)
{
    static const double load_n[] = { 100, 200, 300 };
    for (int i = 0; i < 3; i++)
        packet.channel_counts[i] = (int32_t) lround(load_n[i] / GAIN + profile.cell[i].offset_counts);
    memset(&frame, 0, sizeof frame);
    cells_read(&profile, &packet, &frame);
    cr_expect_float_eq(frame.moment_fwd_n_mm, 300 * -500 + 300 * 700, 1e-6);
    cr_expect_float_eq(frame.moment_right_n_mm, 100 * -300 + 200 * 300, 1e-6);
}

Test(cells, light_load_has_a_force_but_no_place)
{
    put(19.9, 100, 0);
    cr_expect_float_eq(frame.force_n, 19.9, 0.002);
    cr_expect(isnan(frame.cop_fwd_mm) && isnan(frame.cop_right_mm));
    put(20.1, 100, 0);
    cr_expect_float_eq(frame.cop_fwd_mm, 100, 0.1);
    put(-300, 100, 0);
    cr_expect_float_eq(frame.force_n, -300, 0.002);
    cr_expect(isnan(frame.cop_fwd_mm));
}

Test(cells, cell_wired_the_other_way_round_has_a_negative_gain)
{
    profile.cell[2].gain_n_per_count = -GAIN;
    put(600, 0, 0);
    packet.channel_counts[2] = (int32_t) lround(3000 - 250 / GAIN);
    memset(&frame, 0, sizeof frame);
    cells_read(&profile, &packet, &frame);
    cr_expect_float_eq(frame.force_n, 600, 0.01);
    cr_expect_float_eq(frame.cop_fwd_mm, 0, 0.01);
}

Test(cells, full_scale_either_way_is_saturated)
{
    put(600, 0, 0);
    packet.channel_counts[1] = 8388607;
    cells_read(&profile, &packet, &frame);
    cr_expect_eq(frame.flags, FRAME_SATURATED);
    frame.flags = 0;
    packet.channel_counts[1] = -8388607;
    cells_read(&profile, &packet, &frame);
    cr_expect_eq(frame.flags, FRAME_SATURATED);
}

Test(cells, without_a_gain_force_is_relative)
{
    for (int i = 0; i < 3; i++)
        profile.cell[i].gain_n_per_count = NAN;
    for (int i = 0; i < 3; i++)
        packet.channel_counts[i] = 1000 * (i + 1) + 838861; /* a tenth of full scale each */
    memset(&frame, 0, sizeof frame);
    cells_read(&profile, &packet, &frame);
    cr_expect_float_eq(frame.force_n, 600, 0.01);
    cr_expect_eq(frame.flags, FRAME_RELATIVE);
}

Test(cells, cells_of_unknown_place_give_force_only)
{
    for (int i = 0; i < 3; i++)
        profile.cell[i].fwd_mm = profile.cell[i].right_mm = NAN;
    put(600, 0, 0);
    cr_expect_float_eq(frame.force_n, 600, 0.01);
    cr_expect(isnan(frame.cop_fwd_mm) && isnan(frame.cop_right_mm));
}
