/* sampling.h - the frames' times: in order, how far apart, and where some are missing.
 *
 * In:  the time and flags of every frame.   Out: what each time says (sampling_news), the sample period.
 * How: the period is as told, or the median of the last spacings that are no hole.
 *      case 1   spacing of a period       learnt from
 *      case 2   above SAMPLING_HOLE_SHARE periods, or the frame says that packets are missing: a gap, counted
 *      case 3   above SAMPLING_LOST_US (and some periods): the data are broken, what is open ends
 *      case 4   not after the one before: refused
 *      case 5   the board restarted: nothing before joins
 * Memory: the struct.  Pure.
 */
#ifndef GAIT_SAMPLING_H
#define GAIT_SAMPLING_H

#include "base/stats.h"
#include "sense/frame.h"

#include <stdint.h>

/* A spacing of more periods than this misses a sample: beyond one and a half, with room for jitter.
 * common practice, no source */
#define SAMPLING_HOLE_SHARE 1.6
/* A hole in the data longer than this breaks the run: shorter than any running contact (80 ms: contact.h), so that none is
 * lost inside it unseen. common practice, no source */
#define SAMPLING_LOST_US 60000.0

/* What a frame's time says, one bit each; several may hold. */
enum sampling_news {
    SAMPLING_AS_BEFORE = 0,
    SAMPLING_REFUSED = 1 << 0,    /* case 4 */
    SAMPLING_NEW_PERIOD = 1 << 1,
    SAMPLING_BROKEN = 1 << 2,     /* case 3 */
    SAMPLING_RESET = 1 << 3,      /* case 5 */
};

struct sampling {
    double rate_hz;         /* as told; NAN = learnt */
    double period_us;       /* nominal sample period */
    struct stats periods;   /* for learning it */
    double now_us;          /* of the newest frame; NAN before the first */
    struct host_time arrived;
    uint64_t n_frames;      /* taken, for sampling_count() */
    uint64_t n_gaps;
};

void sampling_init(struct sampling *s, double rate_hz);

/* Takes in a frame's time. Returns enum sampling_news bits; a refused frame changes nothing. */
unsigned sampling_feed(struct sampling *s, const struct frame *f);

/* The frame is used. */
void sampling_count(struct sampling *s, const struct frame *f);

#endif
