/* coached_step.h - a step with what the coach did about it: what the store keeps of a step. A plain struct. */
#ifndef COACH_COACHED_STEP_H
#define COACH_COACHED_STEP_H

#include "gait/step.h"

struct coached_step {
    struct step step;
    int block; /* index of its block; -1 = none */
    bool is_feedback_shown;
};

#endif
