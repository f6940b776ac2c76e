/* springmass.h - the spring-mass figures of a step: from measured force, or from two times alone.
 *
 * Half-sine estimates (for switches, which see no force): Morin, Dalleau, Kyrolainen, Jeannin & Belli 2005,
 * J Appl Biomech 21:167-180 (facts F):
 *      peak force  = m g (pi/2) (tf/tc + 1)           drop = |Fmax tc^2 / (m pi^2) - g tc^2 / 8|
 *      kvert = Fmax / drop                            kleg = Fmax / (drop + L - sqrt(L^2 - (v tc / 2)^2))
 * tc contact time, tf mean of the flights before and after, L leg length, v belt speed. The paper's own bias:
 * peak force 7 % low on a treadmill, 12 % in area at 3.3 m/s: so these are estimates. Not valid on inclines
 * (Meyer et al. 2023, facts F).
 * Measured stiffness uses the same definitions with the measured peak force and the measured drop.
 */
#ifndef GAIT_SPRINGMASS_H
#define GAIT_SPRINGMASS_H

/* Peak force in body weights. tc_s > 0, tf_s >= 0; NAN otherwise. */
double springmass_peak_bw(double tc_s, double tf_s);

/* Drop of the centre of mass from touchdown to mid-stance, mm. Independent of mass. */
double springmass_drop_mm(double tc_s, double tf_s);

/* Vertical stiffness, kN/m; NAN unless both are > 0. */
double springmass_vertical_kn_m(double peak_n, double drop_mm);

/* Leg stiffness, kN/m; NAN when leg or speed is unknown or v tc / 2 >= L (no real solution). */
double springmass_leg_kn_m(double peak_n, double drop_mm, double leg_mm, double speed_m_s, double tc_s);

#endif
