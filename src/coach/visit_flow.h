/* visit_flow.h - one visit from the sensor check to its saving: what comes next, what is asked, what is kept.
 *
 *      check -> cautions -> pain before -> run (the plan's blocks, by coach.h) -> pain, effort after -> notes -> saved
 *
 * In:  the verdict, again and again; answers and keys.   Out: the phase with its one sentence, commands for the
 *      coach (take them and pass them on), pain records for the store (likewise).
 * How: nothing runs before sensor, cautions and pain are through: begin the coach with is_waiting. Within the
 *      run the coach keeps the clock; every block can be skipped, extended and paused.
 *
 *      case 1   the sensor is not live yet            check can't be passed
 *      case 2   pain before at or above the limit     asks to stop; the run begins only when told once more
 *      case 3   pain in the run at or above it        pauses, and asks to stop; resume is for a person to say
 *      case 4   no limit was set for the runner       any pain asks for a decision; there is no limit of ours,
 *                                                     since the sources differ (3 or 5 of 10)
 *      case 5   pain rose since before the run        says so (Vincent HK, Vincent KR 2017, Curr Sports Med Rep
 *                                                     16:122: rising pain cuts the run or stops it)
 *      case 6   stopped before the plan's end         the visit is cut short, and kept as such
 *      case 7   a runner steps off                    the coach's clock stands; the sentence says so
 *      case 8   an answer is not wanted               it can be passed over, and is unknown then, never 0
 *
 * No display may be needed to stop: the treadmill's cord and button come first; the cautions say so.
 * Pure. Memory: the struct.   Threads: one at a time (the panel's).
 */
#ifndef COACH_VISIT_FLOW_H
#define COACH_VISIT_FLOW_H

#include "coach/command.h"

#define VISIT_FLOW_N_COMMANDS 16
#define VISIT_FLOW_N_PAINS 16

enum visit_flow_phase {
    VISIT_FLOW_CHECK = 0,
    VISIT_FLOW_CAUTIONS,
    VISIT_FLOW_PAIN_BEFORE,
    VISIT_FLOW_RUN,
    VISIT_FLOW_AFTER, /* pain and effort */
    VISIT_FLOW_NOTES,
    VISIT_FLOW_SAVED,
};

enum visit_flow_pain_when { /* as the store has it */
    VISIT_FLOW_PAIN_WAS_BEFORE = 0,
    VISIT_FLOW_PAIN_WAS_DURING,
    VISIT_FLOW_PAIN_WAS_AFTER,
};

struct visit_flow_pain {
    enum visit_flow_pain_when when;
    struct dev_time at;  /* valid during the run */
    double pain, effort; /* 0-10; NAN: not asked */
};

struct visit_flow_config {
    double pain_limit; /* of this runner, 0-10; NAN: not set */
};

struct visit_flow {
    struct visit_flow_config config;
    enum visit_flow_phase phase;
    struct verdict verdict; /* the newest */
    bool is_answered;       /* the phase's question has its answer, or was passed over */
    bool is_stop_asked;     /* pain says stop; until resumed or ended */
    bool is_cut_short;      /* valid from VISIT_FLOW_AFTER on */
    bool has_run;           /* the run began */
    double pain_before, pain_worst, pain_after, effort; /* NAN: unknown; worst: in the run */
    struct command command[VISIT_FLOW_N_COMMANDS];
    int n_commands;
    struct visit_flow_pain pain[VISIT_FLOW_N_PAINS];
    int n_pains;
};

void visit_flow_init(struct visit_flow *f, const struct visit_flow_config *c);

/* The newest verdict (copied). A plan that is over ends the run. */
void visit_flow_feed(struct visit_flow *f, const struct verdict *v);

/* On to the next phase. False, with a message in why, when something is missing; never from RUN (it ends by its
 * plan or by visit_flow_stop()). With pain at the limit before the run the first call is refused and the
 * second taken (case 2). */
bool visit_flow_next(struct visit_flow *f, struct message *why);

/* An answer of 0..10 (NAN: passed over) to what the phase asks; in the run it is pain at this moment. False when
 * it is out of range or nothing is asked. */
bool visit_flow_pain(struct visit_flow *f, double pain);
bool visit_flow_effort(struct visit_flow *f, double effort);

/* Keys of the run; false in any other phase. */
bool visit_flow_pause(struct visit_flow *f);
bool visit_flow_resume(struct visit_flow *f); /* also answers is_stop_asked: go on */
bool visit_flow_skip(struct visit_flow *f);
bool visit_flow_extend(struct visit_flow *f, double seconds);
bool visit_flow_feedback(struct visit_flow *f, enum command_feedback feedback);
bool visit_flow_belt_speed(struct visit_flow *f, double m_s);
bool visit_flow_accept_baseline(struct visit_flow *f);
bool visit_flow_targets(struct visit_flow *f, const struct command *targets); /* before the run too */

/* Ends the run now; before it, gives the visit up (straight to SAVED, has_run false). */
void visit_flow_stop(struct visit_flow *f);

/* What is to be passed on, oldest first. */
bool visit_flow_take_command(struct visit_flow *f, struct command *out);
bool visit_flow_take_pain(struct visit_flow *f, struct visit_flow_pain *out);

/* The one message of the moment: what is asked, or what goes on and what to do; MESSAGE_NONE: nothing. */
void visit_flow_sentence(const struct visit_flow *f, struct message *out);

/* The cautions, one after the other; NULL after the last. Static storage. */
const char *visit_flow_caution(int i);

#endif
