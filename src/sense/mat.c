#include "sense/mat.h"

#include <math.h>

double
mat_gain_n_per_count(const struct sense_profile *p)
{
    if (!isnan(p->gain_n_per_count))
        return p->gain_n_per_count;
    double area_m2 = p->pitch_fwd_mm * p->pitch_right_mm * 1e-6;
    double full = isnan(p->saturation_counts) ? 4095 : p->saturation_counts;
    return MAT_FULL_SCALE_PA * area_m2 / full;
}

static void
set_geometry(const struct sense_profile *p, struct frame_image *image)
{
    image->n_rows = p->n_rows;
    image->n_cols = p->n_cols;
    image->pitch_fwd_mm = p->pitch_fwd_mm;
    image->pitch_right_mm = p->pitch_right_mm;
    image->origin_fwd_mm =
        isnan(p->origin_fwd_mm) ? -0.5 * (p->n_rows - 1) * p->pitch_fwd_mm : p->origin_fwd_mm;
    image->origin_right_mm =
        isnan(p->origin_right_mm) ? -0.5 * (p->n_cols - 1) * p->pitch_right_mm : p->origin_right_mm;
}

/* Takes the dead elements out. True when one of them touches a loaded element. */
static bool
drop_dead(const struct sense_profile *p, struct frame_image *image)
{
    bool is_touched = false;
    for (int i = 0; i < p->n_dead; i++)
        image->load_n[p->dead[i]] = 0;
    for (int i = 0; i < p->n_dead && !is_touched; i++) {
        int row = p->dead[i] / p->n_cols, col = p->dead[i] % p->n_cols;
        for (int r = row - 1; r <= row + 1; r++)
            for (int c = col - 1; c <= col + 1; c++)
                if (r >= 0 && r < p->n_rows && c >= 0 && c < p->n_cols &&
                    image->load_n[r * p->n_cols + c] > 0)
                    is_touched = true;
    }
    return is_touched;
}

/* More than this of the load on the outermost elements is a foot there; less may be the elements' noise. */
#define EDGE_SHARE 0.1

static void
sum_up(const struct frame_image *image, double min_cop_n, struct frame *out)
{
    double force_n = 0, fwd_n = 0, right_n = 0; /* newton, and newton times row or column */
    double border_n = 0;
    for (int r = 0; r < image->n_rows; r++) {
        const float *row = image->load_n + r * image->n_cols;
        double row_n = 0;
        for (int c = 0; c < image->n_cols; c++) {
            row_n += (double) row[c];
            right_n += (double) row[c] * c;
        }
        bool is_outer_row = r == 0 || r == image->n_rows - 1;
        border_n += is_outer_row ? row_n : (double) row[0] + (double) row[image->n_cols - 1];
        force_n += row_n;
        fwd_n += row_n * r;
    }
    if (border_n > EDGE_SHARE * force_n)
        out->flags |= FRAME_AT_EDGE;
    bool has_cop = force_n > 0 && force_n >= min_cop_n;
    out->force_n = force_n;
    out->has_moment = true; /* a stuck element has one: what the flights show of it is taken off */
    out->moment_fwd_n_mm = image->origin_fwd_mm * force_n + image->pitch_fwd_mm * fwd_n;
    out->moment_right_n_mm = image->origin_right_mm * force_n + image->pitch_right_mm * right_n;
    out->cop_fwd_mm = has_cop ? image->origin_fwd_mm + image->pitch_fwd_mm * fwd_n / force_n : (double) NAN;
    out->cop_right_mm =
        has_cop ? image->origin_right_mm + image->pitch_right_mm * right_n / force_n : (double) NAN;
}

void
mat_read(const struct sense_profile *p, const struct packet *packet, struct frame_image *image,
         struct frame *out)
{
    double gain = mat_gain_n_per_count(p);
    int n = p->n_rows * p->n_cols;
    set_geometry(p, image);
    for (int i = 0; i < n; i++) {
        double counts = packet->mat_counts[i] - p->offset_counts - (double) p->element_offset_counts[i];
        bool is_loaded = counts > p->noise_counts && counts > 0;
        image->load_n[i] = is_loaded ? (float) (counts * gain * (double) p->element_gain[i]) : 0;
    }
    if (drop_dead(p, image))
        out->flags |= FRAME_DEAD_ELEMENT;
    for (int i = 0; i < n; i++)
        if (packet->mat_counts[i] >= p->saturation_counts && image->load_n[i] > 0)
            out->flags |= FRAME_SATURATED;
    if (isnan(p->gain_n_per_count))
        out->flags |= FRAME_RELATIVE;
    sum_up(image, p->min_cop_n, out);
    out->image = image;
}
