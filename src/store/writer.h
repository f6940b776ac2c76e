/* writer.h - puts a running visit's steps on disc from its own thread: a slow disc never delays a frame.
 *
 * In:  step records, blocks and targets from the reader thread; pain and notes from the main thread.
 * Out: rows of one visit.
 * How: one ring per giving thread. Every WRITER_PERIOD_MS the thread commits all that the rings hold in
 *      one transaction; records leave the ring only after the commit, so a full disc or a busy store
 *      costs nothing until the ring itself is full. What does not fit then is counted (n_dropped) and
 *      kept in the visit's row, as is a record that the tables refuse for good: it must not block those
 *      behind it. So is everything once the visit is no longer there (its runner was forgotten): why says that. When a
 *      newer program has changed the tables meanwhile (ERR_UNSUPPORTED), nothing more is written to it.
 *      A killed program loses at most one period and the time of one commit.
 *
 *      case 1   all is well                            into the store
 *      case 2   the disc is full                       the reserve (reserve.h) is given up, and that is tried again
 *      case 3   the store refuses for WRITER_SPILL_US  the visit goes on in a spill (spill.h), and every WRITER_HOME_US (up
 *                                                      to WRITER_HOME_MAX_US) that is tried to be taken into the store
 *      case 4   no path leads to the store any more    likewise, at once (place.h): looked at before and after each commit,
 *                                                      and each period when there is nothing to commit
 *      case 5   no spill can be made either            all stays in the rings, and both are tried again
 *
 * Threads: which function belongs to which thread is said at each. None but start and stop waits.
 * Errors: writer_start() refuses as store_open() does. Later ones (disc full) show in
 *      writer_get_status() and are tried again each period.
 * Memory: the rings, taken in start and given back in stop.
 */
#ifndef STORE_WRITER_H
#define STORE_WRITER_H

#include "base/err.h"
#include "base/message.h"
#include "base/ring.h"
#include "base/units.h"
#include "store/spill.h"
#include "store/store.h"

#include <pthread.h>

#define WRITER_PERIOD_MS 400
#define WRITER_N_STEPS   1024 /* over two minutes at 200 steps a minute, each step twice */
#define WRITER_N_MARKS   64
#define WRITER_BUSY_MS   250 /* so long it waits for another program that writes */
#define WRITER_SPILL_US  (500 * UNITS_US_PER_MS)
#define WRITER_HOME_US   (1 * UNITS_US_PER_S)
#define WRITER_HOME_MAX_US (8 * UNITS_US_PER_S)

struct writer_status {
    uint64_t n_written; /* records committed */
    uint64_t n_dropped; /* records that are lost: their ring was full, or the store refuses them for good */
    uint64_t n_waiting; /* records in the rings */
    uint64_t n_said;    /* pains and notes, in the order they were put, that no longer wait: kept, or refused for good */
    uint64_t n_said_refused; /* of these, how many were refused */
    enum err err;       /* of the last try to write to the store itself; ERR_OK after one that worked */
    struct message why;
    char aside[STORE_PATH_MAX]; /* the folder of the spill that the visit is kept in meanwhile; "": none */
};

struct writer {
    struct store store; /* the writer thread's own */
    struct spill spill; /* likewise */
    int64_t visit_id;
    struct store_visit row; /* as it was begun */
    int64_t target_set_id; /* writer thread only: what the next block begins with */
    struct ring from_reader, from_main;
    void *memory; /* of both rings */
    int running_fd; /* store/running.h */
    int wake[2];  /* pipe: a byte ends the wait */
    pthread_t thread;
    bool is_open;    /* start worked; until stop or abandon ended it */
    bool is_running; /* the thread */
    pthread_mutex_t guard; /* of status and is_stopping */
    struct writer_status status;
    bool is_stopping;
    uint64_t n_refused;      /* writer thread only: records that no table takes (a pain of 11) */
    uint64_t n_said, n_said_refused; /* writer thread only: the status has them once the place was looked at too */
    uint64_t n_dropped_kept; /* writer thread only: what the visit's row says */
    uint32_t last_step;      /* writer thread only: the highest number committed */
    uint64_t n_steps;        /* writer thread only: how many of different number */
    struct host_time trouble; /* writer thread only: since when the store refuses; us 0: it does not */
    struct host_time tried;   /* writer thread only: the last try to take the spill home */
    int64_t home_wait_us;     /* writer thread only: until the next */
    struct message home_why;    /* writer thread only: why the store refused; valid while the spill is open */
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
/* How many of both were put: the last one is kept once the status's n_said is as high. Main thread. */
uint64_t writer_n_put_said(const struct writer *w);

/* Copies the counts and the last error. Any thread, between start and stop (after stop, w->status has them);
 * waits for a copy of the same size at most. */
void writer_get_status(struct writer *w, struct writer_status *out);

/* Writes what is left, then the visit's end (n_dropped is filled in here), reads it back by a connection of its own, ends the
 * thread, closes the store. end NULL leaves the visit unfinished. Call after the reader thread has ended. Main thread.
 * ERR_OK: every record that was not counted as dropped is on disc, in the store; ERR_USAGE: but for those that it refused for
 * good. Else w->status.why says why, and either all is in the spill (w->status.aside) and the writer has ended; or nobody took
 * it, the writer stays open with all it has, and stop may be called again. Accepts a writer that never started, when zeroed. */
enum err writer_stop(struct writer *w, const struct store_visit_end *end);

/* Gives up what stop could not write. Accepts one that is not open. */
void writer_abandon(struct writer *w);

#endif
