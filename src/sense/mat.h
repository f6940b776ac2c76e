/* mat.h - one mat packet to a calibrated image, its force and its centre of pressure.
 *
 * How: counts less the offsets; at or below the noise 0; times the element's gain. Force is the sum,
 *      the centre of pressure the load-weighted mean position of the elements.
 *      Elements that the profile calls dead are 0, and FRAME_DEAD_ELEMENT is set while a neighbour is
 *      loaded: the load that they miss is then not known.
 *      FRAME_AT_EDGE: an element of the outermost rows or columns is loaded.
 * Without a gain: MAT_FULL_SCALE_PA on an element at full scale, and FRAME_RELATIVE. The value is only
 *      to give thresholds in newton a sensible size.
 *
 * Memory: the caller's.  Threads: any.  Pure.
 */
#ifndef SENSE_MAT_H
#define SENSE_MAT_H

#include "sense/frame.h"
#include "sense/profile.h"
#include "wire/packet.h"

#define MAT_FULL_SCALE_PA 500e3 /* a common full scale of resistive elements for feet */

/* The gain in use, before the elements' own: the profile's, or the one above. */
double mat_gain_n_per_count(const struct sense_profile *p);

/* Fills image, and of out: force, centre of pressure, image, and adds flags. Precondition: the packet
 * has the profile's rows and columns. */
void mat_read(const struct sense_profile *p, const struct packet *packet, struct frame_image *image,
              struct frame *out);

#endif
