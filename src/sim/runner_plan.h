/* runner_plan.h - inside sim/ only: plans the runner's next contact. See runner_model.h for the physics. */
#ifndef SIM_RUNNER_PLAN_H
#define SIM_RUNNER_PLAN_H

#include "sim/runner_model.h"

/* Plans what begins at r->next_start_s and moves next_start_s on: a contact, two (standing), or none. */
void runner_plan_next(struct runner *r);

#endif
