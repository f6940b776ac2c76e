/* sensor.h - what a perfect sensor would report of the simulated runner: a calibrated frame, no wire.
 *
 * In:  the runner at one instant, the sensor's layout.   Out: a frame as sense/ would make it.
 * mat:      the soles' picture; force and centre of pressure are those of the picture, so a foot that is
 *           partly beside the mat reads less.
 * cells:    force and centre of pressure by the balance of moments; sensor_cell_loads() gives each cell's
 *           share, the smallest loads that balance force and both moments.
 * switches: load L in each zone of the shoe as a resistive element in a divider gives it, L / (L +
 * half_load_n). Engine tests feed these frames directly; board.c turns them into counts and bytes. Memory:
 * image and switches are the caller's.  Threads: pure.  Errors: none.
 */
#ifndef SIM_SENSOR_H
#define SIM_SENSOR_H

#include "sense/frame.h"
#include "sim/runner_model.h"

#define SENSOR_MAX_CELLS 8
#define SENSOR_MIN_COP_N 10.0 /* below it a frame has no centre of pressure */

struct sensor_layout {
    enum frame_kind kind;
    int n_rows, n_cols; /* mat, centred on the lab's origin unless moved */
    double pitch_fwd_mm, pitch_right_mm, origin_fwd_mm, origin_right_mm;
    int n_cells;
    double cell_fwd_mm[SENSOR_MAX_CELLS], cell_right_mm[SENSOR_MAX_CELLS];
    int n_zones; /* switches */
    bool is_right[FRAME_MAX_ZONES];
    enum frame_zone zone[FRAME_MAX_ZONES];
    double half_load_n; /* an analog zone reads 0.5 */
    double on_n, off_n; /* a binary zone closes at >= on, opens at < off */
};

/* mat: 128 x 32 elements of 10 mm; cells: four at (+-600, +-300) mm, rear left, rear right, front left, front
 * right; switches: heel and forefoot of each shoe.
 */
struct sensor_layout sensor_layout_default(enum frame_kind kind);

/* Fills *out; with image for a mat, switches for switches (else they may be NULL). switches->is_down must
 * hold the states of the instant before (all false at first). deck_n: load on the deck that is not the
 * runner's. */
void sensor_frame(const struct sensor_layout *l, const struct runner_now *now, double deck_n,
                  struct frame_image *image, struct frame_switches *switches, struct frame *out);

/* Each cell's load for force_n at a place. Precondition: at least 3 cells, not on one line. */
void sensor_cell_loads(const struct sensor_layout *l, double force_n, double fwd_mm, double right_mm,
                       double load_n[SENSOR_MAX_CELLS]);

#endif
