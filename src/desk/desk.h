/* desk.h - the program as a physio sees it: the panel, and the runner's screen beside it or below it.
 *
 *      two displays   the runner's screen on one, the panel on the other
 *      one            the panel over the runner's screen: whole, but during the run only at its right edge,
 * so that the runner goes on seeing; Tab hides it and brings it back
 *
 * How: the panel has a picture of its own, drawn at most DESK_PANEL_HZ times a second and when something is
 * typed or touched, and laid over the runner's. Store, sensor and printing are in desk_work's thread.
 * Threads: main.   Errors: one line on stderr.
 */
#ifndef DESK_DESK_H
#define DESK_DESK_H

#include "visit/app.h"

#define DESK_PANEL_HZ   5
#define DESK_SIDE_SHARE 0.46 /* of the width, during the run */

/* Runs it until it is left. is_apart: the panel in a window of its own, also on one display. c: source,
 * session, show, visit.store_path, on_verdict. Returns the exit code. */
int desk_open(const struct app_config *c, bool is_apart);

#endif
