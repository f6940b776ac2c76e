/* capture.h - writes a recording: the raw bytes of a session with their arrival times.
 *
 * File: text lines, then chunks until the end of the file.
 *
 *      underfoot recording 1\n
 *      name: value\n                  provenance, any number of lines
 *      \n                             an empty line ends the text
 *      chunk: 0xC5, 0x00, len u16, t_us i64, len bytes, CRC-16 of all before it u16; little-endian
 *
 * t_us counts on the host's clock; the first chunk is at 1. A chunk goes out in one write, appended,
 * so a killed program leaves whole chunks and at most one cut one, which replay tolerates and tells. A damaged
 * chunk costs that chunk: replay passes over to the next mark whose head and CRC check out, marks a gap there, and
 * tells how many bytes it passed over.
 * An existing file is never overwritten.
 *
 * Memory: the struct.  Threads: one at a time.  Errors: enum err, and why[]; after the first failed
 * write nothing more is written, so that a full disc costs the recording and not the session.
 */
#ifndef LINK_CAPTURE_H
#define LINK_CAPTURE_H

#include "base/err.h"
#include "base/units.h"

#include <stddef.h>

#define CAPTURE_MAGIC      "underfoot recording "
#define CAPTURE_VERSION    1
#define CAPTURE_CHUNK_MARK 0xC5
#define CAPTURE_CHUNK_HEAD 12
#define CAPTURE_CHUNK_MAX  8192 /* bytes of data in a chunk; longer reads are split */
#define CAPTURE_HEADER_MAX 4096 /* bytes of text before the chunks */

/* One provenance line. Neither part may hold a newline; name has no colon. */
struct capture_note {
    const char *name, *value;
};

struct capture {
    int fd; /* -1 when closed */
    bool has_failed;
    bool has_start;
    struct host_time start; /* 1 us before the first chunk */
    uint64_t n_bytes;       /* of the device, so far */
    char path[256];
    char why[ERR_WHY_MAX];
    uint8_t chunk[CAPTURE_CHUNK_HEAD + CAPTURE_CHUNK_MAX + 2];
};

/* Makes the file (mode 0600) and writes its text. notes is borrowed for the call. */
enum err capture_open(struct capture *c, const char *path, const struct capture_note *notes, int n_notes);

/* Appends len bytes (borrowed) that arrived at that time. */
enum err capture_write(struct capture *c, const uint8_t *bytes, size_t len, struct host_time arrived);

/* Flushes to the disc and closes. Twice is allowed. */
enum err capture_close(struct capture *c);

#endif
