/* cue.h - at most one thing to change, chosen from the metric furthest outside its band.
 *
 * In:  the bars (side and distance), once a step, with device time.   Out: enum verdict_cue.
 * How: of all bars whose side (with hysteresis) is out and that have a cue for it, the one furthest out in
 *      band-widths. A cue, once shown, stays at least CUE_HOLD_US, so that it can be read and tried.
 *      Silence (feedback withheld) takes it away at once.
 * Pure. Memory: the struct.
 */
#ifndef COACH_CUE_H
#define COACH_CUE_H

#include "coach/band.h"
#include "coach/verdict.h"

#define CUE_HOLD_US (5 * UNITS_US_PER_S)

struct cue {
    enum verdict_cue shown;
    struct dev_time since; /* valid when shown != VERDICT_CUE_NONE */
};

void cue_init(struct cue *c);

/* The cue for a metric on a side; VERDICT_CUE_NONE when there is nothing to say. */
enum verdict_cue cue_for(enum metric metric, enum verdict_side side);

/* Chooses anew from n bars. band[i] belongs to bar[i]. Returns what is shown. */
enum verdict_cue cue_feed(struct cue *c, struct dev_time now, const struct verdict_bar *bar,
                          const struct band *band, int n_bars);

/* Feedback is withheld: nothing is shown. */
void cue_silence(struct cue *c);

#endif
