/* command.h - what a person at the panel, or a visit's flow, tells the coach while it runs.
 *
 * A plain struct, so that it can go through a ring from the thread of the panel to the one that reads.
 */
#ifndef COACH_COMMAND_H
#define COACH_COMMAND_H

#include "coach/target.h"
#include "coach/verdict.h"

enum command_kind {
    COMMAND_PAUSE = 0,
    COMMAND_RESUME,          /* also begins a plan that waits (coach_config.is_waiting) */
    COMMAND_SKIP,            /* the block that runs ends; in the baseline without a plan too */
    COMMAND_EXTEND,          /* number: seconds, > 0 */
    COMMAND_FEEDBACK,        /* number: enum command_feedback */
    COMMAND_BELT_SPEED,      /* number: m/s, > 0 */
    COMMAND_TARGETS,         /* target, n_targets, focus: in force from the next step */
    COMMAND_ACCEPT_BASELINE, /* take the baseline as it is, steady or not */
    COMMAND_END,             /* the visit is over, whole or cut short */
};

enum command_feedback {
    COMMAND_FEEDBACK_BY_PLAN = 0,
    COMMAND_FEEDBACK_OFF,
    COMMAND_FEEDBACK_ON,
};

struct command {
    enum command_kind kind;
    double number;
    int n_targets; /* 1..VERDICT_MAX_BARS, for COMMAND_TARGETS */
    struct target target[VERDICT_MAX_BARS];
    enum metric focus; /* METRIC_COUNT: the first changed target, else the first */
};

#endif
