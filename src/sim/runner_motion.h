/* runner_motion.h - inside sim/ only: the mechanics of one running step. See runner_model.h for the physics.
 *
 * Up and down everything is linear in the bell's height, fore and aft in the landing distance and the mass
 * centre's speed: both periodic problems are solved without iteration.
 * Memory: none.  Threads: pure but for runner_move_mass_centre(), which moves r on.
 */
#ifndef SIM_RUNNER_MOTION_H
#define SIM_RUNNER_MOTION_H

#include "sim/runner_model.h"

#define RUNNER_MIN_FLIGHT_S 0.015

/* What the fore-aft motion of one contact depends on. */
struct runner_rig {
    const struct runner *r;
    const struct force_law *law;
    double strike_share, belt_m_s, turn_cos; /* cosine of the toe-out angle */
};

/* The mass centre over the ground: what the force passes through, so fore-aft force = force x (centre - COP) / height. */
double runner_com_height_m(const struct runner *r);

/* The two-mass law of this runner, bell not set yet. limb_speed_share: 1 as in the style. */
struct force_law runner_running_law(const struct runner *r, double contact_s, double strike_share,
                                    double limb_speed_share);

/* Sets the bell so that the step repeats itself; returns the vertical speed at touchdown for that, m/s. */
double runner_set_periodic_bell(struct force_law *f, double mass_kg, double flight_s);

/* Sets the bell so that a body that lands at b meets the ground after flight_s with the speed of the even
 * step, less what brings its height back; within what legs can push. Moves b on to the next touchdown. */
void runner_set_bell(struct force_law *f, double mass_kg, double flight_s, double even_m_s,
                     struct runner_bounce *b);

/* How far the centre of pressure has rolled along the belt's axis on the foot, m. */
double runner_roll_m(const struct runner *r, double strike_share, double phase, double turn_cos);

/* The landing distance and the mass centre's speed at touchdown with which the step repeats itself. */
void runner_solve_periodic(const struct runner_rig *rig, double flight_s, int n_nodes, double *ahead_m,
                           double *speed_m_s);

/* The landing distance that keeps the runner in place at this contact time and step time, mm. */
double runner_balanced_ahead_mm(const struct runner *r, double contact_s, double step_s, double strike_share,
                                double belt_m_s);

/* The contact time whose balanced landing distance is ahead_mm, within 0.3..0.94 of the step time. */
double runner_contact_for_ahead_s(const struct runner *r, double ahead_mm, double step_s, double strike_share,
                                  double belt_m_s);

/* Integrates the mass centre over the contact into its nodes, and moves r's fore-aft state to toe-off. */
void runner_move_mass_centre(struct runner *r, struct runner_contact *c, const struct runner_rig *rig,
                             double ahead_m);

#endif
