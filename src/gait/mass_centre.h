/* mass_centre.h - where the body's centre of mass is, without a camera.
 *
 * Vertical: body weight is taken off, the rest divided by the mass and integrated twice over one whole
 *      stride; the two constants come from the stride being periodic: no net change of speed, mean speed
 *      zero (Cavagna 1975, J Appl Physiol 39:174-179; facts G). Body weight here is the stride's own mean force
 *      (momentum balance), so that a gain error of the sensor cancels.
 *      Drop is touchdown to lowest point, as in the spring-mass formulas (Morin et al. 2005, facts F); the
 *      rise during flight is not in it. Some papers report the whole oscillation instead.
 * Fore-aft: over whole strides of steady running on a belt the fore-aft impulse and the change of angular
 *      momentum vanish, so the vertical-force-weighted mean of the centre of pressure in the laboratory frame
 *      is the mean fore-aft place of the centre of mass. (Measured on recorded runs: tests/VALIDITY.md.)
 */
#ifndef GAIT_MASS_CENTRE_H
#define GAIT_MASS_CENTRE_H

#include "gait/trace.h"

/* Sums over one step, touchdown to next touchdown; they add up over steps. */
struct mass_centre_sum {
    double duration_s;
    double impulse_n_s;
    double moment_fwd_n_s_mm; /* integral of force * cop_fwd */
    double cop_impulse_n_s;   /* integral of force where the cop is known */
};

struct mass_centre_sum mass_centre_sum(const struct trace *t, const struct trace_zero *z, double from_us,
                                       double to_us);
void mass_centre_add(struct mass_centre_sum *into, const struct mass_centre_sum *s);
/* A share of it, 0 to 1. */
void mass_centre_add_share(struct mass_centre_sum *into, const struct mass_centre_sum *s, double share);

/* Mean force, N; NAN over nothing. */
double mass_centre_weight_n(const struct mass_centre_sum *s);

/* Mean fore-aft place, mm, laboratory frame; NAN when the COP is unknown for over 5 % of the impulse. */
double mass_centre_fwd_mm(const struct mass_centre_sum *s);

struct mass_centre_vertical {
    double drop_mm; /* touchdown to lowest point, positive */
    double low_us;  /* lowest point, after touchdown */
};

/* One stride [from, to] that holds the contact [touchdown, toe_off] whole. NAN fields when the trace does not
 * cover it. */
struct mass_centre_vertical mass_centre_vertical(const struct trace *t, const struct trace_zero *z, double from_us,
                                                 double to_us, double touchdown_us, double toe_off_us);

#endif
