/* sequence.h - contacts to runs of contacts to step records.
 *
 * A run is a row of contacts with flights between them. Contact n's step is complete when contact n + 1 is
 * sure, or when nothing follows for SEQUENCE_MAX_FLIGHT_US.
 *
 *      case 1   C-C-C-C            a run: steps come out live from the third contact on
 *      case 2   C-C----------      fewer than SEQUENCE_MIN_RUN contacts out of nowhere: no steps, n_stray
 *      case 3   C-C-C---C-C        a foot missed the sensor: two runs, one side count (rank goes by time)
 *      case 4   C-C-C======        the last one stays down (standing): its touchdown ends the step before it
 *      case 5   C-C-C[hole]        a hole in the data: the run ends
 *      case 6   C-CC-C             no flight between two: they are parted, their edges estimated (parting.h)
 *
 * Each function takes the signal whose contact it is and the measure that its figures rest on, and says what became of
 * the run. Internal to gait/: engine.c calls it.
 * Memory: the struct.  Pure.
 */
#ifndef GAIT_SEQUENCE_H
#define GAIT_SEQUENCE_H

#include "gait/footside.h"
#include "gait/measure.h"
#include "gait/rolling.h"
#include "gait/signal.h"
#include "gait/step_queue.h"

/* A step settles when this many more have begun: after the strides on both sides of it, and after some more votes on
 * left and right (footside.h). common practice, no source */
#define SEQUENCE_SETTLE_STEPS 8
/* Out of nowhere so many contacts in a row are running: two may be a hop on and off. common practice, no source */
#define SEQUENCE_MIN_RUN 3
/* A flight longer than this is none: runners fly for 80 to 140 ms (facts E), so twice that and more.
 * common practice, no source */
#define SEQUENCE_MAX_FLIGHT_US 350000.0

struct sequence {
    struct footfall_row row;
    struct footside side;
    struct stats step_us;        /* last step times, for missed feet */
    struct rolling rolling_live, rolling_settled;
    double last_live_us;         /* touchdown of the last step given out; NAN before */
    uint32_t n_steps;
    struct step_queue queue;
    uint64_t n_long, n_stray, n_bridged; /* see struct engine_health */
};

/* What became of the run. */
enum sequence_change {
    SEQUENCE_AS_BEFORE = 0,
    SEQUENCE_RUN_KNOWN, /* it is surely running */
    SEQUENCE_RUN_ENDED,
};

void sequence_init(struct sequence *q);

/* The board restarted: after sequence_close(), no time of the past means anything. */
void sequence_reset(struct sequence *q);

/* The detector's events. */
enum sequence_change sequence_down(struct sequence *q, struct signal *s, struct measure *m, int channel,
                                   const struct contact_event *ev);
enum sequence_change sequence_up(struct sequence *q, struct signal *s, struct measure *m, int channel,
                                 const struct contact_event *ev);
/* The load sank and rose: two contacts where parting.h finds them. */
enum sequence_change sequence_dip(struct sequence *q, struct signal *s, struct measure *m, const struct contact_event *ev);
enum sequence_change sequence_too_long(struct sequence *q, struct signal *s, struct measure *m, int channel);

/* After each frame: ends the run when nothing followed its last contact. */
enum sequence_change sequence_feed_time(struct sequence *q, struct signal *s, struct measure *m);

/* Forgets the present run: what was taken for contacts was none. What was given out stays. */
void sequence_discard(struct sequence *q, struct weight *w);

/* Ends the present run, if any: gives out and settles what is complete. */
enum sequence_change sequence_close(struct sequence *q, struct signal *s, struct measure *m);

#endif
