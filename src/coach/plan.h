/* plan.h - the blocks of a visit and their clock: what part runs now, and is feedback shown in it.
 *
 * In:  the time run so far (plan_clock: device time, without gaps).   Out: struct plan_now.
 * How: blocks follow each other; within a block the feedback share is spread in equal windows of about
 *      PLAN_WINDOW_S, shown first and withheld after in each, so that the share holds over the block
 *      exactly and over every window.
 *
 *      share 1.0  |##########|      share 0.5  |####----|####----|      share 0  |--------|
 *
 *      PLAN_SPREAD_RANDOM spreads it over slots of about PLAN_SLOT_S instead: as many slots of the block are
 *      shown as the share asks for, which ones follows from the plan's seed and the block alone. Windows are
 *      the default: nobody waits half a block for feedback by bad luck.
 *
 * A block may be cut (plan_skip) or made longer (plan_extend) while it runs; its windows stay as they were.
 * A plan without blocks runs free: feedback shown, no end. Pure. Memory: the structs.
 */
#ifndef COACH_PLAN_H
#define COACH_PLAN_H

#include "coach/verdict.h"

#define PLAN_MAX_BLOCKS 32
#define PLAN_MAX_BELT_M_S 7.0 /* 25 km/h: more is km/h typed for m/s */
#define PLAN_WINDOW_S 30.0
#define PLAN_SLOT_S 10.0

enum plan_spread {
    PLAN_SPREAD_WINDOWS = 0,
    PLAN_SPREAD_RANDOM,
};

struct plan_block {
    enum verdict_block kind;
    double length_s;       /* > 0 */
    double belt_speed_m_s; /* NAN: not said */
    double feedback_share; /* 0..1, of the block's time; only coached blocks show feedback */
    double spread_s; /* length that the share was spread over; 0: length_s */
};

struct plan {
    int n_blocks; /* 0: free running */
    struct plan_block block[PLAN_MAX_BLOCKS];
    double speed_share[PLAN_MAX_BLOCKS]; /* of the runner's usual speed, that a block's belt speed is; 0: not a share */
    enum plan_spread spread;
    uint64_t seed;     /* of PLAN_SPREAD_RANDOM */
    bool is_bandwidth; /* in shown time, feedback comes only when a value is out of its band */
};

struct plan_now {
    int index; /* of the block; n_blocks when the plan is over */
    enum verdict_block kind;
    double left_s, length_s; /* NAN for free running and after the end */
    double belt_speed_m_s;   /* NAN: not said */
    bool is_feedback_shown;
};

/* Device time that counts: standing still while the sensor is lost, jumping over nothing. */
#define PLAN_CLOCK_MAX_STEP_US (2 * UNITS_US_PER_S)

struct plan_clock {
    bool is_started;
    struct dev_time last;
    int64_t run_us;
};

void plan_free(struct plan *p);

/* Where the plan stands after run_us (>= 0). */
void plan_at(const struct plan *p, int64_t run_us, struct plan_now *out);

/* Ends the block that runs at run_us there and then. Nothing after the end. */
void plan_skip(struct plan *p, int64_t run_us);

/* Makes the block that runs at run_us longer by extra_s (> 0). Nothing after the end. */
void plan_extend(struct plan *p, int64_t run_us, double extra_s);

void plan_clock_init(struct plan_clock *c);

/* Time went on to `now`. A step back, or one of more than PLAN_CLOCK_MAX_STEP_US (sensor was gone), counts
 * nothing; neither does any while is_counting is false. Returns the time run so far. */
int64_t plan_clock_feed(struct plan_clock *c, struct dev_time now, bool is_counting);

#endif
