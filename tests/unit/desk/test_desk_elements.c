/* What each element of a sensor carries, as the panel shows it. */
#include "desk/desk_elements.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

static struct sense_profile profile;
static struct packet packet;
static struct frame frame = { .force_n = 400 };
static struct panel_elements e;

Test(desk_elements, a_small_mat_is_shown_element_by_element)
{
    profile = (struct sense_profile){ .kind = FRAME_KIND_MAT, .n_rows = 3, .n_cols = 2, .saturation_counts = 200, .offset_counts = 10 };
    packet.type = PACKET_MAT;
    const uint16_t counts[] = { 10, 110, 5, 210, 60, 999 };
    const float share[] = { 0, 0.5F, 0, 1, 0.25F, 1 };
    for (int i = 0; i < 6; i++)
        packet.mat_counts[i] = counts[i];
    desk_elements_fill(&e, &profile, &packet, &frame);
    cr_assert(e.n_rows == 3 && e.n_cols == 2 && e.total_n == 400);
    for (int i = 0; i < 6; i++)
        cr_assert_float_eq(e.share[i], share[i], 1e-6F, "%d: %g", i, (double) e.share[i]);
}

Test(desk_elements, a_large_mat_is_shown_by_the_greatest_of_each_few)
{
    profile = (struct sense_profile){ .kind = FRAME_KIND_MAT, .n_rows = 128, .n_cols = 64, .saturation_counts = 100 };
    packet.type = PACKET_MAT;
    packet.mat_counts[127 * 64 + 63] = 50; /* the last one; its neighbours carry nothing */
    desk_elements_fill(&e, &profile, &packet, &frame);
    cr_assert(e.n_rows == 43 && e.n_cols == 32, "%d x %d", e.n_rows, e.n_cols);
    cr_assert_float_eq(e.share[43 * 32 - 1], 0.5F, 1e-6F);
    cr_assert_eq(e.share[0], 0);
}

Test(desk_elements, cells_are_in_newtons_and_one_without_a_gain_is_not_known)
{
    profile = (struct sense_profile){ .kind = FRAME_KIND_CELLS, .n_cells = 2 };
    profile.cell[0] = (struct profile_cell){ .gain_n_per_count = -0.5, .offset_counts = 1000 };
    profile.cell[1].gain_n_per_count = (double) NAN;
    packet.type = PACKET_CELLS;
    packet.channel_counts[0] = 500;
    desk_elements_fill(&e, &profile, &packet, &frame);
    cr_assert_float_eq(e.share[0], 0.5F, 1e-6F, "250 of %g N", PANEL_CELL_FULL_N);
    cr_assert(isnan(e.share[1]) && e.name[0][0] && e.name[1][0]);
}
