#include "sense/cells.h"

#include <math.h>

double
cells_gain_n_per_count(const struct sense_profile *p, int cell)
{
    const double full = isnan(p->saturation_counts) ? 8388607 : p->saturation_counts;
    return isnan(p->cell[cell].gain_n_per_count) ? CELLS_FULL_SCALE_N / full : p->cell[cell].gain_n_per_count;
}

void
cells_read(const struct sense_profile *p, const struct packet *packet, struct frame *out)
{
    double force_n = 0, fwd_nmm = 0, right_nmm = 0;
    for (int i = 0; i < p->n_cells; i++) {
        const struct profile_cell *cell = &p->cell[i];
        double gain = cells_gain_n_per_count(p, i);
        if (isnan(cell->gain_n_per_count))
            out->flags |= FRAME_RELATIVE;
        double counts = packet->channel_counts[i];
        double load_n = (counts - cell->offset_counts) * gain;
        /* Cells also saturate downwards: a deck that lifts off, or one wired the other way round. */
        if (fabs(counts) >= p->saturation_counts)
            out->flags |= FRAME_SATURATED;
        force_n += load_n;
        fwd_nmm += load_n * cell->fwd_mm;
        right_nmm += load_n * cell->right_mm;
    }
    bool has_cop = p->n_cells >= 3 && force_n > 0 && force_n >= p->min_cop_n;
    out->force_n = force_n;
    out->has_moment = p->n_cells >= 3;
    out->moment_fwd_n_mm = fwd_nmm;
    out->moment_right_n_mm = right_nmm;
    out->cop_fwd_mm = has_cop ? fwd_nmm / force_n : (double) NAN;
    out->cop_right_mm = has_cop ? right_nmm / force_n : (double) NAN;
}
