/* coach.h - step records to verdicts: what the runner should see now.
 *
 * In:  steps (live, then settled), the passing of device time, the sensor's state.
 * Out: struct verdict, complete at any moment, by coach_verdict().
 * How: running steps alone count. Each bar shows the rolling median (run_median.h), its side by band.h; one
 *      cue (cue.h); the plan's clock (plan.h) says whether feedback is shown. With no target given and
 *      baseline_s > 0 the run begins with a silent baseline; when it is long enough and has enough settled
 *      steps, targets are proposed from it by rule (baseline.h) and hold from then on.
 *
 *      case 1   walking, standing, nobody there     values fade to unknown after COACH_PAUSE_US
 *      case 2   sensor lost                         values stay, with their age; the clock stands
 *      case 3   a metric only the settled step has  it counts then, once
 *      case 4   a settled step that the live one already gave   nothing counts twice
 *      case 5   steps after a pause                 counting begins anew
 *      case 6   a runner steps off                  the plan's clock stands until someone is on the belt again
 *      case 7   a plan's baseline is not steady     the block goes on, COACH_BASELINE_MORE_S at a time, at most
 *                                                   COACH_BASELINE_MORE_MAX_S; then the next one, without targets
 *      case 8   bandwidth feedback                  in shown time the screen shows only while a bar is out of its
 *                                                   band, at least COACH_BANDWIDTH_HOLD_US; being told nothing is
 *                                                   being told "in", so steps count as with feedback all the same
 *      case 9   commands (command.h)                pause, skip, extend, targets ...: in force at once
 *
 * Delay: none. Memory: the struct, nothing else. Pure: no clock, no thread, no allocation.
 */
#ifndef COACH_COACH_H
#define COACH_COACH_H

#include "coach/band.h"
#include "coach/baseline.h"
#include "coach/command.h"
#include "coach/cue.h"
#include "coach/plan.h"
#include "coach/run_median.h"
#include "coach/target.h"
#include "coach/verdict.h"

#define COACH_SKIPPED_MAX 0.5 /* share */
#define COACH_PAUSE_US (4 * UNITS_US_PER_S)
#define COACH_N_RECENT 32
#define COACH_BASELINE_JUDGE_S 2.5 /* before its end; more than PLAN_CLOCK_MAX_STEP_US, so never jumped over */
#define COACH_BASELINE_MORE_S 15.0
#define COACH_BASELINE_MORE_MAX_S 180.0
#define COACH_BANDWIDTH_HOLD_US (3 * UNITS_US_PER_S)

struct coach_config {
    int n_targets; /* 0: from the baseline */
    struct target target[VERDICT_MAX_BARS];
    enum metric focus;             /* METRIC_COUNT: the first changed target, else the first */
    enum target_rule cadence_rule; /* for targets from the baseline */
    double baseline_s;             /* without targets; 0: none, values are shown without bands */
    struct plan plan;              /* no blocks: free running */
    bool is_waiting;               /* the clock stands until COMMAND_RESUME */
    double belt_speed_m_s, foot_length_mm; /* NAN: not entered */
};

/* Which metrics a live step has given already, so that its settled twin adds only the rest. */
struct coach_recent {
    uint32_t number;
    bool has_foot;
    uint64_t given; /* bit per metric */
};

/* The block that runs now, as the store keeps it. A pause is a block of its own, and what is changed within a
 * block (belt speed, targets) begins a new one, so that every block ran under one set of conditions. */
struct coach_block {
    int index; /* 0, 1, 2 ... in the order run; -1 before the first frame */
    int plan_index;
    uint32_t target_version;
    enum verdict_block kind;
    struct dev_time start;
    double planned_s;      /* NAN: free */
    double belt_speed_m_s; /* NAN: not said */
    double shown_share;    /* planned share of time with feedback, 0..1; NAN: not planned */
};

struct coach {
    struct coach_config config;
    struct verdict verdict; /* kept up to date by every call */
    struct run_median rolling[METRIC_COUNT];
    struct band band[VERDICT_MAX_BARS];
    struct band landing_band[2]; /* left, right */
    struct cue cue;
    struct baseline baseline;
    bool is_baseline; /* the silent baseline of a run without plan is still running */
    double baseline_more_s; /* how much the plan's baseline went on */
    bool is_paused;
    bool has_begun;  /* resumed at least once; valid when config.is_waiting */
    bool is_over;    /* coach_end() came */
    bool is_offered; /* feedback, by plan or by hand; what is shown may be less (bandwidth) */
    enum command_feedback feedback;
    struct dev_time out_since; /* of its band, for bandwidth feedback; valid when is_out */
    bool is_out;
    double entered_speed_m_s; /* by command or plan, not taken yet; else NAN */
    bool is_sped;             /* by command: a new block begins */
    bool is_speed_measured;
    bool is_third_bar_settled;
    bool are_targets_by_rule; /* from this visit's baseline; else from before, or by hand */
    struct plan_clock clock;
    double planned_s, skipped_s; /* of coached running, as the plan had it, and what of it was skipped */
    struct coach_block block;
    struct dev_time last_step; /* valid when verdict.n_steps > 0 */
    int64_t trend_slot;        /* number of the newest slot; -1: none yet */
    struct coach_recent recent[COACH_N_RECENT];
};

/* No targets, 60 s of silent baseline, cadence +5 %, free running, nothing entered. */
struct coach_config coach_config_default(void);

/* Precondition: n_targets <= VERDICT_MAX_BARS, each low < high. */
void coach_init(struct coach *c, const struct coach_config *config);

/* One step record, live or settled. */
void coach_feed_step(struct coach *c, const struct step *s);

/* Device time went on to `now` (of the newest frame), with the gait of the moment. */
void coach_feed_time(struct coach *c, struct dev_time now, enum step_gait gait);

/* The sensor's state changed; message tells it, MESSAGE_NONE when live. Copied. */
void coach_set_sensor(struct coach *c, enum verdict_sensor sensor, const struct message *message);

/* A command from the panel; see command.h. */
void coach_command(struct coach *c, const struct command *command);

/* Belt speed that was entered since the last call, by command or as a block began: for the engine. */
bool coach_take_belt_speed(struct coach *c, double *m_s);

/* The visit is over: the screen says so. */
void coach_end(struct coach *c);

/* Copies what the runner should see now. serial goes up with every change. */
void coach_verdict(const struct coach *c, struct verdict *out);

/* True while feedback is on offer (case 8); the share of steps in the band is kept apart by it. */
bool coach_is_feedback_shown(const struct coach *c);

/* The block of the moment, borrowed until the next feed; its index is -1 before the first frame. */
const struct coach_block *coach_block(const struct coach *c);

/* Whether the visit, ended now, is less than its plan: before the plan's end, or with more than COACH_SKIPPED_MAX of its
 * coached running skipped. False without a plan. */
bool coach_is_cut_short(const struct coach *c);

/* Targets in force: n of them, borrowed until the next feed. */
int coach_targets(const struct coach *c, const struct target **out);

#endif
