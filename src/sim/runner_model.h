/* runner_model.h - a running body on a belt: seeded, physical, with the truth of every step.
 *
 * In:  a style (mass, cadence, strike place ...), a script (run, walk, stand, step off ...), targets.
 * Out: at any instant the force, its place and the sole of each foot; for each step what is true of it.
 *
 * Up and down. Each contact's force is the two-mass law of force_law.h. Contact and flight times are what the
 * runner means them to be; the bell's height is solved so that the body, in free fall after toe-off, meets
 * the next step with the vertical speed of an even bounce, and small errors of its height die out. So over
 * any number of steps the impulse is m g times the time, plus m times the change of vertical velocity,
 * exactly; in even running every step's impulse is m g times the step time.
 *
 * Fore and aft. The foot rides on the belt. The force points from the centre of pressure to the mass
 * centre (no net angular momentum is made), so the mass centre moves by
 *
 *     x'' = F (x - cop) / (m h),      h = height of the mass centre,
 *
 * with cop = landing place - belt travel + roll of the pressure along the foot. For each step the place of
 * landing ahead of the mass centre at which x and x' come out periodic is solved; it follows from speed,
 * contact time and roll alone: that is why a runner who wants to land nearer must shorten the contact, and
 * why style.ahead_mm, where given, sets the contact time. To this the runner adds what brings the body
 * back to its place and speed, and a random error. As impulse and angular momentum balance over strides,
 * the force-weighted mean of the cop is the force-weighted mean of the mass centre's place.
 *
 * first_ahead_mm = cop at touchdown minus mass centre at touchdown, both where the force leaves zero.
 * landing_ahead_mm, and every other distance of landing here, is as the program defines it (gait/landing.h), written a
 * second time: mid-foot, from the whole contact's pressure. So are strike_travel_mm and zone (gait/strike.h).
 *
 * Feedback. While shown, the runner closes `gain` of the way to the target with time constant tau_s; while
 * withheld, goes back to keep_share of that with forget_tau_s. The limb's speed at landing goes
 * with the third power of the reach, so that landing nearer also lands softer.
 *
 * Time only goes forward, but any instant of the last RUNNER_N_CONTACTS contacts may be asked for again.
 * Memory: the struct.  Threads: one at a time.  Errors: none; asserts on impossible style.
 */
#ifndef SIM_RUNNER_MODEL_H
#define SIM_RUNNER_MODEL_H

#include "gait/step.h"
#include "sim/force_law.h"
#include "sim/random.h"
#include "sim/sole.h"

#define RUNNER_N_NODES    200 /* parts that a contact's motion is integrated in */
#define RUNNER_N_CONTACTS 4   /* newest kept */
#define RUNNER_N_TRUTHS   8
#define RUNNER_LOAD_SHARE 0.32 /* of the foot's length: the load's centre ahead of mid-foot */
#define RUNNER_FIRST_S 0.025
#define RUNNER_MIDDLE_FROM_S 0.060
#define RUNNER_MIDDLE_TO_S 0.120
#define RUNNER_REAR_MM (-76.0)
#define RUNNER_FORE_MM (-31.0)

/* Signed share of the mean by which right is more than left: +0.1 = right 5 % more, left 5 % less. */
struct runner_asymmetry {
    double step_time, contact, limb_speed;
    double strike_share; /* right minus left, share of foot length */
    double toe_out_deg;  /* right minus left */
};

/* Standard deviations from step to step. */
struct runner_spread {
    double step_time, contact, limb_speed; /* share */
    double strike_share;                   /* of foot length */
    double ahead_mm, width_mm, toe_out_deg;
};

/* Change in a minute of running. */
struct runner_fatigue {
    double cadence, contact, limb_speed; /* share */
    double strike_share;
};

struct runner_response {
    double gain;       /* share of the way to the target that is closed in the end */
    double tau_s;      /* while feedback is shown */
    double keep_share; /* of what was gained, when feedback is withheld for long */
    double forget_tau_s;
};

