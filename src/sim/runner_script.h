/* runner_script.h - inside sim/ only: the parts of the runner's script. */
#ifndef SIM_RUNNER_SCRIPT_H
#define SIM_RUNNER_SCRIPT_H

#include "sim/runner_model.h"

/* The script's segment at t_s; NULL without a script or past its end. *start_s, *end_s when found. */
const struct runner_segment *runner_segment_at(const struct runner *r, double t_s, double *start_s,
                                               double *end_s);

#endif
