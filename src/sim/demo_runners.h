/* demo_runners.h - the table of simulated runners and of scenarios that the demo, the simulated sensor and
 * the tests know by name. Nobody real: codes, not names.
 *
 * Static storage, never changes.  Threads: read only.
 */
#ifndef SIM_DEMO_RUNNERS_H
#define SIM_DEMO_RUNNERS_H

#include "sim/runner_model.h"

#define DEMO_RUNNER_DEFAULT "R-014"

struct demo_runner {
    const char *code, *summary;
    struct runner_style style;
};

struct demo_scenario {
    const char *name, *summary;
    const struct runner_segment *script; /* NULL: runs for ever */
    int n_segments;
};

int demo_runner_count(void);
/* Fills *out with the i-th runner, 0 <= i < demo_runner_count(). */
void demo_runner_get(int i, struct demo_runner *out);
/* False when there is no such code. */
bool demo_runner_find(const char *code, struct demo_runner *out);

int demo_scenario_count(void);
const struct demo_scenario *demo_scenario_get(int i);
/* NULL when there is no such name. */
const struct demo_scenario *demo_scenario_find(const char *name);

#endif
