/* recording_writer.h - writes a recording (recording.h), item by item, frame by frame.
 *
 * In:  items in the order in which they came.   Out: the file; a frame at each flush, or when it is full.
 * How: each frame goes out in one write and is brought to the disc; what a full disc took of it is cut off again, so
 *      that the file always ends with a whole frame. After the first refusal nothing more is written.
 * Memory: all in open (zstd gets a static workspace: it can't ask for more later), given back in close.
 * Threads: one at a time.   Errors: enum err and why[].
 */
#ifndef LINK_RECORDING_WRITER_H
#define LINK_RECORDING_WRITER_H

#include "base/message.h"
#include "link/recording.h"

#include <unistd.h>

/* What the writer asks of the disc; tests give their own. */
struct recording_disc {
    ssize_t (*write)(void *context, int fd, const void *bytes, size_t len);
    int (*sync)(void *context, int fd);
    int64_t (*room_bytes)(void *context, int fd); /* free for a plain user; < 0: not known */
    void *context;
};
struct recording_disc recording_disc_default(void);

struct ZSTD_CCtx_s;

struct recording_writer {
    struct recording_disc disc;
    int fd;         /* -1 when closed */
    bool has_failed;
    uint64_t n_file_bytes, n_device_bytes;
    uint32_t stamp, frame_index;
    uint64_t frame_offset;                     /* of the sensor's bytes, at the frame's begin */
    struct host_time frame_begun, newest;      /* arrivals of the frame's first and last item */
    uint8_t *plain, *packed;
    size_t plain_len;
    void *workspace;
    struct ZSTD_CCtx_s *packer; /* inside workspace */
    char path[RECORDING_PATH_MAX];
    struct message why;
    int failed_by; /* valid with has_failed: the system's errno */
};

/* Makes the file (mode 0600, never over an existing one) and writes the head. */
enum err recording_writer_open(struct recording_writer *w, const char *path, const struct recording_head *head,
                               const struct recording_disc *disc);

/* Adds an item (data borrowed). Writes a frame when it has no room left. */
enum err recording_writer_put(struct recording_writer *w, enum recording_kind kind, const void *data, size_t len,
                              struct host_time arrived);

/* Writes the frame that is open, if it holds anything, and brings it to the disc. */
enum err recording_writer_flush(struct recording_writer *w);

/* Whether that path leads to another file than the one that is written, or to none. */
bool recording_writer_is_lost(const struct recording_writer *w, const char *path);

/* Goes on in another file (made as in open, with its folder), which gets all that the first one holds. After a refusal it goes on where
 * it was. */
enum err recording_writer_move(struct recording_writer *w, const char *path, struct message *why);

/* Flushes, writes the end and closes. early: why it ends before the run does; NULL: it is whole. Twice is allowed. */
enum err recording_writer_close(struct recording_writer *w, const char *early);

#endif
