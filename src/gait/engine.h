/* engine.h - the gait engine: frames in, step records out. One object, streaming, no allocation, no I/O.
 *
 *   frame -> trace (last seconds of force and COP)          trace.h
 *         -> contact detector: touchdown sure, toe-off sure contact.h, edge.h, condition.h (zero)
 *         -> run of contacts, side of each                  footside.h
 *         -> step record, live then settled                 measure.h, mass_centre.h, loading.h, rolling.h
 *
 * Feed frames in device-time order; after each feed, take steps until none is left. A step comes out live
 * when the next touchdown is sure (contact_config.min_contact_us after it), or, for the last before a
 * stop, ENGINE_MAX_FLIGHT_US after toe-off; and once more, settled, ENGINE_SETTLE_STEPS steps later or when the
 * run ends.
 * No step is made of: a contact that was there when the data began, a contact longer than a running contact
 * (standing, walking: double support never unloads the sensor), a tap, or fewer than ENGINE_MIN_RUN contacts in
 * a row when nobody was running just before.
 * Threads: one at a time per engine. Errors: none; impossible input is counted in engine_health().
 */
#ifndef GAIT_ENGINE_H
#define GAIT_ENGINE_H

#include "base/stats.h"
#include "gait/condition.h"
#include "gait/contact.h"
#include "gait/footprint.h"
#include "gait/footside.h"
#include "gait/loading.h"
#include "gait/mass_centre.h"
#include "gait/rolling.h"
#include "gait/scale.h"
#include "gait/step.h"
#include "gait/trace.h"
#include "sense/frame.h"

#define ENGINE_CONTACTS 32         /* remembered; a power of two */
#define ENGINE_SETTLE_STEPS 8      /* a step settles when this many more have begun */
#define ENGINE_WINDOW_STEPS 2      /* mass centre: this many steps before touchdown and after it (VALIDITY.md) */
#define ENGINE_MIN_RUN 3
#define ENGINE_MAX_FLIGHT_US 350000.0
#define ENGINE_RESUME_US 2000000.0 /* a break shorter than this is a missed foot, not a stop */
#define ENGINE_LOST_US 60000.0     /* a hole in the data longer than this breaks the run */
#define ENGINE_QUEUE 64
/* Steps that bear a force which was not all seen: no stride with one of them is balanced. */
#define ENGINE_FORCE_LOST ((uint32_t) (STEP_FLAG_SATURATED | STEP_FLAG_EDGE))

/* All optional figures are NAN when not known; then what needs them is missing or estimated, and flagged. */
struct engine_config {
    enum frame_kind kind;
    double rate_hz;        /* nominal; NAN = learnt from the frames' times */
    double body_mass_kg;   /* NAN = body weight from the momentum balance over whole strides */
    double body_weight_n;  /* known beforehand (a second pass over a file); goes before body_mass_kg */
    double belt_speed_m_s; /* entered */
    double foot_length_mm;
    double leg_length_mm;
    double threshold_n;    /* contact threshold; NAN = ENGINE_THRESHOLD_N, more on a noisy sensor */
};

#define ENGINE_THRESHOLD_N 50.0

enum engine_weight_source {
    ENGINE_WEIGHT_UNKNOWN = 0,
    ENGINE_WEIGHT_GIVEN,
    ENGINE_WEIGHT_MASS,
    ENGINE_WEIGHT_MOMENTUM,
};

struct engine_health {
    uint64_t n_frames;
    uint64_t n_rejected;     /* frames out of order or not finite */
    uint64_t n_gaps;         /* holes in the data */
    uint64_t n_taps;         /* touches too short to be a contact */
    uint64_t n_long;         /* contacts too long for running */
    uint64_t n_stray;        /* contacts that belong to no run */
    uint64_t n_bridged;      /* contacts with a bridged drop-out */
    uint64_t n_overflow;     /* records nobody took in time */
    double zero_n;           /* present zero of the unloaded sensor */
    double noise_n;          /* its spread in flight; NAN until seen */
};