struct runner_style {
    double mass_kg, speed_m_s, cadence_spm;
    double contact_ms;  /* NAN: from duty_factor */
    double duty_factor; /* contact / stride time; used when contact_ms is NAN */
    double ahead_mm;    /* landing ahead; NAN: follows from the contact; else the contact follows from it */
    double strike_index_pct;
    double limb_speed_m_s;                 /* vertical speed of the lower limb at landing */
    double limb_stop_ms;                   /* NAN: 22 ms on the heel, rising to 50 ms on the forefoot */
    double bell_peak_place, bell_fullness; /* see force_law.h */
    double foot_length_mm, foot_width_mm, leg_length_mm;
    double width_mm; /* lateral distance of the feet; negative crosses over */
    double toe_out_deg;
    double place_fwd_mm, place_right_mm; /* where on the belt the mass centre is kept */
    double wander_mm;                    /* slow sideways wandering of the whole body, standard deviation */
    struct runner_asymmetry asymmetry;
    struct runner_spread spread;
    struct runner_fatigue fatigue;
    struct runner_response response;
};

enum runner_activity {
    RUNNER_RUNS = 0,
    RUNNER_WALKS,
    RUNNER_STANDS,
    RUNNER_IS_OFF,   /* on the side rails, or not there: no load on the sensor */
    RUNNER_STUMBLES, /* runs on after one short, near, hard double step */
};

struct runner_segment {
    enum runner_activity activity;
    double seconds;
    double speed_from_m_s, speed_to_m_s; /* of the belt, linear in between; NAN = the style's */
    double shift_right_mm;               /* moves the feet sideways: over the mat's edge, say */
};

struct runner_config {
    struct runner_style style;
    uint64_t seed;
    double truth_threshold_n;            /* for the truth's threshold crossings */
    const struct runner_segment *script; /* must outlive the runner; NULL: runs for ever */
    int n_segments;
};

struct runner_contact {
    struct force_law law;
    enum step_gait gait;
    double start_s;          /* force leaves 0 */
    double belt_start_mm;    /* belt travel then */
    struct sole_place place; /* at start_s; later moved back by the belt */
    double strike_share;
    double com_fwd_mm[RUNNER_N_NODES + 1];  /* mass centre, lab frame, over the contact */
    double com_up_mm[RUNNER_N_NODES + 1];   /* over that of an even touchdown */
    double com_fwd_end_m_s, com_up_end_m_s; /* at toe-off */
};

/* What is true of one step. Times in seconds on the runner's clock; NAN where there is none. */
struct runner_truth {
    uint32_t number; /* 1, 2, 3 ... walking steps too */
    enum step_foot foot;
    enum step_gait gait;
    double touchdown_s, toe_off_s;        /* force leaves 0, returns to 0 */
    double threshold_n, down_s, up_s;     /* crossings of that threshold */
    double next_touchdown_s, next_down_s; /* of the other foot; NAN for the last before a stop */
    double contact_ms, flight_ms, step_time_s, cadence_spm, duty_factor; /* by the threshold's crossings */
    double contact_zero_ms;                                              /* by the force's start and end */
    double peak_force_bw;
    bool has_transient;
    double transient_bw, transient_ms, transient_dip_bw; /* height, time after down_s, depth after it */
    double transient_lead_ms;                            /* loading peak before the lowest point */
    double load_rate_bw_s, load_rate_max_bw_s;
    double com_drop_mm;           /* touchdown, where the force leaves 0, to the lowest point */
    double com_drop_from_down_mm; /* the same from the crossing of threshold_n */
    double com_travel_mm;         /* highest point of the flight before to lowest point */
    double com_low_ms;            /* lowest point, after down_s */
    double impulse_bw_s;          /* of the contact, over body weight */
    double strike_index_pct;
    enum step_zone zone;
    double strike_travel_mm; /* NAN: the contact is too short for one */
    double landing_ahead_mm, first_ahead_mm, ahead_at_load_mm;
    double braking_impulse_bw_s, peak_braking_bw, braking_end_pct; /* of fore_aft_n from down_s to up_s, unfiltered; share of it */
    bool whole_foot_at_load; /* at least 80 % of the length on the ground at the loading peak */
    double cop_fwd_mm;       /* at touchdown */
    double cop_right_mm;     /* force-weighted mean over the contact */
    double step_width_mm;    /* to the foot before, positive = not crossed; NAN for the first */
    double toe_out_deg, belt_speed_m_s;
};

