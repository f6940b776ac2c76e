/* replay.h - reads a recording made by capture.h, as fast as possible or paced like it was.
 *
 * A damaged chunk (wrong CRC) costs that chunk: reading goes on with the next mark whose head and CRC check out
 * and whose time goes on. replay_take_gap() says where that happened, why[] at the end how many bytes were passed
 * over. A chunk that the file's end cuts, as a crash leaves it, ends the recording there and is told likewise.
 * Neither is a failure of replay_read(); replay_has_lost() lets the caller make one of it.
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
    int64_t at;        /* byte in the file where the next chunk begins */
    bool is_cut;       /* the file ends inside a chunk; known at the end */
    bool has_gap;      /* the chunk being given out follows a damaged place; replay_take_gap() takes it */
    int n_damaged;     /* places where bytes were passed over, so far */
    int64_t n_passed_over, first_damage; /* bytes; the byte where the first place begins */
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
    struct host_time found_time; /* of what was looked at last */
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
 * SOURCE_ENDED at the end, with a note in why[] when something was damaged or cut. */
int replay_read(struct replay *r, uint8_t *buf, size_t cap, int timeout_ms, struct host_time *arrived);

/* True once after bytes before those of the last replay_read() were passed over: what was half read is void. */
bool replay_take_gap(struct replay *r);

/* True when something of the recording is missing, as far as it was read: why[] tells at the end. */
bool replay_has_lost(const struct replay *r);

void replay_close(struct replay *r);

#endif
