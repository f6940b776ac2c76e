/* weight.h - body weight: as given, from the mass, or by the momentum balance over whole strides.
 *
 * In:  the sums of force over each step.   Out: the weight in use and where it comes from.
 * How: over whole strides of running the mean vertical force is body weight. Steps are taken two by two, since one foot
 *      may push harder than the other; a step with force missing makes its neighbour's half wait for none.
 * Memory: the struct.  Pure.
 */
#ifndef GAIT_WEIGHT_H
#define GAIT_WEIGHT_H

#include "gait/engine_config.h"
#include "gait/mass_centre.h"

struct weight {
    double given_n, mass_kg;       /* NAN = not told */
    bool is_relative;              /* the sensor is not calibrated: newtons of a mass mean nothing to it */
    struct mass_centre_sum sum;    /* whole strides so far */
    struct mass_centre_sum half;   /* a step waiting for its other half */
    bool has_half;
};

void weight_init(struct weight *w, const struct engine_config *c);

/* Takes in a step's sums. */
void weight_feed(struct weight *w, const struct mass_centre_sum *s);

/* The step waiting gets no other half: the stride is broken. */
void weight_drop_half(struct weight *w);

/* Forgets all strides. */
void weight_reset(struct weight *w);

/* Mean force over whole strides so far, N; NAN before the first. */
double weight_momentum_n(const struct weight *w);

/* In use, N or the sensor's own unit; NAN when not known. */
double weight_in_use_n(const struct weight *w, enum engine_weight_source *from);

#endif
