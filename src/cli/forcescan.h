/* forcescan.h - looks through a force trace once before it is measured: is it what it says it is?
 *
 * In:  a force trace (forcefile.h).   Out: its rate by column t, its extent, and whether its force was clipped.
 * Clipped: the greatest force of all stands in at least CLIP_MIN_SAMPLES samples in a row, in at least
 *      CLIP_MIN_CONTACTS contacts: no runner peaks at the same force to the last digit, a full amplifier does.
 * Untared: a runner flies, so the force stands at its lowest for a good share of the time, wherever that is; in a
 *      walk it only dips there. In 60 recorded runs 23 to 53 % of the samples lie in the lowest tenth of the
 *      range, in two recorded walks 7 %, in a simulated one 17 %.
 * Memory: the struct.  Errors: why names file and line.
 */
#ifndef CLI_FORCESCAN_H
#define CLI_FORCESCAN_H

#include "base/err.h"
#include "base/message.h"

#include <stdbool.h>

#define FORCESCAN_CLIP_MIN_SAMPLES 3
#define FORCESCAN_CLIP_MIN_CONTACTS 3
/* A given rate may differ from column t by its rounding, not by more. */
#define FORCESCAN_RATE_TOLERANCE 0.02
/* Ten times the weight of 250 kg is more than any runner's force: what is above is no newtons. */
#define FORCESCAN_MAX_N 25000.0
#define FORCESCAN_FLIGHT_SHARE 0.2
/* A run's range is more than this share of its mean on any offset below three body weights; somebody who stands on
 * the sensor, whose force lies at its lowest for long, too, moves it by far less. */
#define FORCESCAN_RUN_SWING 0.4
/* Over a run the COP travels hundreds of mm; less than this is metres. */
#define FORCESCAN_MIN_COP_SPAN_MM 5.0

struct forcescan {
    long n_rows;
    double rate_by_t_hz;    /* NAN without a column t */
    double greatest_n;      /* NAN without rows */
    double clip_n;          /* the force where it is cut off; NAN = it is not */
    double cop_span_fwd_mm; /* while loaded; NAN without a COP */
    double floor_n;         /* the force at its lowest: 1st percentile; NAN without rows */
    bool has_flights;       /* it stands there as a runner's does, between swings as large as a runner's */
    struct message why;
};

/* rate_hz: as given, or NAN. ERR_OS, ERR_FORMAT: can't be read. ERR_USAGE: rate_hz contradicts column t.
 * ERR_FORMAT too when the force can't be in newtons or the COP in millimetres. */
enum err forcescan_run(struct forcescan *s, const char *path, double rate_hz);

#endif
