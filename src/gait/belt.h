/* belt.h - the belt's speed: as entered, else as the prints of the last contacts show it.
 *
 * Memory: the struct.  Pure.
 */
#ifndef GAIT_BELT_H
#define GAIT_BELT_H

#include "base/stats.h"

struct belt {
    double entered_m_s; /* NAN = not entered */
    struct stats seen;  /* mat: of the last contacts, m/s */
};

void belt_init(struct belt *b, double entered_m_s);

/* Takes in what one contact shows; NAN shows nothing. Returns it, or NAN when it is far from what the last ones
 * showed: the belt's seam beside the foot, or a foot that slid. A belt that really changes is believed as soon as half of
 * them show it. */
double belt_feed(struct belt *b, double own_m_s);

/* In use, m/s; NAN when not known. */
double belt_speed_m_s(const struct belt *b);

#endif
