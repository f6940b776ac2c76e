/* landing.h - where the foot lands: its mid-foot ahead of the body's centre of mass at touchdown.
 *
 * In:  the trace under one contact, belt speed, centre of mass.   Out: mm, forward positive.
 * How: the foot rides with the belt, so every sample of the contact's COP, moved forward by belt speed x time since
 *      touchdown, says where on a foot that stands still the load was. Their force-weighted mean is the load's place.
 *      It stands LANDING_LOAD_SHARE of the foot's length ahead of mid-foot (the middle between heel and metatarsal
 *      markers: 0.323 and 0.320 of foot length in two groups of 15 and 11 runners at 2.5-4.5 m/s, facts V; 0.325 again
 *      in tests/VALIDITY.md), so
 *              landing ahead = load's place - centre of mass - LANDING_LOAD_SHARE x foot length
 *      which is what studies with body markers mean. The COP of the first milliseconds is not it: between runners that is
 *      mostly where on the foot they land (r 0.61 with the markers; this one 0.97).
 *      The centre of mass is that of one whole stride around the contact: half of the contact before, the contact, half
 *      of the one after. Until the one after is over, the last two contacts make the stride (6 mm sd off the former).
 * From times alone (footswitches): LANDING_TIMES_SHARE x speed x contact / 2 - LANDING_TIMES_OFF_MM, fitted to markers
 *      on 45 runs of 15 runners; on 33 runs of 11 others 11 mm sd between runs, 9.7 mm from step to step, r 0.6 within a
 *      run (facts V). Half the contact's way as it stands is 120 mm too far.
 * Pure.
 */
#ifndef GAIT_LANDING_H
#define GAIT_LANDING_H

#include "gait/trace.h"

#define LANDING_LOAD_SHARE 0.32
/* Where no foot length is set: 86 mm, sd 8 between feet (facts V), instead of some 3. */
#define LANDING_LOAD_MM 85.0
#define LANDING_TIMES_SHARE 0.807
#define LANDING_TIMES_OFF_MM 48.0

/* Force-weighted COP of [from, to) after touchdown, each sample carried back to touchdown, laboratory frame, mm. NAN
 * without a speed, or with fewer than LANDING_MIN_SAMPLES samples whose COP is known. */
#define LANDING_MIN_SAMPLES 3
double landing_place_fwd_mm(const struct trace *t, const struct trace_zero *z, double touchdown_us, double from_us,
                            double to_us, double speed_m_s);

/* Mid-foot ahead of the centre of mass. foot_mm NAN: of a usual foot. */
double landing_ahead_mm(double place_fwd_mm, double com_fwd_mm, double foot_mm);

/* The same from times alone; NAN without a speed. */
double landing_ahead_from_times_mm(double speed_m_s, double contact_us);

#endif
