/* writer.h - puts a running visit's steps on disc from its own thread: a slow disc never delays a frame.
 *
 * In:  step records, blocks and targets from the reader thread; pain and notes from the main thread.
 * Out: rows of one visit.
 * How: one ring per giving thread. Every WRITER_PERIOD_MS the thread commits all that the rings hold in
 *      one transaction; records leave the ring only after the commit, so a full disc or a busy store
 *      costs nothing until the ring itself is full. What does not fit then is counted (n_dropped) and
 *      kept in the visit's row, as is a record that the tables refuse for good: it must not block those
 *      behind it. So is everything once the visit is no longer there (its runner was forgotten): why says that. When a
 *      newer program has changed the tables meanwhile (ERR_UNSUPPORTED), nothing is written and all stays in the rings.
 *      A killed program loses at most one period and the time of one commit.
 *
 * Threads: which function belongs to which thread is said at each. None but start and stop waits.
 * Errors: writer_start() refuses as store_open() does. Later ones (disc full) show in
 *      writer_get_status() and are tried again each period.
 * Memory: the rings, taken in start and given back in stop.
 */
#ifndef STORE_WRITER_H
#define STORE_WRITER_H

#include "base/err.h"
#include "base/ring.h"
#include "store/store.h"

#include <pthread.h>

#define WRITER_PERIOD_MS 400
#define WRITER_N_STEPS   1024 /* over two minutes at 200 steps a minute, each step twice */
#define WRITER_N_MARKS   64

struct writer_status {
    uint64_t n_written; /* records committed */
    uint64_t n_dropped; /* records that are lost: their ring was full, or the store refuses them for good */
    uint64_t n_waiting; /* records in the rings */
    enum err err;       /* of the last try; ERR_OK after one that worked */
    char why[ERR_WHY_MAX];
};

struct writer {
    struct store store; /* the writer thread's own */
    int64_t visit_id;
    int64_t target_set_id; /* writer thread only: what the next block begins with */
    struct ring from_reader, from_main;
    void *memory; /* of both rings */
    int running_fd; /* store/running.h */
    int wake[2];  /* pipe: a byte ends the wait */
    pthread_t thread;
    bool is_running;
    pthread_mutex_t guard; /* of status and is_stopping */
    struct writer_status status;
    bool is_stopping;
    uint64_t n_refused;      /* writer thread only: records that no table takes (a pain of 11) */
    uint64_t n_dropped_kept; /* writer thread only: what the visit's row says */
};

/* Opens the store at path (NULL = the usual place) and starts the thread for a visit that store_visit_begin()
 * has made. On refusal nothing runs and w->status.why says why. Main thread. */
enum err writer_start(struct writer *w, const char *path, int64_t visit_id);

/* Takes a step, live or settled. False when the ring was full (counted). Never waits. Reader thread. */
bool writer_put_step(struct writer *w, const struct coached_step *step);
/* Takes a block, at its start and again at its end. Never waits. Reader thread. */
bool writer_put_block(struct writer *w, const struct store_block *block);

/* Takes targets that came about during the visit (from its baseline, or changed): saved as the runner's next
 * version (runner_id must be set), which the visit then refers to. Never waits. Reader thread. */
bool writer_put_targets(struct writer *w, const struct store_target_set *targets);

/* False when the ring was full: nothing is kept, nor counted as lost, for whoever asked is told. Never wait. Main thread. */
bool writer_put_pain(struct writer *w, const struct store_pain *pain);
bool writer_put_note(struct writer *w, const struct store_note *note);

/* Copies the counts and the last error. Any thread, between start and stop (after stop, w->status has them);
 * waits for a copy of the same size at most. */
void writer_get_status(struct writer *w, struct writer_status *out);

/* Writes what is left, then the visit's end (n_dropped is filled in here), ends the thread, closes the store.
 * end NULL leaves the visit unfinished. Gives the last error: ERR_OK means that every record that was not
 * counted as dropped is on disc; else w->status.why says why. Call after the reader thread has ended. Accepts
 * a writer that never started, when zeroed. Main thread. */
enum err writer_stop(struct writer *w, const struct store_visit_end *end);

#endif
