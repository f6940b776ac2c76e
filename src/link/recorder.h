/* recorder.h - writes the recording of a run (recording.h) by a thread of its own: a slow disc never delays a byte.
 *
 * In:  items with their arrival time, from the reading thread, through a ring.   Out: the file.
 * How: what came within RECORDER_FRAME_MS is packed into one frame, appended in one write, and brought to the disc:
 *      a killed program loses less than a second.
 * Ends early, where it stands, is told once, and the run goes on:
 *      case 1   the ring is full: the disc is too slow (a hole would not replay to the same steps)
 *      case 2   the disc refuses: what it took of a frame is cut off again
 *      case 3   less than the reserve is free on it: the rest is the store's
 * Whose file is lost (its folder was deleted or moved away) goes on in another place with all that it held, once it is told one.
 * Memory: all in start, given back in stop; put allocates nothing.
 * Threads: start and stop by one thread, put by the reading thread while running, get_status by any between start
 *      and stop. It makes one thread, which owns the file.
 * Errors: enum err from start, r->why; later ones by the status.
 */
#ifndef LINK_RECORDER_H
#define LINK_RECORDER_H

#include "base/message.h"
#include "base/ring.h"
#include "link/recording.h"
#include "link/recording_writer.h"

#include <pthread.h>

#define RECORDER_PERIOD_MS 20  /* how often the ring is emptied */
#define RECORDER_FRAME_MS  600 /* with the period and the writing under a second, on a busy computer too */
#define RECORDER_PIECE_LEN 232
#define RECORDER_N_PIECES  16384 /* 4 MiB: 16 s of the fastest sensor read in small pieces */
/* Kept free for the store: a visit of two hours is under 30 MB of it, and a migration copies a whole store. */
#define RECORDER_RESERVE_BYTES (INT64_C(256) * 1000 * 1000)

struct recorder_status {
    bool is_running;        /* recording */
    bool has_ended_early;   /* and why[] says why */
    uint64_t n_file_bytes;  /* written */
    double mb_per_min;      /* MB of 1e6 bytes; NAN until it has recorded for some seconds */
    int64_t room_bytes;     /* free on that disc above the reserve; < 0: not known */
    double room_min;        /* what that is in minutes of recording; NAN: not known */
    struct message why;
};

struct recorder_config {
    int64_t reserve_bytes;
    int frame_ms;
    struct recording_disc disc;
};
struct recorder_config recorder_config_default(void);

struct recorder {
    struct recorder_config config;
    struct recording_writer writer; /* the recorder's thread, while it runs */
    struct ring ring;
    void *memory;
    uint8_t *item;                  /* RECORDING_ITEM_MAX bytes: the one being written */
    pthread_t thread;
    pthread_mutex_t lock;           /* of status; never taken by put */
    struct recorder_status status;
    struct host_time begun;
    bool is_running;
    atomic_bool is_stopping, is_overrun, has_ended;
    atomic_bool is_to_follow; /* lock: of the two paths */
    char lost_path[RECORDING_PATH_MAX], next_path[RECORDING_PATH_MAX];
    struct message why;
};

/* Makes the file (mode 0600, never over an existing one), writes the head and starts the thread. head is borrowed
 * for the call. ERR_OS also when less than the reserve is free. On refusal r->why, and no file is left. */
enum err recorder_start(struct recorder *r, const char *path, const struct recording_head *head);
enum err recorder_start_with(struct recorder *r, const char *path, const struct recording_head *head,
                             const struct recorder_config *config);

/* Never waits, allocates nothing. False when the recording has ended early: nothing is kept any more. Bytes may be
 * of any length, other kinds have at most RECORDING_ITEM_MAX. data may be NULL when len is 0. */
bool recorder_put(struct recorder *r, enum recording_kind kind, const void *data, size_t len, struct host_time arrived);

/* Should the file no longer be the one that path leads to, it goes on in next. Never waits for a disc. Any thread, while running. */
void recorder_follow(struct recorder *r, const char *path, const char *next);

/* How it stands; also after stop. Accepts one that never started, when zeroed. */
void recorder_get_status(struct recorder *r, struct recorder_status *out);

/* Writes what is left and the end, closes the file. Accepts one that never started, when zeroed. */
void recorder_stop(struct recorder *r);

#endif
