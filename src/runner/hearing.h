/* hearing.h - what the runner should hear now: verdicts in, a beat and signs out.
 *
 * In:  each new verdict.   Out: the metronome's tempo, whether it is heard, a sign for a step off its band.
 * How: the beat is a number of steps a minute, or the middle of the cadence's target band. Sound is
 *      feedback like the bars: it is withheld where they are, and when there is no runner to hear it.
 *
 *      case 1   silent block or window, paused, sensor lost, nobody running    no beat, no sign
 *      case 2   a new step, focus metric below its band                        TONE_RISE
 *      case 3   a new step, focus metric above its band                        TONE_FALL
 *      case 4   several steps since the last verdict                           one sign
 *      case 5   a band with one end: the beat is that end
 *
 * Pure.  Memory: the struct.  Errors: none.
 */
#ifndef RUNNER_HEARING_H
#define RUNNER_HEARING_H

#include <stdbool.h>

#include "coach/verdict.h"
#include "ui/tone.h"

struct hearing_config {
    bool has_signs;      /* a soft tone for a step out of its band */
    bool beat_is_target; /* the metronome follows the cadence's target */
    double beat_spm;     /* else this; NAN: no metronome */
};

struct hearing {
    struct hearing_config config;
    uint32_t n_steps; /* of the last verdict */
    bool has_steps;
};

struct hearing_now {
    double beat_spm; /* NAN: none */
    bool beat_is_heard;
    enum tone_sign sign;
};

/* Nothing heard. */
struct hearing_config hearing_config_default(void);

/* True when the device need not even be opened. */
bool hearing_is_off(const struct hearing_config *c);

void hearing_init(struct hearing *h, const struct hearing_config *c);

struct hearing_now hearing_feed(struct hearing *h, const struct verdict *v);

#endif
