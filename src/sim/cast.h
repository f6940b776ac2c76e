/* cast.h - the table of simulated runners and of scenarios that the demo, the simulated sensor and
 * the tests know by name. Nobody real: codes, not names.
 *
 * Static storage, never changes.  Threads: read only.
 */
#ifndef SIM_CAST_H
#define SIM_CAST_H

#include "sim/runner_model.h"

#define CAST_RUNNER_DEFAULT "R-014"

struct cast_runner {
    const char *code, *summary;
    struct runner_style style;
};

struct cast_scenario {
    const char *name, *summary;
    const struct runner_segment *script; /* NULL: runs for ever */
    int n_segments;
};

int cast_runner_count(void);
/* Fills *out with the i-th runner, 0 <= i < cast_runner_count(). */
void cast_runner_get(int i, struct cast_runner *out);
/* False when there is no such code. */
bool cast_runner_find(const char *code, struct cast_runner *out);

int cast_scenario_count(void);
const struct cast_scenario *cast_scenario_get(int i);
/* NULL when there is no such name. */
const struct cast_scenario *cast_scenario_find(const char *name);

#endif
