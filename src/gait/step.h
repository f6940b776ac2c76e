/* step.h - contract of gait: the step record, the heart of the program. Everything before it makes it,
 * everything after it reads it.
 *
 * A step runs from one foot's touchdown to the next touchdown of either foot. It is given out twice:
 * first "live", the moment the next touchdown is sure (what the runner sees), then "settled", a few
 * steps later, when the strides on both sides of it are known (what the lab gets). Same number both
 * times; the settled one replaces the live one. Values change only in metrics that look at both sides
 * (landing ahead, side, gait).
 */
#ifndef GAIT_STEP_H
#define GAIT_STEP_H

#include "base/metric.h"
#include "base/units.h"

enum step_foot {
    STEP_FOOT_UNKNOWN = 0,
    STEP_FOOT_LEFT,
    STEP_FOOT_RIGHT,
};

enum step_gait {
    STEP_GAIT_UNKNOWN = 0,
    STEP_GAIT_OFF,      /* nobody on the sensor */
    STEP_GAIT_STANDING,
    STEP_GAIT_WALKING,
    STEP_GAIT_RUNNING,
};

enum step_zone {
    STEP_ZONE_UNKNOWN = 0,
    STEP_ZONE_REAR, /* borders: gait/strike.h */
    STEP_ZONE_MID,
    STEP_ZONE_FORE,
    STEP_ZONE_BORDER, /* too near a border to be told */
    STEP_ZONE_COUNT
};

/* Why a number may be missing or weak; one bit each, names by step_flag_name(). */
enum step_flag {
    STEP_FLAG_FIRST = 1 << 0,     /* no step before it: nothing that needs a stride */
    STEP_FLAG_LAST = 1 << 1,      /* no touchdown after it: no step time, no flight */
    STEP_FLAG_GAP = 1 << 2,       /* samples were lost inside it */
    STEP_FLAG_SATURATED = 1 << 3, /* an element was at full scale */
    STEP_FLAG_EDGE = 1 << 4,      /* part of the foot may have been off the mat */
    STEP_FLAG_UNSTEADY = 1 << 5,  /* speeding up, slowing, or moving on the belt: no mass centre */
    STEP_FLAG_BRIDGED = 1 << 6,   /* a drop-out inside the contact was bridged */
    STEP_FLAG_LOW_RATE = 1 << 7,  /* sampled too slowly for at least one metric */
    STEP_FLAG_NO_WEIGHT = 1 << 8, /* body weight not known yet */
    STEP_FLAG_RELATIVE = 1 << 9,  /* sensor not calibrated: forces hold only against themselves */
    STEP_FLAG_CUT = 1 << 10,      /* the recording starts or ends inside it */
    STEP_FLAG_SIDE_GUESS = 1 << 11, /* the two feet could not be told apart with confidence */
    STEP_FLAG_OVERLAP = 1 << 12,  /* no flight at one end: that edge is estimated */
};
#define STEP_N_FLAGS 13

struct step {
    uint32_t number;           /* 1, 2, 3 ... of this visit or file */
    bool is_settled;
    enum step_foot foot;
    enum step_gait gait;
    enum step_zone zone;
    uint32_t flags;
    struct dev_time touchdown; /* interpolated between samples, to the microsecond */
    struct dev_time toe_off;
    struct host_time arrived;  /* bytes of the deciding sample; 0 from a file */
    double cop_fwd_mm;         /* lab frame, at touchdown; NAN when unknown */
    double cop_right_mm;       /* mean over the contact; NAN when unknown */
    double body_weight_n;      /* used for the BW figures; NAN when not known */
    double value[METRIC_COUNT]; /* NAN where missing */
    uint8_t standing[METRIC_COUNT]; /* enum metric_standing */
};

#endif
