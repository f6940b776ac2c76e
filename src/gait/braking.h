/* braking.h - how much a landing brakes, out of the vertical load alone.
 *
 * In:  force and COP under one contact, the centre of mass (mass_centre.h), the leg's length.   Out: the figures below.
 * How: a runner's force points close to the centre of mass, so that
 *              F_fore-aft = - F_vertical x (COP - centre of mass) / height of the centre of mass
 *      Height: BRAKING_HEIGHT_SHARE of the leg (0.55 of stature; a leg is 0.53 of it). Force and moment are low-passed
 *      at 50 Hz (condition.h).
 *      Impulse: the negative part over the contact. Peak: the lowest value. End: when the sum is lowest, so where braking turns
 *      to driving; BRAKING_LEAD_PCT later than the estimate has it, which leads the measured force by as much in every run.
 *      Live, the last two contacts give the centre of mass; settled, the two strides around the contact, which halve what is
 *      wrong of a step (r within a run 0.76, then 0.94). The force's and the moment's curves are kept for that.
 * Limits (24 recorded runs of 6 runners with measured fore-aft force; tests/VALIDITY.md): an estimate always, for change
 *      within a runner; it does not rank runners, and sees no impact spike. 1 cm between COP and centre of mass is 0.018 BW
 *      of the peak and 0.0019 BW s of the impulse (facts V), but a COP that is off by the same everywhere cancels. Body
 *      rotation (angular momentum) is left out: a pattern of it, fitted, failed on runners left out.
 * Memory: the caller's.  Pure.
 */
#ifndef GAIT_BRAKING_H
#define GAIT_BRAKING_H

#include "base/metric.h"
#include "gait/trace.h"

/* 2.5 ms apart in a contact of 250 ms: a tenth of the 50 Hz that is left in the curves. */
#define BRAKING_POINTS 100
#define BRAKING_HEIGHT_SHARE 1.04
#define BRAKING_LEAD_PCT 4.4

/* One contact, its BRAKING_POINTS equal parts, each at its middle. */
struct braking_curve {
    double force_n[BRAKING_POINTS], moment_n_mm[BRAKING_POINTS]; /* moment: force x COP, laboratory frame */
    double contact_s;                                            /* 0: not read */
};

struct braking {
    double impulse_bw_s, peak_bw, end_pct; /* NAN where unknown; both forces positive */
};

/* The curves of a contact; scratch: CONDITION_SCRATCH doubles. What bears no COP bears no force here. */
void braking_read(const struct trace *t, const struct trace_zero *z, double touchdown_us, double toe_off_us,
                  double period_us, double *scratch, struct braking_curve *out);

/* NAN where anything that they need is. weight_n in the curve's unit. */
struct braking braking_measure(const struct braking_curve *c, double com_fwd_mm, double leg_length_mm, double weight_n);

#endif
