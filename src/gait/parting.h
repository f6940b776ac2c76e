/* parting.h - two contacts in a load that never fell to nothing: one foot came down before the other had left.
 *
 * In:  the trace, and the moment of the lowest load between them.   Out: toe-off of the one, touchdown of the other.
 * How: on a belt every new foot lands far ahead of where the other leaves. In the laboratory's frame the COP creeps
 *      backwards under each foot (a line), and jumps forward from line to line as the load goes over. Between the lines the
 *      COP divides the load by the lever: new foot = load x (cop - old line) / (new line - old line). Each foot's edge
 *      is where its own share crosses the threshold.
 *      case 1   \_/ and the COP jumps forward by PARTING_JUMP_MM: two contacts          (test: a_jump_parts)
 *      case 2   \_/ and it creeps on: the valley of a walk's single support, one contact (test: a_valley_does_not)
 *      case 3   \_/ without a COP: two contacts where the dip is deeper than any walk's  (test: a_deep_dip_parts)
 *               PARTING_DEEP_SHARE of the peak; each flank put forward in a straight line from half its height
 * Edges are estimates in every case: nothing crossed the threshold. Some ms with a COP, some 10 ms without.
 * Delay: needs the trace up to PARTING_AFTER_US after the lowest load.
 * Pure.
 */
#ifndef GAIT_PARTING_H
#define GAIT_PARTING_H

#include "gait/trace.h"

#define PARTING_AFTER_US 100000.0
#define PARTING_JUMP_MM 100.0   /* a step of a slow runner is 600 mm long, a foot's own roll some 200 the other way: ours */
#define PARTING_DEEP_SHARE 0.25 /* a walk at 2 m/s sinks to about 0.3 of its peak: common practice, no source */

struct parting {
    bool is_found;
    double toe_off_us, touchdown_us; /* valid when is_found; touchdown may lie before toe-off */
};

/* low_us: when the load was lowest. peak_n: highest load of the contact before it. */
struct parting parting_find(const struct trace *t, const struct trace_zero *z, double low_us, double peak_n, double on_n);

#endif
