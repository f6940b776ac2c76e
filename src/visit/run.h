/* run.h - one run of one visit: the only place that opens the sensor, begins the visit, records, stores and ends it.
 *
 *      panel, live, screen replay     run_open(): a thread of its own reads the source (reader.h) and feeds the session
 *      demo without display, tests    run_feed(): the caller feeds, in virtual time
 *
 *      init    the session, held: what comes before the visit is begun waits, or is nobody's (session.is_early_dropped)
 *      open    source -> recording -> first frame -> reading thread
 *      begin   the visit's rows, the writer's thread; from now on steps, blocks and targets are stored
 *      end     reading thread -> recording -> writer; the visit is in the store, whole or cut short
 *
 * In between: commands, pains and notes in; verdicts, and whether the visit is being saved, out.
 *
 * Memory: large; on the heap at start.  Threads: init, open, begin, finish, end by one at a time (a worker, or the main
 * one); the hooks of config.session by the feeding one; the rest by the one that draws.
 * Errors: enum err, a sentence in why: told by the caller. What goes wrong on the way is logged here.
 */
#ifndef VISIT_RUN_H
#define VISIT_RUN_H

#include "base/message.h"
#include "coach/visit_flow.h"
#include "visit/reader.h"
#include "visit/run_record.h"
#include "visit/store_watch.h"

#define RUN_READY_MS 6000

struct run_config {
    struct session_config session; /* its hooks are the caller's: called besides what is done here; on_input, on_notice unused */
    struct visit_config visit;     /* sensor and rate are filled in */
    bool is_stored;          /* then also recorded, beside the store (run_record.h) */
    bool is_rerun;           /* the source is a recording whose commands are obeyed again (rerun.h) */
    bool is_virtual;         /* fed faster than a disc writes: waits for it, here and only here */
    const char *record_path; /* run_open(): another recording, asked for; NULL: none */
    bool is_record_forced;   /* a recording that is there already makes room */
};

struct run {
    struct run_config config; /* config.visit may be changed until begin; what it points to must outlive it */
    struct session session;
    struct reader reader;
    struct run_record record;
    struct visit visit;
    struct store_watch watch; /* feeding thread's */
    struct mailbox to_main;   /* struct store_told, from it */
    struct store_told slots[MAILBOX_N_BUFFERS];
    bool is_open;             /* the reading thread runs */
    bool is_recorded;         /* recording was begun, if any is wanted */
    bool is_begun;
    atomic_bool is_keeping;   /* steps, pains and notes go to the store */
    unsigned n_put;           /* steps, feeding thread */
    char sensor_name[SOURCE_PATH_MAX];
    struct message tidied; /* after end: which old recordings went; MESSAGE_NONE: none */
    struct message why;
};

/* Nothing known, nothing stored. */
struct run_config run_config_default(void);

void run_init(struct run *r, const struct run_config *config);

/* Opens the source and starts to read it. On refusal nothing runs. */
enum err run_open(struct run *r, const char *path, const struct source_config *source);

/* Without run_open(): bytes that arrived together, from the sensor `simulated`. */
void run_feed(struct run *r, const uint8_t *bytes, size_t len, struct host_time arrived);

/* Likewise: nothing came for a while; the source is gone (back with the next bytes), sentence for the screen. */
void run_tick(struct run *r, struct host_time now);
void run_set_gone(struct run *r, const struct message *message, struct host_time now);

/* True once kind and rate of the sensor are known: the visit may begin. After run_open(), or between two feeds. */
bool run_is_ready(const struct run *r);

/* Begins the visit in the store (with is_stored) and lets steps go. */
enum err run_begin(struct run *r);

/* No more bytes come from the caller: settles what is open. */
void run_finish(struct run *r);

/* Ends what was opened and begun: now, or in virtual time length_s after the visit's start (NAN: now). Accepts one that
 * was never opened, when zeroed; twice is allowed, and is to be tried where visit.is_open stays (visit_end()). */
enum err run_end(struct run *r, double length_s);
/* Gives up what run_end() could not write anywhere. Accepts one that has ended. */
void run_abandon(struct run *r);

/* Reads the ended visit back and prints its summary. */
enum err run_print_summary(struct run *r, FILE *f);

/* False when too many wait. */
bool run_command(struct run *r, const struct command *command);

/* False when no visit is being kept: nothing was done. */
bool run_put_pain(struct run *r, const struct visit_flow_pain *pain);
bool run_put_note(struct run *r, struct dev_time at, const char *text);

/* Of these: how many were put, how many of them (in that order) wait no longer, and how many the store refused for good. The
 * last one is on disc when n_done is n_put. */
struct run_said {
    uint64_t n_put, n_done, n_refused;
};
/* False when no visit is being kept. */
bool run_get_said(struct run *r, struct run_said *out);

/* The newest verdict, if there is one since the last call. */
bool run_take_verdict(struct run *r, struct verdict *out);

/* True: whether the visit is being saved has changed; out says it. */
bool run_take_told(struct run *r, struct store_told *out);

/* True once: why the visit is not recorded, or not to its end. */
bool run_take_unrecorded(struct run *r, struct message *out);

/* How the recording beside the store stands: MB a minute, the room left. Between begin and end. */
void run_get_recording(struct run *r, struct recorder_status *out);

#endif
