/* measure.h - turns one finished contact, and the run around it, into a step record.
 *
 * Which figure comes from where: force curve -> loading.h; mass centre -> mass_centre.h; switches ->
 * springmass.h; mat image -> footprint.h. Here they are put into body weights, given their standing, and
 * withheld where the data under them will not bear it.
 * struct measure owns what figures rest on beside the contact itself: what was entered, body weight, the belt's
 * speed, the mat's prints. Period_us everywhere: the sensor's sample period as known now.
 * Internal to gait/: sequence.c calls it.  Memory: the struct.  Pure.
 */
#ifndef GAIT_MEASURE_H
#define GAIT_MEASURE_H

#include "gait/belt.h"
#include "gait/condition.h"
#include "gait/engine_config.h"
#include "gait/footfall.h"
#include "gait/prints.h"
#include "gait/strides.h"
#include "gait/weight.h"

struct measure {
    struct engine_config config;
    struct weight weight;
    struct belt belt;
    struct prints prints; /* mat only */
    double scratch[CONDITION_SCRATCH];
};

void measure_init(struct measure *m, const struct engine_config *c);

/* Every sensor but switches. */
bool measure_sees_force(const struct measure *m);

/* Lowest sampling rate at which a metric counts as measured; below it the value is flagged low_rate and
 * estimated. See the down-sampling table in tests/VALIDITY.md. */
double measure_min_rate_hz(enum metric metric);

/* What can be told at toe-off: the contact's own force curve, COP and print. */
void measure_contact(struct measure *m, const struct trace *t, double period_us, struct footfall *c);

/* The step record, when the next touchdown is known (or never comes). c is one of the row's. */
void measure_step(const struct measure *m, const struct footfall_row *r, double period_us, struct footfall *c);

/* Figures that may be known better when the step settles: its foot, body weight, and, of a run's first step, the
 * mass centre's travel. measure_step() has called it once. */
void measure_again(const struct measure *m, const struct footfall_row *r, double period_us, struct footfall *c);

/* Figures that rest on the mass centre's place; again when settled. */
void measure_place(const struct measure *m, double period_us, struct footfall *c, const struct strides_centre *at);

#endif
