#include "desk/desk_elements.h"

#include "sense/cells.h"
#include "setup/check.h"

#include <math.h>
#include <string.h>

/* Where the profile does not say what full scale is. */
#define FULL_COUNTS_DEFAULT 1023.0

static float
share_of(double value, double full)
{
    const double share = full > 0 ? value / full : 0;
    return (float) (share < 0 ? 0 : share > 1 ? 1 : share); /* false for NAN: it stays */
}

static void
fill_mat(struct panel_elements *e, const struct sense_profile *p, const struct packet *packet)
{
    const int by_row = (p->n_rows + PANEL_MAX_SIDE - 1) / PANEL_MAX_SIDE;
    const int by_col = (p->n_cols + PANEL_MAX_SIDE - 1) / PANEL_MAX_SIDE;
    const double full = isnan(p->saturation_counts) ? FULL_COUNTS_DEFAULT : p->saturation_counts;
    e->n_rows = (p->n_rows + by_row - 1) / by_row;
    e->n_cols = (p->n_cols + by_col - 1) / by_col;
    for (int row = 0; row < p->n_rows; row++)
        for (int col = 0; col < p->n_cols; col++) {
            const int i = row * p->n_cols + col;
            const double counts = packet->mat_counts[i] - (p->offset_counts + (double) p->element_offset_counts[i]);
            float *to = &e->share[row / by_row * e->n_cols + col / by_col];
            const float share = share_of(counts, full);
            *to = share > *to ? share : *to;
        }
}

void
desk_elements_fill(struct panel_elements *e, const struct sense_profile *p, const struct packet *packet,
                   const struct frame *frame)
{
    memset(e, 0, sizeof *e);
    e->kind = p->kind;
    e->total_n = frame->force_n;
    e->is_relative = (frame->flags & FRAME_RELATIVE) != 0;
    if (p->kind == FRAME_KIND_MAT) {
        fill_mat(e, p, packet);
        return;
    }
    e->n_rows = 1;
    e->n_cols = p->kind == FRAME_KIND_CELLS ? p->n_cells : p->n_zones;
    for (int i = 0; i < e->n_cols; i++) {
        check_element_name(p, i, e->name[i], sizeof e->name[i]);
        if (p->kind == FRAME_KIND_CELLS)
            e->share[i] = share_of((packet->channel_counts[i] - p->cell[i].offset_counts) * cells_gain_n_per_count(p, i),
                                   PANEL_CELL_FULL_N);
        else
            e->share[i] = share_of(frame->switches->load[i], 1);
    }
}