struct runner_foot_now {
    bool is_down;
    bool is_right;
    double force_n, cop_fwd_mm, cop_right_mm;
    double phase; /* 0..1 of the contact */
    double strike_share;
    struct sole_place place;
};

struct runner_now {
    double t_s;
    int n_feet; /* 0..2 on the ground */
    struct runner_foot_now foot[2];
    double force_n;                  /* sum; 0 in flight */
    double cop_fwd_mm, cop_right_mm; /* NAN without force */
    double fore_aft_n;               /* on the runner, forward positive: negative brakes */
    double com_fwd_mm, com_up_mm;
    double belt_speed_m_s, belt_travel_mm;
};

/* Vertical state of the mass centre at a touchdown; heights over that of an even runner's touchdown. */
struct runner_bounce {
    double up_m, up_m_s;
    double end_m_s, top_m; /* of the step before: speed at toe-off, highest point of the flight */
};

struct runner {
    struct runner_config config;
    struct random random;
    double base_contact_s; /* of the style, before everything that varies */
    double base_ahead_mm;
    /* what the display tells */
    double target_cadence_spm, target_ahead_mm; /* NAN = none */
    bool is_feedback_shown;
    double level, level_best; /* 0 own way .. 1 as near to the target as it gets; the best so far */
    /* state at the next touchdown */
    double next_start_s, com_fwd_m, com_fwd_m_s, wander_mm;
    struct runner_bounce bounce;
    double run_s;                 /* time spent running: fatigue */
    bool next_is_right, is_fresh; /* fresh: no step before it that it follows from */
    int stumble_left;
    int stumbled_segment;
    struct runner_contact contact[RUNNER_N_CONTACTS];
    int n_contacts; /* ever; the newest is [(n - 1) % RUNNER_N_CONTACTS] */
    struct runner_truth truth[RUNNER_N_TRUTHS];
    int n_truths, n_taken;                 /* ever */
    bool has_open_truth;                   /* the newest truth waits for its next touchdown */
    double last_cop_right_mm, last_top_mm; /* of the step before; NAN when there is none */
};

struct runner_style runner_style_default(void);   /* 70 kg, 3.0 m/s, 165 steps/min, on the heel */
struct runner_config runner_config_default(void); /* that style, seed 1, 20 N, runs for ever */

/* c is copied. Precondition: mass, speed and cadence > 0, duty factor 0.2..0.48, gain 0..1. */
void runner_init(struct runner *r, const struct runner_config *c);

/* Everything at one instant. */
void runner_now(struct runner *r, double t_s, struct runner_now *out);

/* The next finished step's truth; false when there is none. A step is finished when the next touchdown has
 * been passed by runner_now(), or the runner stopped. */
bool runner_take(struct runner *r, struct runner_truth *out);

/* What the display asks for: NAN = no target. Takes effect from the next step. */
void runner_set_target(struct runner *r, double cadence_spm, double ahead_mm);
void runner_set_feedback(struct runner *r, bool is_shown);

/* Belt speed and travel since 0 s; pure. */
double runner_belt_speed_m_s(const struct runner *r, double t_s);
double runner_belt_travel_mm(const struct runner *r, double t_s);

/* Length of the script in seconds; INFINITY without one. */
double runner_script_s(const struct runner_config *c);

#endif
