/* footfall.h - the contacts that are remembered, what was read of each, and the present run of them.
 *
 * A run is a row of contacts with flights between them (sequence.h). Contact n is footfall n % FOOTFALL_CAP.
 *
 *      run_first <= next_settle <= next_live <= n_begun
 *
 * Memory: the struct.  Pure: it keeps, others decide.
 */
#ifndef GAIT_FOOTFALL_H
#define GAIT_FOOTFALL_H

#include "gait/braking.h"
#include "gait/footprint.h"
#include "gait/loading.h"
#include "gait/mass_centre.h"
#include "gait/step.h"
#include "gait/trace.h"

/* Remembered; a power of two. Three times what settling looks back on (SEQUENCE_SETTLE_STEPS and its strides). */
#define FOOTFALL_CAP 32

/* Steps that bear a force which was not all seen: no stride with one of them is balanced. */
#define FOOTFALL_FORCE_LOST ((uint32_t) (STEP_FLAG_SATURATED | STEP_FLAG_EDGE))

/* One contact, from touchdown on. Times in us of the device clock. */
struct footfall {
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
    bool is_down_parted, is_off_parted;   /* this edge has no crossing: the other foot was down (parting.h) */
    bool is_off_close;                    /* the next foot came sooner than islands of an edge may lie apart */
    double early_right_mm, mean_right_mm; /* COP across the belt */
    double landing_fwd_mm;                /* COP at touchdown, laboratory frame */
    double whole_fwd_mm, middle_fwd_mm;   /* force-weighted COP of the contact, of its 60-120 ms, carried back */
    double front_fwd_mm;                  /* how far forward the COP came, belt frame at touchdown */
    double load_fwd_mm;                   /* COP at the loading peak, laboratory frame */
    double com_fwd_mm;                    /* mean mass centre over the strides around touchdown */
    struct loading loading;
    struct braking_curve braking;
    struct mass_centre_sum sum;           /* touchdown to next touchdown */
    struct mass_centre_vertical vertical;
    struct footprint_result print;        /* mat only */
    double zone_lag_us;                   /* switches: forefoot after heel; NAN unknown */
    struct step step;
};

struct footfall_row {
    struct footfall item[FOOTFALL_CAP];
    uint64_t n_begun;                 /* ever */
    uint64_t run_first;               /* first contact of the present run */
    uint64_t next_settle, next_live;  /* oldest contact of the run not settled, not given out yet */
    bool is_run_open;
};

/* Starts contact n_begun with nothing known of it but its serial. */
struct footfall *footfall_begin(struct footfall_row *r);

/* Contact n. Precondition: one of the newest FOOTFALL_CAP, or the next one's place. */
struct footfall *footfall_at(struct footfall_row *r, uint64_t n);
const struct footfall *footfall_see(const struct footfall_row *r, uint64_t n);

/* NULL when there is none. */
struct footfall *footfall_newest(struct footfall_row *r);

/* The board restarted: counting begins again. */
void footfall_reset(struct footfall_row *r);

#endif
