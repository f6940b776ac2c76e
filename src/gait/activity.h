/* activity.h - what the runner is doing: off, standing, walking, running.
 *
 *      case 1   a run of contacts that is known to be running: running, until it ends       (sequence.h tells)
 *      case 2   nothing touches for a while: off
 *      case 3   one load that stays on: it swings as a walk does, or it stands
 *      case 4   switches: both feet down for long is standing; both down and then one up is half a walk's step
 * Delay: ACTIVITY_AFTER_US.  Memory: the struct.  Pure.
 */
#ifndef GAIT_ACTIVITY_H
#define GAIT_ACTIVITY_H

#include "gait/signal.h"
#include "gait/step.h"

/* How long it must be so before it is believed: longer than a slow walk's stride (1.2 s on the recorded walks: 98
 * steps/min), so that every window of it shows both feet. */
#define ACTIVITY_AFTER_US 1500000.0

struct activity {
    enum step_gait gait;
    double overlap_us;        /* switches: last time both feet showed a walk; NAN = never */
    double standing_since_us; /* switches: both feet down; NAN = not */
};

void activity_init(struct activity *a);

/* The board restarted: its times mean nothing any more. What the runner did goes on. */
void activity_reset(struct activity *a);

/* Case 1: a run is known; it ended. */
void activity_set_running(struct activity *a);
void activity_end_running(struct activity *a);

/* Switches: which feet are surely down, at the newest frame. */
void activity_feed_feet(struct activity *a, const struct signal *s);

/* Cases 2 to 4, after each frame. */
void activity_feed(struct activity *a, const struct signal *s, bool is_run_open);

#endif
