/* replay.h - reads a recording made by capture.h, as fast as possible or paced like it was.
 *
 * A chunk that was cut by a crash ends the recording there and is told in why[]; so is a damaged one
 * (wrong CRC): what comes after it is not trusted. Both are a note, not a failure.
 *
 * Memory: the struct, nothing else.  Threads: one at a time.
 * Errors: enum err from open, a number below 0 from read; why[].
 */
#ifndef LINK_REPLAY_H
#define LINK_REPLAY_H

#include "base/err.h"
#include "base/units.h"
#include "link/capture.h"

#include <stddef.h>

struct replay {
    int fd;            /* -1 when closed */
    double pace_ratio; /* 0: as fast as possible */
    bool is_cut;       /* the last chunk was cut or damaged */
    bool has_ended;
    bool has_begun;         /* paced: begun is set */
    struct host_time begun; /* paced: when this computer's clock stood at recording time 0 */
    int version;
    int64_t duration_us; /* arrival time of the last chunk read so far */
    uint64_t n_bytes;    /* of the device, read so far */
    size_t header_len;   /* of header, which ends with a 0 */
    char header[CAPTURE_HEADER_MAX + 1];
    uint8_t chunk[CAPTURE_CHUNK_MAX]; /* the chunk being given out */
    size_t chunk_len, chunk_used;
    struct host_time chunk_time;
    char path[256];
    char why[ERR_WHY_MAX];
};

/* True when the file begins as a recording does. Reads the file's first bytes only. */
bool replay_is_recording(const char *path);

/* Opens and reads the text before the chunks. ERR_UNSUPPORTED: a newer version. ERR_FORMAT: none. */
enum err replay_open(struct replay *r, const char *path, double pace_ratio);

/* A provenance value, copied into out, false when the recording does not have that name. */
bool replay_note(const struct replay *r, const char *name, char *out, size_t cap);

/* The next bytes. > 0: that many, never across two chunks; 0: not due yet within timeout_ms (paced);
 * SOURCE_ENDED at the end, with a note in why[] when the tail was cut. */
int replay_read(struct replay *r, uint8_t *buf, size_t cap, int timeout_ms, struct host_time *arrived);

void replay_close(struct replay *r);

#endif
