/* store_rig.h - a throw-away folder, and steps whose every field can be told from its number. */
#ifndef AID_STORE_RIG_H
#define AID_STORE_RIG_H

#include "store/store.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

struct store_rig {
    char folder[64];
    char path[96]; /* of the store in it */
};

static inline int
store_rig_make(struct store_rig *rig)
{
    strcpy(rig->folder, "/tmp/underfoot-test-XXXXXX");
    if (mkdtemp(rig->folder) == NULL)
        return -1;
    snprintf(rig->path, sizeof rig->path, "%s/data/%s", rig->folder, STORE_FILE_NAME);
    setenv("XDG_STATE_HOME", rig->folder, 1); /* where a visit goes whose store can't be written */
    return 0;
}

static inline void
store_rig_remove(const struct store_rig *rig)
{
    char command[128];

    snprintf(command, sizeof command, "rm -rf '%s'", rig->folder);
    if (system(command) != 0)
        fprintf(stderr, "could not remove %s\n", rig->folder);
}

/* 400 ms a step; metric m is missing in every step with number % 7 == m % 7, estimated in odd metrics. */
static inline struct coached_step
store_rig_step(uint32_t number, bool is_settled)
{
    struct coached_step s;

    memset(&s, 0, sizeof s);
    s.block = (int) (number / 10);
    s.is_feedback_shown = number % 2 == 0;
    s.step.number = number;
    s.step.is_settled = is_settled;
    s.step.foot = number % 2 == 0 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT;
    s.step.gait = STEP_GAIT_RUNNING;
    s.step.zone = (enum step_zone)(number % 4);
    s.step.flags = number % (1u << STEP_N_FLAGS);
    s.step.touchdown.us = (int64_t) number * 400000;
    s.step.toe_off.us = s.step.touchdown.us + 250000;
    s.step.cop_fwd_mm = 0.1 * number;
    s.step.cop_right_mm = number % 3 == 0 ? (double) NAN : -0.3 * number;
    s.step.body_weight_n = 700.5;
    for (uint32_t m = 0; m < METRIC_COUNT; m++) {
        bool is_missing = number % 7 == m % 7;
        s.step.value[m] = is_missing ? (double) NAN : number + m / 100.0 + (is_settled ? 0.5 : 0);
        s.step.standing[m] = is_missing ? METRIC_MISSING : m % 2 == 1 ? METRIC_ESTIMATED : METRIC_MEASURED;
    }
    return s;
}

static inline bool
store_rig_same_number(double a, double b)
{
    return (isnan(a) && isnan(b)) || a == b;
}

/* Field by field, NAN equal to NAN; arrived is not stored. */
static inline bool
store_rig_same_step(const struct coached_step *a, const struct coached_step *b)
{
    const struct step *p = &a->step, *q = &b->step;
    bool is_same = a->block == b->block && a->is_feedback_shown == b->is_feedback_shown &&
                   p->number == q->number && p->is_settled == q->is_settled && p->foot == q->foot &&
                   p->gait == q->gait && p->zone == q->zone && p->flags == q->flags &&
                   p->touchdown.us == q->touchdown.us && p->toe_off.us == q->toe_off.us &&
                   store_rig_same_number(p->cop_fwd_mm, q->cop_fwd_mm) &&
                   store_rig_same_number(p->cop_right_mm, q->cop_right_mm) &&
                   store_rig_same_number(p->body_weight_n, q->body_weight_n);

    for (int m = 0; m < METRIC_COUNT; m++)
        is_same =
            is_same && store_rig_same_number(p->value[m], q->value[m]) && p->standing[m] == q->standing[m];
    return is_same;
}

#endif
