/* sequence.h - contacts to runs of contacts to step records.
 *
 * A run is a row of contacts with flights between them. Contact n's step is complete when contact n + 1 is
 * sure, or when nothing follows for ENGINE_MAX_FLIGHT_US.
 *
 *      case 1   C-C-C-C            a run: steps come out live from the third contact on
 *      case 2   C-C----------      fewer than ENGINE_MIN_RUN contacts out of nowhere: no steps, n_stray
 *      case 3   C-C-C---C-C        a foot missed the sensor: two runs, one side count (rank goes by time)
 *      case 4   C-C-C======        the last one stays down (standing): its touchdown ends the step before it
 *      case 5   C-C-C[hole]        a hole in the data: the run ends
 *
 * Internal to gait/: engine.c calls it.
 */
#ifndef GAIT_SEQUENCE_H
#define GAIT_SEQUENCE_H

#include "gait/engine.h"

void sequence_down(struct engine *e, int channel, const struct contact_event *ev);
void sequence_up(struct engine *e, int channel, const struct contact_event *ev);
void sequence_too_long(struct engine *e, int channel);

/* Forgets the present run: what was taken for contacts was none. What was given out stays. */
void sequence_discard(struct engine *e);

/* Ends the present run, if any: gives out and settles what is complete. */
void sequence_close(struct engine *e);

#endif