/* One contact, from touchdown on. Times in us of the device clock. */
struct engine_contact {
    uint64_t serial;
    double touchdown_us, toe_off_us;      /* toe-off NAN until sure */
    double touchdown_gap_us, toe_off_gap_us; /* spacing of the samples around each edge */
    double next_touchdown_us;             /* NAN until known, or after a break */
    double flight_before_us, step_before_us; /* NAN when not linked */
    double on_n;
    struct trace_zero zero;
    uint64_t sure_first, sure_last;
    uint32_t flags;                       /* enum step_flag */
    int channel;                          /* detector; for switches 0 left, 1 right */
    int rank;                             /* for the side: steps since the side count began */
    bool is_linked;                       /* the contact before it is its neighbour */
    bool is_live, is_settled;
    double early_right_mm, mean_right_mm; /* COP across the belt */
    double landing_fwd_mm;                /* COP at touchdown, laboratory frame */
    double front_fwd_mm;                  /* how far forward the COP came, belt frame at touchdown */
    double load_fwd_mm;                   /* COP at the loading peak, laboratory frame */
    double com_fwd_mm;                    /* mean mass centre over the strides around touchdown */
    struct loading loading;
    struct mass_centre_sum sum;           /* touchdown to next touchdown */
    struct mass_centre_vertical vertical;
    struct footprint_result print;        /* mat only */
    double zone_lag_us;                   /* switches: forefoot after heel; NAN unknown */
    struct step step;
};

/* When each part of a foot first came down in the present contact; NAN = not yet. */
struct zone_watch {
    double heel_us, fore_us;
};

struct engine {
    struct engine_config config;
    struct engine_health health;
    struct trace trace[2];                /* [1] only for switches: the right foot */
    struct contact_detector detector[2];
    int n_channels;
    struct engine_contact contact[ENGINE_CONTACTS];
    uint64_t n_contacts;                  /* ever begun; contact n is contact[n % ENGINE_CONTACTS] */
    uint64_t run_first;                   /* first contact of the present run */
    uint64_t next_settle, next_live;      /* oldest contact of the run not settled, not given out yet */
    bool is_run_open;
    double last_live_us;                  /* touchdown of the last step given out; NAN before */
    double last_up_us[2];                 /* last toe-off, also of contacts that are no steps */
    double zero_n, noise_n;
    double zero_moment_fwd_n_mm, zero_moment_right_n_mm; /* of the unloaded cells */
    struct stats belt;                    /* mat: belt speed of the last contacts, m/s */
    double zero_checked_us;
    double period_us;                     /* nominal sample period */
    struct stats periods;                 /* for learning it */
    double last_us;
    struct scale scale;                   /* of an uncalibrated sensor */
    bool is_scale_new;                    /* just known: what was timed by a rougher threshold is to be timed again */
    struct host_time arrived;
    bool is_relative;                     /* the sensor is not calibrated */
    struct footside side;
    struct rolling rolling_live, rolling_settled;
    struct stats step_us;                 /* last step times, for missed feet */
    struct mass_centre_sum weight_sum;    /* whole strides so far */
    struct mass_centre_sum weight_half;   /* a step waiting for its other half */
    bool has_half;
    struct footprint print[2];            /* mat only: [print_now] fills, the other is the last contact's */
    int print_now;
    struct footprint_idle idle;           /* mat only: the present flight's */
    struct zone_watch zone[2];
    enum step_gait gait;
    double overlap_us;                    /* last time both feet's switches showed a walk; NAN = never */
    double standing_since_us;             /* both feet down, or one load that does not swing; NAN = not */
    uint32_t n_steps;
    struct step queue[ENGINE_QUEUE];
    uint32_t queue_head, queue_tail;
    double scratch[CONDITION_SCRATCH];
};

struct engine_config engine_config_default(enum frame_kind kind);

/* e is the caller's; about 1 MB. */
void engine_init(struct engine *e, const struct engine_config *c);

/* Borrows the frame for the call. */
void engine_feed(struct engine *e, const struct frame *f);

/* The next finished record; false when there is none. */
bool engine_take(struct engine *e, struct step *out);

/* End of data: closes the run and settles what is open. */
void engine_finish(struct engine *e);

/* What the runner is doing now. */
enum step_gait engine_gait(const struct engine *e);

void engine_set_belt_speed(struct engine *e, double m_s);

/* Belt speed in use, m/s: as entered; else the median of what the mat's last contacts showed; else NAN. */
double engine_belt_speed_m_s(const struct engine *e);

/* Body weight in use, N (or the sensor's own unit when uncalibrated); NAN when not known. */
double engine_body_weight_n(const struct engine *e, enum engine_weight_source *from);

/* Mean force over whole strides so far, N: body weight by the momentum balance; NAN before the first stride.
 * Its ratio to m g is the sensor's gain error. */
double engine_momentum_weight_n(const struct engine *e);

struct engine_health engine_health(const struct engine *e);

#endif
