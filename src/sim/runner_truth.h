/* runner_truth.h - inside sim/ only: fills a step's truth from its planned contact. */
#ifndef SIM_RUNNER_TRUTH_H
#define SIM_RUNNER_TRUTH_H

#include "sim/runner_model.h"

/* All that the contact alone says. ahead_mm: where the foot was put, of the mass centre. */
void runner_truth_open(struct runner *r, const struct runner_contact *c, double ahead_mm);

/* Ends the newest truth: the next contact (NULL: there is none) gives step time and flight. */
void runner_truth_close(struct runner *r, const struct runner_contact *next);

#endif
