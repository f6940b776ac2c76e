/* zero.h - the sensor's zero as it drifts: what the unloaded sensor shows, followed from flight to flight.
 *
 * In:  the trace, and where in it nobody was on.   Out: the present zero of force and of both moments, and its noise.
 *      case 1   a flight: followed by ZERO_GAIN, at once while no flight has been seen        zero_learn_flight()
 *      case 2   nobody on for a while: taken as it is, when it is steady and near             zero_learn_empty()
 *      case 3   an offset so large that nothing ever falls below the threshold: the floor of
 *               some strides is taken for it; the noise is then unknown                       zero_learn_floor()
 * How a window shows its zero: condition.h.
 * Memory: the struct.  Pure.
 */
#ifndef GAIT_ZERO_H
#define GAIT_ZERO_H

#include "gait/trace.h"

struct zero {
    double force_n;
    double noise_n;                       /* its spread in flight; NAN until seen */
    double moment_fwd_n_mm, moment_right_n_mm; /* of the unloaded cells */
};

void zero_init(struct zero *z);

/* Case 1: the flight [from_us, touchdown_us]. scratch: CONDITION_SCRATCH doubles. */
void zero_learn_flight(struct zero *z, const struct trace *t, double from_us, double touchdown_us, double *scratch);

/* Case 2: nobody was on in [from_us, to_us]. on_n: the contact threshold. */
void zero_learn_empty(struct zero *z, const struct trace *t, double from_us, double to_us, double on_n, double *scratch);

/* Case 3: true when the floor of [from_us, to_us] lies elsewhere than the zero did. */
bool zero_learn_floor(struct zero *z, const struct trace *t, double from_us, double to_us, double on_n, double *scratch);

#endif
