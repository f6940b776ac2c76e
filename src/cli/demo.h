/* demo.h - what the demo needs of the simulated sensor: its settings by name, and the profile that a physio
 * would have made for it.
 */
#ifndef CLI_DEMO_H
#define CLI_DEMO_H

#include "base/message.h"
#include "cli/mimic.h"
#include "live/pipeline.h"

/* "mat", "cells", "switches" and "binary", "text". False, with a sentence in why, when it is neither. */
bool demo_board(const char *kind, const char *wire, struct board_config *out, struct message *why);

/* The sensor's geometry and gains, as calibrated. m is initialised. */
void demo_profile(const struct mimic *m, struct sense_profile *out);

/* What the simulated runner is shown now: the middle of the focus metric's band. */
struct mimic_feedback demo_feedback(const struct verdict *v);

#endif
