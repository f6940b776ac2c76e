/* signal.h - the load as it comes in: the last seconds of it, its zero, its threshold, and what the detectors see.
 *
 * In:  frames in device-time order.   Out: per channel a trace, a contact detector, and one contact event a sample.
 * One channel for a sensor of force; two for switches, left and right foot.
 * What the events mean for runs and steps is sequence.h's; when past seconds are to be seen again, engine.h's.
 * Memory: the struct, 1 MB of it the traces.  Pure.
 */
#ifndef GAIT_SIGNAL_H
#define GAIT_SIGNAL_H

#include "gait/condition.h"
#include "gait/contact.h"
#include "gait/engine_config.h"
#include "gait/sampling.h"
#include "gait/scale.h"
#include "gait/trace.h"
#include "gait/zero.h"

/* A zero found by its floor, or a scale just known: this much of the past is seen again. The floor's window, and one
 * look more, so that the contact under way at the window's start is seen from before it. */
#define SIGNAL_AGAIN_US 2500000.0

/* When each part of a foot first came down in the present contact; NAN = not yet. */
struct signal_zones {
    double heel_us, fore_us;
};

struct signal_channel {
    struct trace trace;
    struct contact_detector detector;
    double last_up_us;         /* last toe-off, also of contacts that are no steps; NAN before the first */
    struct signal_zones zones; /* switches */
};

struct signal {
    enum frame_kind kind;
    int n_channels;
    double threshold_n;               /* as told; NAN = by the noise */
    struct signal_channel channel[2]; /* [1] only for switches: the right foot */
    struct sampling sampling;
    struct zero zero;
    double zero_checked_us;
    struct scale scale;               /* of an uncalibrated sensor */
    bool is_relative;                 /* the sensor is not calibrated, by the newest frame */
    double scratch[CONDITION_SCRATCH];
};

void signal_init(struct signal *s, const struct engine_config *c);

/* Of the present threshold, above the zero; NAN while nothing can be told of an uncalibrated sensor. */
double signal_threshold_n(const struct signal *s);

/* (Re)sets what depends on rate and threshold; contacts under way go on. */
void signal_configure(struct signal *s);

/* The data broke at the present time: no contact joins over it, and a flight that shows the zero starts after it. */
void signal_break(struct signal *s);

/* The board restarted: after signal_break(), nothing of the past is left. */
void signal_reset(struct signal *s);

/* A frame of force as a sample: the COP by the moments less their zero, where the sensor has moments. */
struct trace_sample signal_sample(const struct signal *s, const struct frame *f);

/* The threshold as it is now, for contacts that begin; on an uncalibrated sensor for one under way too. */
void signal_follow_threshold(struct signal *s, double on_n);

/* Shows the detector a sample that lies in the trace. */
struct contact_event signal_detect(struct signal *s, int channel, uint64_t index);

/* One foot's switches in a frame. before_us: time of the frame before it, NAN for none. */
struct contact_event signal_feed_foot(struct signal *s, int channel, const struct frame *f, double before_us);

/* The zero where no flight shows it, looked for now and then. True when an offset was found: then the past
 * SIGNAL_AGAIN_US are to be seen again. */
bool signal_check_zero(struct signal *s, bool is_run_open);

/* Forgets what the detector saw since from_us. Returns the index of the first sample to be seen again. */
uint64_t signal_rewind(struct signal *s, double from_us);

/* Whether any load is down, sure or not. */
bool signal_is_touched(const struct signal *s);

#endif
