/* measure.h - turns one finished contact, and the run around it, into a step record.
 *
 * Which figure comes from where: force curve -> loading.h; mass centre -> mass_centre.h; switches ->
 * springmass.h; mat image -> footprint.h. Here they are put into body weights, given their standing, and
 * withheld where the data under them will not bear it.
 * Internal to gait/: engine.c calls it.
 */
#ifndef GAIT_MEASURE_H
#define GAIT_MEASURE_H

#include "gait/engine.h"

/* Lowest sampling rate at which a metric counts as measured; below it the value is flagged low_rate and
 * estimated. See the down-sampling table in tests/VALIDITY.md. */
double measure_min_rate_hz(enum metric m);

/* What can be told at toe-off: the contact's own force curve, COP and print. */
void measure_contact(struct engine *e, struct engine_contact *c);

/* The step record, when the next touchdown is known (or never comes). */
void measure_step(struct engine *e, struct engine_contact *c);

/* Mean fore-aft place of the mass centre over n_steps before touchdown and n_steps after it, within the run of
 * contacts [first, end); shrinks to what there is. NAN when there is not one whole stride. drift_mm_s: how fast
 * it moves; NAN when not known. */
double measure_mass_centre_fwd_mm(const struct engine *e, uint64_t contact, uint64_t first, uint64_t end,
                                  int n_steps, double *drift_mm_s);

/* Figures that may be known better when the step settles: its foot, body weight, and, of a run's first step, the
 * mass centre's travel. measure_step() has called it once. */
void measure_again(struct engine *e, struct engine_contact *c);

/* Figures that rest on the mass centre's place; again when settled. */
void measure_place(struct engine *e, struct engine_contact *c, double com_fwd_mm, double drift_mm_s);

#endif
