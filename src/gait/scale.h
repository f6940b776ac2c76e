/* scale.h - how large a body's load is on a sensor whose newtons are not known.
 *
 * An uncalibrated sensor shows forces in a unit of its own, so a threshold in newtons means nothing. It is taken as a
 * share of what running contacts reach: SCALE_SHARE of the median peak of the last contacts, which stands for 50 N of
 * a peak of 2.4 body weights. Until SCALE_MIN_PEAKS contacts are known:
 *
 *      case 1   nothing has been seen for SCALE_LOOK_US: no threshold, nothing is detected yet
 *      case 2   nobody on: the threshold stays above the noise (6 standard deviations)
 *      case 3   the load grows past all that was there before (a first foot after the belt's seam): scale_feed() says
 *               so, and what was taken for contacts so far is to be seen again with the new threshold
 *      case 4   the last peak that was missing: scale_peak() says so; see again, so that the first contacts are timed alike
 *      case 5   known, but a load four times as high comes: what was known was no body; start afresh
 *
 * Noise: from differences over SCALE_LAG_US, whose lower fifth lies in flights or in an empty belt's rest, so that it
 * can be told while somebody runs.
 * Memory: the struct.  Pure.
 */
#ifndef GAIT_SCALE_H
#define GAIT_SCALE_H

#include "base/stats.h"
#include "gait/trace.h"

#define SCALE_SHARE 0.03          /* computed: 50 N of 2.4 body weights of 70 kg */
#define SCALE_MIN_PEAKS 2         /* one a foot */
#define SCALE_LOOK_US 250000.0    /* how often the noise is looked at. common practice, no source */
#define SCALE_WINDOW_US 1000000.0 /* some flights of the slowest runner. common practice, no source */
#define SCALE_LAG_US 4000.0       /* half a period of belt vibration (contact.c): differences show it whole */
#define SCALE_NOISE_FACTOR 6.0    /* a false crossing in hours, were the noise normal */
#define SCALE_GROWTH 1.25         /* less is the spread of one runner's peaks. common practice, no source */
#define SCALE_WRONG 4.0           /* no runner's peak is four times another of theirs. common practice, no source */

struct scale {
    struct stats peaks;  /* of the last complete contacts */
    double greatest_n;   /* while no peaks are known */
    double seen_n;       /* greatest when the samples were last looked at */
    double noise_n;      /* standard deviation; NAN until looked at */
    double looked_us;    /* NAN before the first sample */
    bool is_new;         /* just known: what was timed by a rougher threshold is to be timed again; the caller clears it */
};

enum scale_change {
    SCALE_AS_BEFORE = 0,
    SCALE_SEE_AGAIN, /* cases 1 (its end) and 3 */
    SCALE_WAS_WRONG, /* case 5 */
};

void scale_init(struct scale *s);

/* Feeds a load above the sensor's zero; the trace already holds it. scratch: CONDITION_SCRATCH doubles. */
enum scale_change scale_feed(struct scale *s, const struct trace *t, double now_us, double period_us, double load_n,
                             double *scratch);

/* The active peak of a complete contact. True, and is_new set, when with it the scale is known. */
bool scale_peak(struct scale *s, double peak_n);

/* Threshold above the zero; NAN while nothing can be told (case 1). */
double scale_threshold_n(const struct scale *s);

#endif
