/* runner_plan.h - private to sim/: plans the runner's next contact. See runner_model.h for the physics. */
#ifndef SIM_RUNNER_PLAN_H
#define SIM_RUNNER_PLAN_H

#include "sim/runner_model.h"

/* Plans what begins at r->next_start_s and moves next_start_s on: a contact, two (standing), or none. */
void runner_plan_next(struct runner *r);

/* The script's segment at t_s; NULL without a script or past its end. *start_s, *end_s when found. */
const struct runner_segment *runner_segment_at(const struct runner *r, double t_s, double *start_s, double *end_s);

/* The landing distance that keeps the runner in place at this contact time and step time, mm. */
double runner_balanced_ahead_mm(const struct runner *r, double contact_s, double step_s, double strike_share,
                                double belt_m_s);

/* The contact time whose balanced landing distance is ahead_mm, within 0.3..0.94 of the step time. */
double runner_contact_for_ahead_s(const struct runner *r, double ahead_mm, double step_s, double strike_share,
                                  double belt_m_s);

#endif
