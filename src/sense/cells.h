/* cells.h - load cells under a deck: force and centre of pressure by the balance of moments.
 *
 * How: each cell's counts, less its offset, times its gain, is the load F_i that it carries at (x_i, y_i).
 *      Force F = sum F_i; the centre of pressure is sum F_i x_i / F, sum F_i y_i / F, which is where the
 *      moments of all F_i vanish (statics of a rigid deck on vertical supports).
 *      Below the profile's min_cop_n the centre of pressure is not known: the quotient of two small
 *      numbers is noise. So it is with fewer than three cells, or cells of unknown place.
 * Without a gain: CELLS_FULL_SCALE_N at full scale, and FRAME_RELATIVE.
 *
 * Memory: none.  Threads: any.  Pure.
 */
#ifndef SENSE_CELLS_H
#define SENSE_CELLS_H

#include "sense/frame.h"
#include "sense/profile.h"
#include "wire/packet.h"

#define CELLS_FULL_SCALE_N 2000.0

/* The gain in use: the cell's, or the one above. */
double cells_gain_n_per_count(const struct sense_profile *p, int cell);

/* Fills force and centre of pressure of out, and adds flags. Precondition: as many values as cells. */
void cells_read(const struct sense_profile *p, const struct packet *packet, struct frame *out);

#endif
