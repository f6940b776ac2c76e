/* verdict.h - contract of coach: all that the runner's screen and the sound need to know now.
 *
 * Plain values, no pointers: the reader thread copies it into a mailbox, the screen takes the newest.
 */
#ifndef COACH_VERDICT_H
#define COACH_VERDICT_H

#include "base/message.h"
#include "base/metric.h"
#include "base/units.h"
#include "gait/step.h"

#define VERDICT_MAX_BARS 4
#define VERDICT_N_LANDINGS 8
#define VERDICT_TREND_SLOTS 240 /* 120 s in slots of 0.5 s */
#define VERDICT_TREND_SLOT_MS 500
#define VERDICT_MESSAGE_MAX 160

enum verdict_side {
    VERDICT_UNKNOWN = 0, /* counting, or missing */
    VERDICT_BELOW,
    VERDICT_IN,
    VERDICT_ABOVE,
};

/* What the runner might change. Words are in runner/words.c. */
enum verdict_cue {
    VERDICT_CUE_NONE = 0,
    VERDICT_CUE_QUICKER_STEPS, /* cadence below */
    VERDICT_CUE_SLOWER_STEPS,  /* cadence above */
    VERDICT_CUE_LAND_NEARER,   /* landing ahead above */
    VERDICT_CUE_REACH_MORE,    /* landing ahead below */
    VERDICT_CUE_LAND_SOFTER,   /* loading rate above */
    VERDICT_CUE_SHORTER_CONTACT, /* contact above */
    VERDICT_CUE_LONGER_CONTACT,  /* contact below */
    VERDICT_CUE_FLATTER_FOOT,  /* strike index below its band */
    VERDICT_CUE_HEEL_DOWN,     /* strike index above its band */
    VERDICT_CUE_BRAKE_LESS,    /* braking above */
    VERDICT_CUE_COUNT
};

enum verdict_sensor {
    VERDICT_SENSOR_WAITING = 0, /* no hello yet */
    VERDICT_SENSOR_LIVE,
    VERDICT_SENSOR_QUIET,       /* connected, but no packet for a while */
    VERDICT_SENSOR_GONE,        /* unplugged */
    VERDICT_SENSOR_GARBLED,     /* bytes come, but no packet can be read */
};

enum verdict_block {
    VERDICT_BLOCK_FREE = 0, /* no plan: runs until stopped */
    VERDICT_BLOCK_WARM_UP,
    VERDICT_BLOCK_BASELINE,
    VERDICT_BLOCK_COACHED,
    VERDICT_BLOCK_SILENT,
    VERDICT_BLOCK_COOL_DOWN,
    VERDICT_BLOCK_PAUSED,
    VERDICT_BLOCK_ENDED,
};

/* How a visit's baseline stands. */
enum verdict_baseline {
    VERDICT_BASELINE_NONE = 0,
    VERDICT_BASELINE_RUNS,
    VERDICT_BASELINE_UNSTEADY, /* its time is over; it goes on until it is steady or skipped */
    VERDICT_BASELINE_ACCEPTED,
};

struct verdict_bar {
    enum metric metric;
    enum metric_standing standing;
    enum verdict_side side;
    double value;             /* rolling median; NAN = missing or counting */
    double value_left, value_right; /* the same of each foot; NAN when unknown */
    double low, high;         /* target band; NAN = no target yet */
    double baseline;          /* NAN = none */
};

/* Where one foot lands: mid-foot ahead of the centre of mass, mm. */
struct verdict_landing {
    double middle_mm;        /* rolling median; NAN = counting, or the sensor can't tell */
    double first_mm;         /* where the load came first, likewise; NAN too where only times are known */
    enum verdict_side side;  /* of the middle, against the target of landing ahead */
    int n_earlier;
    double earlier_mm[VERDICT_N_LANDINGS]; /* single steps, newest first */
};

struct verdict {
    uint64_t serial;           /* goes up by one with every change */
    struct dev_time time;      /* of the newest step or frame it rests on */
    struct host_time arrived;  /* host time of the deciding bytes, for latency */
    struct host_time last_value_at; /* host time of the newest step: age of the values */
    enum verdict_sensor sensor;
    struct message message; /* why, when sensor is not live; MESSAGE_NONE else */
    enum step_gait gait;
    uint32_t n_steps;
    bool is_feedback_shown;    /* false in silent blocks and silent windows */
    enum verdict_block block;
    bool is_paused;            /* by hand, or waiting to begin */
    bool is_clock_stopped;     /* paused, or nobody runs: block_left_s stands still */
    int plan_index, n_plan_blocks; /* which block of the plan, from 0; n_plan_blocks 0: no plan */
    enum verdict_baseline baseline;
    struct message baseline_why; /* why it is not accepted; MESSAGE_NONE else */
    uint32_t target_version;   /* goes up by one with every change of targets */
    double block_left_s;       /* NAN for VERDICT_BLOCK_FREE */
    double block_length_s;     /* NAN for VERDICT_BLOCK_FREE */
    double belt_speed_m_s;     /* NAN when neither measured nor entered */
    bool is_speed_measured;    /* by the sensor: an entered one is not taken */
    double foot_length_mm;     /* NAN when not entered */
    int n_bars;
    struct verdict_bar bar[VERDICT_MAX_BARS];
    enum metric focus;         /* METRIC_COUNT when none */
    enum verdict_cue cue;
    bool has_landing;          /* a landing was told in this run: its picture is there from then on */
    enum metric_standing landing_standing; /* of the newest */
    struct verdict_landing landing[2]; /* [0] left, [1] right */
    double landing_low_mm, landing_high_mm; /* target of landing ahead; NAN when none */
    int trend_head;            /* slot of "now"; the slot after it is the oldest */
    float trend[VERDICT_TREND_SLOTS];        /* focus metric; NAN = no step in the slot */
    bool trend_is_silent[VERDICT_TREND_SLOTS]; /* feedback was withheld in the slot */
};

#endif
