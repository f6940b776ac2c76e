/* force_law.h - vertical force under one foot during one contact, as a formula.
 *
 * Running, two masses (Clark KP, Ryan LJ, Weyand PG 2017, A general relationship links gait mechanics
 * and running ground reaction forces, J Exp Biol 220:247-258): the lower limb, 0.08 of body mass m,
 * stops within impact_half_s of touchdown and gives a raised-cosine pulse
 *
 *     A1/2 (1 + cos(pi (t - c)/h)),  c = h = impact_half_s,
 *     impulse A1 h = 0.08 m (v_limb / h + g) 2 h;
 *
 * the remaining mass gives a bell over the whole contact. Its height is free: the runner sets it so that
 * momentum balances (see runner_model.h). The bell here is a mix of a half sine and a raised cosine
 * (`fullness` 1 = all half sine), rising in `peak_place` of the contact and falling in the rest: the
 * published bell alone gives peaks above those of slow runs (2.9 BW), the mix 2.2-2.6 BW.
 *
 * Walking: a double hump, A (sin(pi u) + 0.45 sin(3 pi u)), u = share of the contact.
 * Standing: constant, with a raised-cosine start and end.
 *
 * All integrals are closed forms, so that the momentum balance is exact.
 * Memory: the struct.  Threads: pure.  Errors: none; outside the contact the force is 0.
 */
#ifndef SIM_FORCE_LAW_H
#define SIM_FORCE_LAW_H

#include <stdbool.h>

#define FORCE_LAW_LIMB_SHARE 0.08 /* lower-limb mass over body mass, source above */

enum force_law_kind {
    FORCE_LAW_RUN = 0,
    FORCE_LAW_WALK,
    FORCE_LAW_STAND,
};

struct force_law {
    enum force_law_kind kind;
    double contact_s;
    double peak_place;    /* run: share of the contact at which the bell is highest, 0.3..0.7 */
    double fullness;      /* run: 0 raised cosine .. 1 half sine */
    double bell_n;        /* height of the bell; walk: A; stand: the constant force */
    double impact_n;      /* A1; 0 = none */
    double impact_half_s; /* h */
    double ramp_s;        /* stand: length of start and of end */
};

/* The noise-free curve's own answers: what an engine should find. NAN where there is none.
 * Times in seconds from the instant the force leaves 0. */
struct force_law_features {
    double down_s, up_s;   /* crossings of threshold_n: first upward, last downward */
    double peak_n, peak_s; /* active peak */
    bool has_transient;    /* a local maximum before the active peak, followed by a dip */
    double transient_n, transient_s;
    double dip_n;                  /* transient height minus the lowest force after it; 0 when none */
    double interest_n, interest_s; /* transient, else the force at 13 % of the stance down_s..up_s */
    double load_rate_n_s;          /* mean slope 20..80 % (by force) of interest_n */
    double load_rate_max_n_s;      /* steepest slope in the same window */
};

/* Force at t_s from touchdown, N. */
double force_law_at(const struct force_law *f, double t_s);

/* Integral of the force over the contact, N s. */
double force_law_impulse(const struct force_law *f);

/* Integral of t times the force over the contact, N s2. */
double force_law_first_moment(const struct force_law *f);

/* The same two integrals of a bell of height 1 N: impulse in *impulse_s, moment in *moment_s2. */
void force_law_unit_bell(const struct force_law *f, double *impulse_s, double *moment_s2);

/* The impact pulse's height for a limb of FORCE_LAW_LIMB_SHARE * mass_kg that meets the ground at
 * limb_speed_m_s and stops within half_s. */
double force_law_impact_n(double mass_kg, double limb_speed_m_s, double half_s);

/* Finds the features; times are good to 1 us. Slow (thousands of evaluations): once a step. */
struct force_law_features force_law_features(const struct force_law *f, double threshold_n);

#endif
