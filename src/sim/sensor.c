#include "sim/sensor.h"

#include <assert.h>
#include <math.h>
#include <string.h>

struct sensor_layout
sensor_layout_default(enum frame_kind kind)
{
    struct sensor_layout l = { .kind = kind, .half_load_n = 60, .on_n = 40, .off_n = 25 };
    l.n_rows = 128;
    l.n_cols = 32;
    l.pitch_fwd_mm = l.pitch_right_mm = 10;
    l.origin_fwd_mm = -(l.n_rows - 1) / 2.0 * l.pitch_fwd_mm;
    l.origin_right_mm = -(l.n_cols - 1) / 2.0 * l.pitch_right_mm;
    l.n_cells = 4;
    for (int i = 0; i < 4; i++) {
        l.cell_fwd_mm[i] = i < 2 ? -600 : 600;
        l.cell_right_mm[i] = i % 2 ? 300 : -300;
        l.is_right[i] = i >= 2;
        l.zone[i] = i % 2 ? FRAME_ZONE_FORE : FRAME_ZONE_HEEL;
    }
    l.n_zones = 4;
    return l;
}

/* Solves the symmetric 3 x 3 system m x = b by Cramer's rule. */
static void
solve3(double m[3][3], const double b[3], double x[3])
{
    double det = m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
                 m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
                 m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
    assert(fabs(det) > 1e-9);
    for (int k = 0; k < 3; k++) {
        double a[3][3];
        memcpy(a, m, sizeof a);
        for (int i = 0; i < 3; i++)
            a[i][k] = b[i];
        x[k] = (a[0][0] * (a[1][1] * a[2][2] - a[1][2] * a[2][1]) -
                a[0][1] * (a[1][0] * a[2][2] - a[1][2] * a[2][0]) +
                a[0][2] * (a[1][0] * a[2][1] - a[1][1] * a[2][0])) /
               det;
    }
}

void
sensor_cell_loads(const struct sensor_layout *l, double force_n, double fwd_mm, double right_mm,
                  double load_n[SENSOR_MAX_CELLS])
{
    double m[3][3] = { { 0 } }, k[3], b[3] = { force_n, force_n * fwd_mm * 1e-3, force_n * right_mm * 1e-3 };
    assert(l->n_cells >= 3 && l->n_cells <= SENSOR_MAX_CELLS);
    for (int c = 0; c < l->n_cells; c++) {
        double row[3] = { 1, l->cell_fwd_mm[c] * 1e-3, l->cell_right_mm[c] * 1e-3 };
        for (int i = 0; i < 3; i++)
            for (int j = 0; j < 3; j++)
                m[i][j] += row[i] * row[j];
    }
    solve3(m, b, k);
    for (int c = 0; c < l->n_cells; c++)
        load_n[c] = k[0] + k[1] * l->cell_fwd_mm[c] * 1e-3 + k[2] * l->cell_right_mm[c] * 1e-3;
}

static void
mat_frame(const struct sensor_layout *l, const struct runner_now *now, struct frame_image *image,
          struct frame *out)
{
    assert(image && l->n_rows * l->n_cols <= FRAME_MAX_ELEMENTS);
    image->n_rows = l->n_rows;
    image->n_cols = l->n_cols;
    image->pitch_fwd_mm = l->pitch_fwd_mm;
    image->pitch_right_mm = l->pitch_right_mm;
    image->origin_fwd_mm = l->origin_fwd_mm;
    image->origin_right_mm = l->origin_right_mm;
    memset(image->load_n, 0, (size_t) (l->n_rows * l->n_cols) * sizeof image->load_n[0]);
    for (int i = 0; i < now->n_feet; i++) {
        const struct runner_foot_now *f = &now->foot[i];
        sole_print(&f->place, f->strike_share, f->phase, f->force_n, image);
    }
    double sum_n = 0, fwd = 0, right = 0;
    for (int r = 0; now->n_feet > 0 && r < l->n_rows; r++) {
        for (int c = 0; c < l->n_cols; c++) {
            double load_n = (double) image->load_n[r * l->n_cols + c];
            sum_n += load_n;
            fwd += load_n * r;
            right += load_n * c;
            if (load_n > 1 && (r == 0 || c == 0 || r == l->n_rows - 1 || c == l->n_cols - 1))
                out->flags |= FRAME_AT_EDGE;
        }
    }
    out->image = image;
    out->force_n = sum_n;
    out->cop_fwd_mm = l->origin_fwd_mm + fwd / sum_n * l->pitch_fwd_mm;
    out->cop_right_mm = l->origin_right_mm + right / sum_n * l->pitch_right_mm;
}

static void
zone_bounds(const struct sensor_layout *l, int z, double *from_share, double *to_share)
{
    static const double from[] = {
        [FRAME_ZONE_HEEL] = 0, [FRAME_ZONE_FORE] = 0.58, [FRAME_ZONE_MID] = 0.34, [FRAME_ZONE_TOE] = 0.86
    };
    static const double to[] = {
        [FRAME_ZONE_HEEL] = 0.34, [FRAME_ZONE_FORE] = 1, [FRAME_ZONE_MID] = 0.58, [FRAME_ZONE_TOE] = 1
    };
    *from_share = from[l->zone[z]];
    *to_share = to[l->zone[z]];
}

static void
switch_frame(const struct sensor_layout *l, const struct runner_now *now, struct frame_switches *s,
             struct frame *out)
{
    assert(s);
    s->n_zones = l->n_zones;
    for (int z = 0; z < l->n_zones; z++) {
        double from_share, to_share, load_n = 0;
        zone_bounds(l, z, &from_share, &to_share);
        for (int i = 0; i < now->n_feet; i++) {
            const struct runner_foot_now *f = &now->foot[i];
            if (f->is_right == l->is_right[z])
                load_n += f->force_n * sole_zone_share(f->strike_share, f->phase, from_share, to_share);
        }
        s->is_right[z] = l->is_right[z];
        s->zone[z] = l->zone[z];
        s->is_down[z] = s->is_down[z] ? load_n >= l->off_n : load_n >= l->on_n;
        s->load[z] = load_n / (load_n + l->half_load_n);
    }
    out->switches = s;
    out->force_n = out->cop_fwd_mm = out->cop_right_mm = NAN;
}

void
sensor_frame(const struct sensor_layout *l, const struct runner_now *now, double deck_n,
             struct frame_image *image, struct frame_switches *switches, struct frame *out)
{
    memset(out, 0, sizeof *out);
    out->time.us = units_us_from_s(now->t_s);
    out->kind = l->kind;
    switch (l->kind) {
    case FRAME_KIND_MAT:
        mat_frame(l, now, image, out);
        break;
    case FRAME_KIND_SWITCHES:
        switch_frame(l, now, switches, out);
        return;
    case FRAME_KIND_CELLS:
    case FRAME_KIND_FORCE: /* deck_n acts on the deck's middle */
        out->force_n = now->force_n + deck_n;
        out->cop_fwd_mm = now->force_n > 0 ? now->force_n * now->cop_fwd_mm / out->force_n : (double) NAN;
        out->cop_right_mm = now->force_n > 0 ? now->force_n * now->cop_right_mm / out->force_n : (double) NAN;
        break;
    }
    if (out->force_n < SENSOR_MIN_COP_N)
        out->cop_fwd_mm = out->cop_right_mm = NAN;
}
