/* recorder.h - the recording of a live session, written by a thread of its own: a slow disc never delays a byte.
 *
 * In:  bytes with their arrival time, from the reading thread, through a ring.   Out: the file (link/capture.h).
 * A killed program loses what the last RECORDER_PERIOD_MS brought. A ring that is full, or a disc that is, ends
 * the recording where it stands (a hole would not replay to the same steps) and is said once; the session goes on.
 * Memory: the ring, taken in start and given back in stop.
 * Threads: start and stop by one thread, put by the reading thread, while running.
 */
#ifndef LINK_RECORDER_H
#define LINK_RECORDER_H

#include "base/ring.h"
#include "link/capture.h"

#include <pthread.h>

#define RECORDER_PERIOD_MS 20
#define RECORDER_ITEM_LEN 1024
#define RECORDER_N_ITEMS 4096 /* at least 20 s of the fastest sensor, read in small pieces */

struct recorder {
    struct capture capture;  /* the recorder's thread, while it runs; why[] */
    struct ring ring;
    void *memory;
    pthread_t thread;
    bool is_running;
    bool is_broken;          /* reading thread: the ring was full once, nothing more is put */
    atomic_bool is_stopping;
};

/* Makes the file and starts the thread. Notes are borrowed for the call. On refusal r->capture.why. */
enum err recorder_start(struct recorder *r, const char *path, const struct capture_note *notes, int n_notes);

/* Never waits. */
void recorder_put(struct recorder *r, const uint8_t *bytes, size_t len, struct host_time arrived);

/* Writes what is left, closes the file. Accepts one that never started, when zeroed. */
void recorder_stop(struct recorder *r);

#endif
