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
 *
 * Delay: none. Memory: the struct, nothing else. Pure: no clock, no thread, no allocation.
 */
#ifndef COACH_COACH_H
#define COACH_COACH_H

#include "coach/band.h"
#include "coach/baseline.h"
#include "coach/cue.h"
#include "coach/plan.h"
#include "coach/run_median.h"
#include "coach/target.h"
#include "coach/verdict.h"

#define COACH_PAUSE_US (4 * UNITS_US_PER_S)
#define COACH_N_RECENT 32

struct coach_config {
    int n_targets; /* 0: from the baseline */
    struct target target[VERDICT_MAX_BARS];
    enum metric focus;             /* METRIC_COUNT: the first changed target, else the first */
    enum target_rule cadence_rule; /* for targets from the baseline */
    double baseline_s;             /* without targets; 0: none, values are shown without bands */
    struct plan plan;              /* no blocks: free running */
    double belt_speed_m_s, foot_length_mm; /* NAN: not entered */
};

/* Which metrics a live step has given already, so that its settled twin adds only the rest. */
struct coach_recent {
    uint32_t number;
    bool has_foot;
    uint64_t given; /* bit per metric */
};

/* The block that runs now, as the store keeps it. */
struct coach_block {
    int index; /* 0, 1, 2 ... in the order run; -1 before the first frame */
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
    struct cue cue;
    struct baseline baseline;
    bool is_baseline; /* the silent baseline is still running */
    bool is_third_bar_settled;
    struct plan_clock clock;
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

/* The sensor's state changed; message is one plain sentence, "" when live. Copied. */
void coach_set_sensor(struct coach *c, enum verdict_sensor sensor, const char *message);

/* The visit is over: the screen says so. */
void coach_end(struct coach *c);

/* Copies what the runner should see now. serial goes up with every change. */
void coach_verdict(const struct coach *c, struct verdict *out);

/* True while feedback is shown; the share of steps in the band is kept apart by it. */
bool coach_is_feedback_shown(const struct coach *c);

/* The block of the moment, borrowed until the next feed; its index is -1 before the first frame. */
const struct coach_block *coach_block(const struct coach *c);

/* Targets in force: n of them, borrowed until the next feed. */
int coach_targets(const struct coach *c, const struct target **out);

#endif
