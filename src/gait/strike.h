/* strike.h - where on the foot the landing was: strike index and zone.
 *
 * Strike index: centre of pressure at initial contact along the foot's long axis, heel 0, toe 100 %
 *      (Cavanagh & Lafortune 1980; facts A). Zones by exact thirds: rear < 100/3, fore > 200/3. The published
 *      roundings (33/34, 66.6/68) differ only within 1.4 points of the borders.
 * Landing: COP at the touchdown threshold is noise divided by next to nothing, so it is read as the
 *      force-weighted mean of the first STRIKE_LANDING_US, each sample carried back to touchdown by the belt.
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
/* Heel and forefoot closer together than this land as one. No published figure was found: ours. */
#define STRIKE_TOGETHER_US 10000.0

enum step_zone strike_zone(double index_pct);

/* lag: forefoot down after heel; negative = forefoot first; NAN unknown. Nominal definitions as in facts A. */
enum step_zone strike_zone_from_lag(double lag_us);

/* How far the place of the foot that passes under the body at mid-contact lies ahead of the landing, as a share of
 * the foot's length, by landing zone. That place is STRIKE_UNDER_AT of the foot from the heel: over 27 recorded runs
 * (belt speed x contact / 2 - landing ahead) / foot length + strike index is 0.725, sd 0.04. Unknown zone: as a
 * mid-foot landing. */
#define STRIKE_UNDER_AT 0.725
double strike_roll_share(enum step_zone zone);

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
