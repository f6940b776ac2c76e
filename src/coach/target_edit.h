/* target_edit.h - targets as they are dragged, nudged and typed, with undo.
 *
 * In:  edits of one target at a time, each with the runner's spread at hand.   Out: the set as it now stands.
 * How: every edit that changes something keeps the set before it; a drag is one edit from begin to end, so that
 *      one undo takes all of it back; nudges of the same part that follow each other without a pause are one edit
 *      likewise. Undone edits can be done again until the next new one.
 *      An edge is never moved past the other: the band keeps at least TARGET_EDIT_MIN_SHARE of its middle.
 *
 * Memory: the struct; of more than TARGET_EDIT_N_KEPT edits the oldest are forgotten. Pure.
 */
#ifndef COACH_TARGET_EDIT_H
#define COACH_TARGET_EDIT_H

#include "base/units.h"
#include "coach/command.h"

#define TARGET_EDIT_N_KEPT 32
#define TARGET_EDIT_MIN_SHARE 0.002
#define TARGET_EDIT_PAUSE_US INT64_C(1500000) /* between nudges: a longer one begins another edit */

struct target_set {
    int n;
    struct target target[VERDICT_MAX_BARS];
    enum metric focus;
};

/* Nudges that make one edit. */
struct target_edit_run {
    bool is_on;
    int which, part;
    struct host_time last;
};

struct target_edit {
    struct target_set now;
    struct target_set kept[TARGET_EDIT_N_KEPT]; /* before the edits, oldest first; after n_kept: undone ones */
    int n_kept, n_undone;
    bool is_dragging;
    struct target_edit_run run;
    double spread[VERDICT_MAX_BARS]; /* of the runner, in the baseline; NAN: not known */
};

/* spread: one a target, NULL = none known. Precondition: set->n <= VERDICT_MAX_BARS. */
void target_edit_init(struct target_edit *e, const struct target_set *set, const double *spread);

/* A drag begins and ends; moves in between are one edit. */
void target_edit_begin_drag(struct target_edit *e);
void target_edit_end_drag(struct target_edit *e);

/* Sets the edges of one target. They are put in order and apart. is_change follows from the baseline: a band
 * that holds it asks for no change. */
void target_edit_band(struct target_edit *e, int which, double low, double high);

/* As target_edit_band(), for one of many small steps: those of the same part (a number of the caller's) of one target
 * that come within TARGET_EDIT_PAUSE_US of each other are one edit, until any other edit or target_edit_rest(). */
void target_edit_nudge(struct target_edit *e, int which, int part, double low, double high, struct host_time now);

/* The next nudge is an edit of its own. */
void target_edit_rest(struct target_edit *e);

/* Moves the whole band. */
void target_edit_shift(struct target_edit *e, int which, double by);

/* Which metric leads; METRIC_COUNT: none. */
void target_edit_focus(struct target_edit *e, enum metric focus);

/* Replaces the whole set, such as by a new rule or by the last visit's. */
void target_edit_replace(struct target_edit *e, const struct target_set *set);

/* False when there is nothing to undo, or to do again. */
bool target_edit_undo(struct target_edit *e);
bool target_edit_redo(struct target_edit *e);

/* Warnings of one target as it stands (enum target_warning bits). */
unsigned target_edit_warnings(const struct target_edit *e, int which);

/* True when any target has a warning. */
bool target_edit_is_warned(const struct target_edit *e);

/* The set as a command for the coach. */
struct command target_edit_command(const struct target_edit *e);

#endif
