/* fake_verdict.h - verdicts made by hand, one for each thing the screen may have to show. Tests only. */
#ifndef AID_FAKE_VERDICT_H
#define AID_FAKE_VERDICT_H

#include "coach/verdict.h"

enum fake_state {
    FAKE_LIVE = 0,  /* three bars: in, above, below; cue; coached block */
    FAKE_ALL_IN,
    FAKE_FOUR,      /* four bars, one of them without a value */
    FAKE_TWO,
    FAKE_NO_TARGET, /* baseline block: values, no targets yet */
    FAKE_COUNTING,
    FAKE_WALKING,
    FAKE_STANDING,
    FAKE_SWITCHES,  /* where the load comes first is not known */
    FAKE_NEAR,      /* lands under the body; one foot is still counted */
    FAKE_NO_PLACE,  /* a sensor that can't tell where the feet land */
    FAKE_SPLIT,     /* asymmetry leads: half bars */
    FAKE_FREE,      /* no plan, no belt speed known */
    FAKE_SILENT,
    FAKE_QUIET,     /* sensor lost */
    FAKE_GONE_IN_SILENCE,
    FAKE_WAITING,
    FAKE_PAUSED,
    FAKE_ENDED,
    FAKE_N_STATES
};

/* A short name for file names. */
const char *fake_name(enum fake_state state);

/* Fills v; its values were taken at now. */
void fake_verdict(struct verdict *v, enum fake_state state, struct host_time now);

#endif
