/* strides.h - the mass centre's fore-aft place over whole strides of the present run.
 *
 * In:  the contacts of a run with their sums (mass_centre.h).   Out: mm, laboratory frame, and how fast it moves.
 * A window shrinks to the whole strides that there are; without one the place is NAN, as where a force in it was not all
 * seen. Which window serves which figure: landing.h, braking.h, tests/VALIDITY.md.
 * Internal to gait/: sequence.c calls it.  Memory: none.  Pure.
 */
#ifndef GAIT_STRIDES_H
#define GAIT_STRIDES_H

#include "gait/footfall.h"

/* Where the mass centre is, seen from one contact. All NAN where not known. */
struct strides_centre {
    double near_fwd_mm;   /* over some steps before and after the touchdown */
    double drift_mm_s;    /* how fast that moves */
    double stride_fwd_mm; /* of the one stride around the contact */
    double two_fwd_mm;    /* of the two strides around it */
};

/* Contacts before end have their sums. n_steps: before touchdown and after it, for near_fwd_mm. */
struct strides_centre strides_centre(const struct footfall_row *r, uint64_t contact, uint64_t end, int n_steps);

#endif
