/* headless.h - the demo without a display: the whole chain in virtual time, as fast as the computer goes.
 *
 * mimic -> bytes -> run (visit/run.h, fed by this thread) -> writer, and a picture at the wanted moment. No pseudo-terminal and no clock:
 * the sensor's time is the time of arrival. The step records are those of a live run.
 *
 * Threads: the caller's, and the store's writer.  Errors: the exit code, after one line on stderr.
 */
#ifndef CLI_HEADLESS_H
#define CLI_HEADLESS_H

#include "cli/mimic.h"
#include "visit/app.h"

struct headless_config {
    const struct app_config *app; /* path, source and seconds are not used */
    struct mimic_config mimic;    /* its seconds end the run */
    const char *summary_path;     /* the visit's summary goes there as well as to stdout */
};

/* Returns the exit code. */
int headless_run(const struct headless_config *c);

#endif
