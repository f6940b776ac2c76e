/* error_bar.h - how far a figure may be from what an instrument would have measured: half of the 95 % interval, where it is
 * known. So far of braking alone, which is always an estimate.
 *
 * In:  how many steps a mean is of.   Out: in the figure's own unit.
 * How: what is off in a run is off in all its steps, what is off in a step is not: run^2 + step^2 / n. Of one runner's runs a
 *      part is the same in all, so that a change is known better than a value: own^2 in the place of run^2, twice.
 *      Against measured fore-aft force, 24 runs of 6 runners; what they cover on runners left out: tests/VALIDITY.md.
 *      A change of where braking ends has none: what was worked out covered too much (36 pairs of 36).
 * It is no spread from step to step, and says nothing of what differs between days.
 * Pure.
 */
#ifndef COACH_ERROR_BAR_H
#define COACH_ERROR_BAR_H

#include "base/metric.h"

/* Of a mean of n steps; NAN where not known, or of none. */
double error_bar_mean(enum metric m, int n);

/* Of the difference of two means of one runner. */
double error_bar_change(enum metric m, int n_before, int n_after);

#endif
