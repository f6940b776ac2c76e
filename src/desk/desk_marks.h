/* desk_marks.h - marks of the run that are not on disc yet: "marked" is shown only of those that are.
 *
 * How: the store takes what is said in order and counts it. Marks wait in two groups: while the first waits for its last one,
 *      further ones join the second, so that no mark that follows holds up one before it.
 *
 * Memory: the struct, empty when zeroed.   Threads: the main one.   Errors: none.
 */
#ifndef DESK_DESK_MARKS_H
#define DESK_DESK_MARKS_H

#include "visit/run.h"

struct desk_marks {
    int n[2];            /* marks in each group */
    uint64_t last[2];    /* which pain or note of the run its last one is */
    uint64_t n_refused; /* of the run, before the first group */
};

/* A mark was put just now. */
void desk_marks_put(struct desk_marks *m, const struct run_said *said);

/* True when marks wait no longer: so many are kept, so many refused. A refusal among them counts for all of their group: which
 * one it was is not known. */
bool desk_marks_take(struct desk_marks *m, const struct run_said *said, int *n_kept, int *n_refused);

#endif
