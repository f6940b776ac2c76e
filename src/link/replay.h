/* replay.h - the sensor's bytes of a recording as a source: as fast as possible, or paced like they came.
 *
 * What else a recording holds (commands, ticks) is passed over: who wants it reads link/recording.h itself.
 * Damage: replay_take_gap() says where bytes are missing, replay_has_lost() and why[] at the end how much.
 *
 * Memory: taken in open, given back in close.  Threads: one at a time.
 * Errors: enum err from open, a number below 0 from read; why[].
 */
#ifndef LINK_REPLAY_H
#define LINK_REPLAY_H

#include "base/message.h"
#include "link/recording.h"

struct replay {
    struct recording recording;
    double pace_ratio; /* 0: as fast as possible */
    bool has_gap;      /* the bytes being given out follow a damaged place; replay_take_gap() takes it */
    bool has_begun;         /* paced: begun is set */
    struct host_time begun; /* paced: when this computer's clock stood at recording time 0 */
    bool has_start;
    struct host_time start; /* 1 us before the first item; an arrival of 0 would mean that nobody's clock was read */
    int64_t duration_us;    /* arrival time of the newest bytes read so far */
    uint64_t n_bytes;       /* of the device, read so far */
    const uint8_t *chunk;   /* being given out */
    size_t chunk_len, chunk_used;
    struct host_time chunk_time; /* since start */
    struct message why;
};

/* As recording_open(). */
enum err replay_open(struct replay *r, const char *path, double pace_ratio);

/* A provenance value, copied into out, false when the recording does not have that name. */
bool replay_note(const struct replay *r, const char *name, char *out, size_t cap);

/* The next bytes. > 0: that many, never across two readings; 0: not due yet within timeout_ms (paced);
 * SOURCE_ENDED at the end, with a note in why[] when something was damaged or cut. arrived: since the start. */
int replay_read(struct replay *r, uint8_t *buf, size_t cap, int timeout_ms, struct host_time *arrived);

/* True once after bytes before those of the last replay_read() were passed over: what was half read is void. */
bool replay_take_gap(struct replay *r);

/* True when something of the recording is missing, as far as it was read: why[] tells at the end. */
bool replay_has_lost(const struct replay *r);

void replay_close(struct replay *r);

#endif
