/* engine.h - the gait engine: frames in, step records out. One object, streaming, no allocation, no I/O.
 *
 *   frame -> signal: last seconds of force and COP, zero    signal.h, trace.h, sampling.h, zero.h, scale.h, condition.h
 *         -> contact detector: touchdown sure, toe-off sure contact.h, edge.h
 *         -> run of contacts, side of each                  sequence.h, footfall.h, footside.h
 *         -> step record, live then settled                 measure.h, mass_centre.h, loading.h, weight.h, rolling.h
 *         -> queue                                          step_queue.h
 * No file calls one above it in this list; what a run becomes goes upwards as a value (enum sequence_change).
 *
 * Feed frames in device-time order; after each feed, take steps until none is left. A step comes out live
 * when the next touchdown is sure (contact_config.min_contact_us after it), or, for the last before a
 * stop, SEQUENCE_MAX_FLIGHT_US after toe-off; and once more, settled, SEQUENCE_SETTLE_STEPS steps later or when the
 * run ends.
 * No step is made of: a contact that was there when the data began, a contact longer than a running contact
 * (standing, walking: double support never unloads the sensor), a tap, or fewer than SEQUENCE_MIN_RUN contacts in
 * a row when nobody was running just before.
 * Threads: one at a time per engine. Errors: none; impossible input is counted in engine_health().
 */
#ifndef GAIT_ENGINE_H
#define GAIT_ENGINE_H

#include "gait/activity.h"
#include "gait/engine_config.h"
#include "gait/measure.h"
#include "gait/sequence.h"
#include "gait/signal.h"
#include "gait/step.h"
#include "sense/frame.h"

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

/* Each part has one owner of what it keeps; its functions take no more of the rest than they need. */
struct engine {
    struct signal signal;     /* the load, its zero and threshold, the detectors */
    struct sequence sequence; /* contacts, runs, records waiting to be taken */
    struct measure measure;   /* what figures rest on: entered values, body weight, belt, prints */
    struct activity activity; /* what the runner is doing */
    uint64_t n_rejected, n_taps;
};

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

/* Whether the sensor is not calibrated, by its newest frame. */
bool engine_is_relative(const struct engine *e);

/* Whether something surely stands on the sensor; for switches on the left foot's. */
bool engine_is_loaded(const struct engine *e);

/* Sample period in use, us: as told, else learnt. */
double engine_period_us(const struct engine *e);

void engine_set_belt_speed(struct engine *e, double m_s);

/* Body weight in use, N (or the sensor's own unit when uncalibrated); NAN when not known. */
double engine_body_weight_n(const struct engine *e, enum engine_weight_source *from);

/* Mean force over whole strides so far, N: body weight by the momentum balance; NAN before the first stride.
 * Its ratio to m g is the sensor's gain error. */
double engine_momentum_weight_n(const struct engine *e);

struct engine_health engine_health(const struct engine *e);

#endif
