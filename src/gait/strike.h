/* strike.h - where on the foot the load came first: the COP's travel along the foot, the zone, and the strike index.
 *
 * Travel: COP of the first STRIKE_LANDING_US minus COP of 60-120 ms after touchdown, both force-weighted and carried back
 *      to touchdown by the belt. A heel landing starts far behind (-110 mm), a forefoot landing at the same place or
 *      ahead. Needs neither the foot's length nor the centre of mass; follows the strike angle of markers with r -0.93
 *      (facts V; tests/VALIDITY.md). COP at the threshold itself is noise divided by next to nothing; hence 25 ms.
 * Zones: rear below STRIKE_REAR_MM, fore above STRIKE_FORE_MM, mid between; within STRIKE_BORDER_MM of either line a step
 *      is STEP_ZONE_BORDER and counted apart (half a belt speed's error of 2 %). Calibrated on strike angles by markers,
 *      rear above 8, fore below -1.6 degrees (Altman & Davis 2012, facts A), on 33 runs of 11 runners at
 *      2.5-4.5 m/s, shod feet of 254-284 mm:
 *      rear: the middle between the classes' edges (95th percentile of rear, 5th of mid) is -78 mm there and -72 mm
 *            on other runners (facts V): -76;
 *      fore: the lowest line that calls no more than half of the decided midfoot steps fore, also with the belt speed read
 *            1 % low: -31 mm. Fore and mid overlap by some 30 mm, and most fore steps are one runner's: where the line
 *            falls with each runner left out is in tests/VALIDITY.md.
 * Strike index: centre of pressure at initial contact along the foot's long axis, heel 0, toe 100 %
 *      (Cavanagh & Lafortune 1980; facts A). In thirds it called 5 % of forefoot landings fore (facts V), so it makes no
 *      zones.
 * Front method (cells, plates: no image): the COP leaves a running foot not at the toe tip but under the ball
 *      and big toe. Its foremost place in the belt's frame, the 95th percentile while the load is high, lies
 *      22 % of the foot's length behind the toe (measured on 27 recorded runs against foot markers, sd 9 mm
 *      between feet: tests/VALIDITY.md), so
 *              strike index = 100 (0.78 - (front - landing) / foot length)
 *      It needs the belt's speed and the foot's length, and is an estimate.
 */
#ifndef GAIT_STRIKE_H
#define GAIT_STRIKE_H

#include "gait/step.h"
#include "gait/trace.h"

#define STRIKE_LANDING_US 25000.0
#define STRIKE_FRONT_AT 0.78
/* An index may fall this far outside the foot by noise; further out it is no index. */
#define STRIKE_BEYOND_PCT 25.0
#define STRIKE_FRONT_SHARE 0.17 /* of the active peak: about 0.4 body weight */
/* Switches: heel first by more than this is rear, forefoot first by more than the other is fore, mid between. The lines of
 * the travel, told by order and lag: the middle between the classes' edges on 45 simulated runners (rear 12 ms and later,
 * mid 2 to 12, fore -4 and earlier); no recording has switches and markers. */
#define STRIKE_REAR_LAG_US 10000.0
#define STRIKE_FORE_LAG_US (-1000.0)

#define STRIKE_MIDDLE_FROM_US 60000.0
#define STRIKE_MIDDLE_TO_US 120000.0
#define STRIKE_REAR_MM (-76.0)
#define STRIKE_FORE_MM (-31.0)
#define STRIKE_BORDER_MM 4.0

/* NAN: unknown. */
enum step_zone strike_zone_from_travel(double travel_mm);

/* lag: forefoot down after heel; negative = forefoot first; NAN unknown. */
enum step_zone strike_zone_from_lag(double lag_us);

double strike_index_pct(double landing_fwd_mm, double heel_fwd_mm, double length_mm);

/* from_front_mm: front - landing. NAN without a foot length. */
double strike_index_from_front_pct(double from_front_mm, double foot_mm);

/* COP at touchdown, laboratory frame, mm. Without a speed (NAN) samples are not carried back and only the first
 * reliable ones are used. NAN when the COP is unknown. */
double strike_landing_fwd_mm(const struct trace *t, const struct trace_zero *z, double touchdown_us,
                             double speed_m_s);

/* 95th percentile of the COP carried back to touchdown, over samples above min_n. scratch: CONDITION_SCRATCH. */
double strike_front_fwd_mm(const struct trace *t, const struct trace_zero *z, double touchdown_us,
                           double toe_off_us, double speed_m_s, double min_n, double *scratch);

/* COP fore-aft at a time, between samples; NAN when unknown. */
double strike_cop_fwd_mm(const struct trace *t, double time_us);

#endif
