/* sensor_run.h - a sensor read for some seconds, without gait: what `check` and `calibrate` have in common.
 *
 * In:  a port, a pseudo-terminal or a recording.   Out: each data packet with its frame, to a function.
 * Threads: none, all in the call. Ends early when stop is asked (stop.h).
 * Memory: the struct (over 1 MB: heap).   Errors: enum err with a sentence in why.
 */
#ifndef SETUP_SENSOR_RUN_H
#define SETUP_SENSOR_RUN_H

#include "base/message.h"
#include "link/source.h"
#include "sense/sense.h"
#include "wire/wire.h"

#define SENSOR_RUN_READY_S 6.0 /* so long a live sensor may take to its first frame */
#define SENSOR_RUN_SLACK_S 4.0 /* and so much longer than asked for the rest */

struct sensor_run {
    struct source source;
    struct wire_decoder wire;
    struct sense sense;
    uint8_t bytes[4096];
    size_t n_bytes, n_used;
    struct host_time arrived, asked;
    bool is_gone;                /* unplugged, or a recording's end */
    struct frame frame;          /* of the last packet */
    const struct packet *packet; /* borrowed from wire until the next one */
    struct message why;
};

typedef void sensor_run_fn(void *context, const struct packet *packet, const struct frame *frame);

/* Opens, and reads until the first frame. profile: NULL = what the board says. On refusal it is closed. */
enum err sensor_run_open(struct sensor_run *r, const char *port, const struct source_config *c,
                         const struct sense_profile *profile);

/* Passes on frames of so many seconds of device time. ERR_GONE: it ended before. */
enum err sensor_run_read(struct sensor_run *r, double seconds, sensor_run_fn *fn, void *context);

void sensor_run_close(struct sensor_run *r);

#endif
