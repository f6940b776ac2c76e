/* foot.h - the sole of one foot while it is down: where its pressure is, and the picture on a mat.
 *
 * Places on the foot are shares of foot length from the heel, 0..1 (the axis of the strike index).
 *
 *   touchdown        flat               heel off            toe-off
 *   |###.......|     |##########|       |....######|        |.......###|      heel-lander
 *   |.....#####|     |##########|       |....######|        |.......###|      forefoot-lander
 *
 * The centre of pressure starts at the strike place with no speed on the foot, is at 0.52 of the foot
 * after 0.4 of the contact, and leaves at 0.93. The picture spreads the force over a footprint (heel,
 * arch, ball, toes) within the part that is on the ground, tilted so that its centroid along the foot is
 * the model's centre of pressure. Every bit of sole is shared among the four nearest elements by their
 * distance, so that neither the sum nor the centroid is changed by the mat's pitch.
 * Memory: none kept.  Threads: pure.
 */
#ifndef SIM_SOLE_H
#define SIM_SOLE_H

#include "sense/frame.h"

#define SOLE_STRIKE_MIN 0.06 /* of foot length: nobody lands on the heel's last hair */
#define SOLE_STRIKE_MAX 0.90

struct sole_place {
    double heel_fwd_mm, heel_right_mm; /* lab frame: the heel's end of the foot's axis */
    double toe_out_deg;                /* positive turns the toes outwards */
    bool is_right;
    double length_mm, width_mm;
};

/* Centre of pressure on the foot, 0..1, at phase u (0..1 of the contact). */
double sole_cop_share(double strike_share, double u);

/* The part of the sole that is on the ground, 0..1 each, *from < *to. */
void sole_extent(double strike_share, double u, double *from_share, double *to_share);

/* A point of the foot's axis in the lab frame. */
void sole_axis_point(const struct sole_place *p, double share, double *fwd_mm, double *right_mm);

/* Share of the force, 0..1, that rests between two places on the foot at phase u. */
double sole_zone_share(double strike_share, double u, double from_share, double to_share);

/* Adds force_n, as it is spread at phase u, to the image (geometry must be set). Returns the newtons that
 * fell beside the mat. */
double sole_print(const struct sole_place *p, double strike_share, double u, double force_n,
                  struct frame_image *image);

#endif
