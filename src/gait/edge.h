/* edge.h - times touchdown and toe-off to a fraction of a sample.
 *
 * Near toe-off a treadmill's force falls slowly through the threshold while deck and belt vibrate at
 * 100-140 Hz, so it may cross several times within 10 ms; the first and the last crossing differ by more
 * than the answer may. Each edge is therefore a count of time above:
 *
 *      touchdown = last upward crossing  - all time above in the islands joined to it
 *      toe-off   = first downward crossing + all time above in the islands joined to it
 *
 * An island joins when the gap below the threshold is at most join_us. With one crossing this is the plain
 * linearly interpolated crossing. Against first crossing, last crossing and zero-lag low-passed crossings
 * (30, 50, 80 Hz) it has the smallest worst difference on recorded runs (see tests/VALIDITY.md).
 */
#ifndef GAIT_EDGE_H
#define GAIT_EDGE_H

#include "gait/trace.h"

/* Islands up to this far apart are one edge: more than a period of belt vibration of 100 to 140 Hz, less than any flight.
 * Chosen on the recorded runs (tests/VALIDITY.md). */
#define EDGE_JOIN_US 10000.0

struct edge {
    double time_us;     /* NAN when the trace does not reach back or on to the crossing */
    double spacing_us;  /* between the two samples around the crossing: large after lost packets */
};

/* sure_index: a sample surely in the contact (at or above on_n). on_n: threshold above the zero. */
struct edge edge_touchdown(const struct trace *t, const struct trace_zero *z, uint64_t sure_index, double on_n);
struct edge edge_toe_off(const struct trace *t, const struct trace_zero *z, uint64_t sure_index, double on_n);

/* The crossing nearest to sure_index, nothing joined, towards touchdown (step -1) or toe-off (+1): where the other foot is
 * known to have come, or gone, sooner than islands may lie apart. */
struct edge edge_nearest(const struct trace *t, const struct trace_zero *z, uint64_t sure_index, double on_n, int step);

#endif
