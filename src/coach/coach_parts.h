/* coach_parts.h - inside coach/ only: what the coach's files share.
 *
 * coach_command.c   commands
 * coach.c           steps and time
 * coach_plan.c      clock, blocks, baseline, feedback
 * coach_bars.c      bars, bands, cue
 * None calls one that stands above it here.
 */
#ifndef COACH_COACH_PARTS_H
#define COACH_COACH_PARTS_H

#include "coach/coach.h"

/* The bars of a run without targets yet. */
void coach_set_plain_bars(struct coach *c);

/* Once warm, the third of them becomes what this sensor can tell. */
void coach_settle_third_bar(struct coach *c);

/* Nothing of the line behind the focus is left. */
void coach_clear_trend(struct coach *c);

/* Bars, bands and focus from the targets in the configuration. */
void coach_use_targets(struct coach *c);

/* Bars: values from the rolling medians, sides by the bands, then the cue. s: the step that brought news; NULL: none. */
void coach_judge(struct coach *c, const struct step *s);

/* A baseline, with or without a plan, is being measured. */
bool coach_is_baseline_now(const struct coach *c);

/* Targets from the baseline, unless there are some from before. False when it says too little for any. */
bool coach_propose_targets(struct coach *c);

/* The clock, and all that hangs on it. */
void coach_feed_clock(struct coach *c, struct dev_time now, enum step_gait gait);

#endif
