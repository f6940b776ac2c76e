/* recording.h - a visit as it came in: raw bytes and all that changed the run, each at its byte offset; how to read it.
 *
 * File, version 2 (written by recorder.h): two readable lines, the head, frames until the end of the file.
 *
 *      underfoot recording 2\n
 *      head: LLLLLLLL CCCCCCCC\n      length of the head in bytes and its CRC-32, both in hex
 *      name: value\n                  any number of lines
 *      \n                             an empty line ends them
 *      text NAME LENGTH\n             whole texts, each with a stated length: the sensor profile, the plan
 *      LENGTH bytes \n
 *      frame ...                      recording_frame.h: a mark, lengths, CRC-32, and a zstd frame of its own with
 *                                     checksum for each second of items; the first holds the head once more, the
 *                                     last says that the recording was ended, and why when that was too early
 *
 *      case 1   all whole                 every item, nothing told
 *      case 2   a frame is damaged        the frames around it; one RECORDING_GAP stands for it; the loss is told
 *      case 3   cut anywhere              up to the last whole frame; is_cut, told
 *      case 4   head damaged              the head is taken from its copy; told
 *      case 5   version 1                 its bytes, its notes (arrival times begin at 1); it knows no other items
 *
 * Nothing in a head makes this module open a file: names and texts are handed out, no more.
 * Memory: taken in open, given back in close; next allocates nothing.  Threads: one at a time.
 * Errors: enum err from open; what is missing is no error of next, but told by recording_has_lost() and why[].
 */
#ifndef LINK_RECORDING_H
#define LINK_RECORDING_H

#include "base/err.h"
#include "base/message.h"
#include "base/units.h"

#include <stddef.h>

#define RECORDING_MAGIC    "underfoot recording "
#define RECORDING_VERSION  2
#define RECORDING_HEAD_MAX 262144 /* bytes: notes and texts together */
#define RECORDING_ITEM_MAX 32768  /* bytes of one item; longer readings of the sensor are split */
#define RECORDING_PATH_MAX 1024

enum recording_kind {
    RECORDING_BYTES,   /* what the sensor sent, as it was read */
    RECORDING_COMMAND, /* changed the run: payload is its writer's */
    RECORDING_TICK,    /* nothing came for a while, and the run was told so */
    RECORDING_GONE,    /* the sensor was lost; payload: what the screen was told */
    RECORDING_BACK,    /* it is there again */
    RECORDING_GAP,     /* bytes are known to be missing before the next ones: what was half read is void */
    RECORDING_MARK,
};
#define RECORDING_N_KINDS (RECORDING_MARK + 1)

struct recording_item {
    enum recording_kind kind;
    struct host_time arrived; /* as it was put */
    uint64_t offset;          /* bytes of the sensor before it, lost ones counted */
    const uint8_t *data;      /* valid until the next call */
    size_t len;
};

/* One line. Neither part may hold a newline (what would break the line is made a space); name has no colon. */
struct recording_note {
    const char *name, *value;
};

/* A whole text or any bytes, kept as they are; name has no blank. */
struct recording_text {
    const char *name;
    const char *text;
    size_t len;
};

/* All that the run began with; borrowed for the call. */
struct recording_head {
    const struct recording_note *notes;
    int n_notes;
    const struct recording_text *texts;
    int n_texts;
};

/* What is missing, as far as it was read. */
struct recording_loss {
    bool is_cut;              /* no end was written: the program was killed, or the file was cut */
    bool is_ended_early;      /* the recorder had to end it: early */
    bool is_head_damaged;     /* its copy stood in */
    int n_places;             /* where something was passed over */
    int64_t n_frames;         /* seconds, as a rule; as far as the frames around tell */
    int64_t n_device_bytes;   /* of the sensor; likewise */
    int64_t n_file_bytes;     /* passed over in the file */
    int64_t first_at;         /* byte in the file where the first place begins */
};

struct recording_v1;
struct ZSTD_DCtx_s;

struct recording {
    int fd; /* -1 when closed */
    int version;
    int64_t at;          /* byte in the file where the next frame begins */
    int64_t file_len;
    char *head;          /* notes and texts, ended with a 0 */
    size_t head_len, notes_len;
    uint32_t stamp;      /* in each frame of this recording */
    uint8_t *packed, *plain; /* one frame */
    size_t plain_len, plain_used;
    struct host_time frame_time; /* of the newest item of the frame */
    uint64_t offset;             /* of the next item */
    int64_t frame_index;         /* of the next frame */
    bool has_gap, has_ended, has_told;
    struct host_time gap_time;
    struct ZSTD_DCtx_s *unpacker;
    struct recording_v1 *v1; /* version 1 only */
    struct recording_loss loss;
    char path[RECORDING_PATH_MAX];
    struct message why;
    char early[ERR_WHY_MAX]; /* valid with loss.is_ended_early: the text that the recorder left; "" */
};

/* True when the file is a plain one that begins as a recording does. Never waits. */
bool recording_is_one(const char *path);

/* ERR_GONE: no such file. ERR_FORMAT: no recording, or neither head nor copy can be read. ERR_UNSUPPORTED: a newer
 * version. ERR_OS, ERR_MEMORY, ERR_USAGE. On refusal *r is closed and why[] says what to do. */
enum err recording_open(struct recording *r, const char *path);

/* The next item: 1; 0 at the end, with a sentence in why[] when something is missing. */
int recording_next(struct recording *r, struct recording_item *out);

/* The value of a line, copied into out; false when there is none or it does not fit. */
bool recording_note(const struct recording *r, const char *name, char *out, size_t cap);

/* A whole text, in place until close; NULL when the head has none of that name. */
const char *recording_text(const struct recording *r, const char *name, size_t *len);

/* True when something is missing, as far as it was read. */
bool recording_has_lost(const struct recording *r);

/* Twice is allowed; accepts one whose opening failed. Keeps loss and why[]. */
void recording_close(struct recording *r);

#endif
