/* session.h - one run of the pipeline with what hangs on it: commands in, steps, blocks and verdicts out.
 *
 * In:  bytes as read from a source, ticks, what became of the source: all by the one thread that feeds; commands through
 *      a ring.   Out: by hooks, each input in the order in which the pipeline gets it (for a recording), each step record,
 *      block and set of targets; the newest verdict into a mailbox for the screen.
 *
 * What comes out depends on the inputs and their times alone: the same ones in the same order, as on_input() told them,
 * give the same steps, blocks and verdicts bit for bit.
 *
 * No thread, no clock, no store, no words for people: what is to be noted goes out as a code with its number.
 * Threads: all by the feeding thread, but session_command() and session_take_verdict() by the thread that draws.
 * Memory: large; static or on the heap at start. Nothing is allocated while it runs.
 */
#ifndef LIVE_SESSION_H
#define LIVE_SESSION_H

#include "base/mailbox.h"
#include "base/ring.h"
#include "live/pipeline.h"

#include <stdatomic.h>

#define SESSION_N_COMMANDS 32

enum session_input_kind {
    SESSION_GETS_BYTES = 0,
    SESSION_GETS_COMMAND, /* comes right before the bytes or the tick with which it is obeyed */
    SESSION_GETS_TICK,
    SESSION_GETS_GONE,
    SESSION_GETS_BACK,    /* the first bytes after that follow */
    SESSION_GETS_GAP,     /* bytes are known to be missing before those that follow */
    SESSION_GETS_RELEASE, /* steps and blocks are passed on from here */
};

struct session_input {
    enum session_input_kind kind;
    struct host_time at;
    const uint8_t *bytes; /* BYTES; borrowed for the call */
    size_t len;
    const struct command *command; /* COMMAND; likewise */
    const struct message *message; /* GONE; likewise */
};

enum session_notice {
    SESSION_SEES_BEYOND,          /* newtons that nobody weighs: the gain is off */
    SESSION_FOUND_NO_STEP,        /* though for long enough; the largest load in newtons */
    SESSION_FOUND_NO_STEP_BY_GUESS, /* likewise, by a gain that is only guessed */
    SESSION_LOST_HELD,            /* so many step records were held back for too long and are lost */
};

struct session_config {
    struct pipeline_config pipeline;
    const char *profile_path; /* of pipeline.profile, for who records; NULL: none */
    char calibration[PROFILE_CALIBRATION_MAX]; /* in force in pipeline.profile, likewise; "": none */
    /* Steps that come while it is held are nobody's and not kept for the release; nor is a pause that is held, the wait for
     * the run. A block that runs as the release comes is told then. */
    bool is_early_dropped;
    /* None of these may wait; NULL: none. All by the feeding thread. */
    void (*on_input)(void *context, const struct session_input *input); /* before the pipeline gets it */
    void (*on_step)(void *context, const struct coached_step *step);
    void (*on_block)(void *context, const struct coach_block *block, struct dev_time now); /* a new one began */
    /* Targets changed: from the baseline or by a command. They hold for the blocks told after. */
    void (*on_targets)(void *context, const struct coach *coach);
    void (*on_notice)(void *context, enum session_notice notice, double number);
    void *context;
};

struct session {
    struct session_config config;
    struct pipeline pipeline;
    atomic_bool is_held;      /* steps and blocks wait inside until session_release(); any thread */
    bool is_holding;          /* feeding thread: the release was not seen yet */
    bool is_gone;
    bool has_finished;
    bool is_beyond_told;
    struct host_time last;    /* of the last input */
    uint64_t n_unkept;        /* steps that had to wait too long and were dropped */
    int block;                /* index of the last one told */
    uint32_t target_version;  /* of the last ones told, or of those that the visit began with */
    struct ring commands;     /* drawing thread -> feeding thread */
    struct command command_slots[SESSION_N_COMMANDS];
    uint64_t serial;          /* of the last verdict put */
    struct verdict verdict;   /* scratch of the feeding thread */
    struct mailbox mailbox;
    struct verdict slots[MAILBOX_N_BUFFERS];
};

void session_init(struct session *s, const struct session_config *config);

/* Holds steps and blocks back until their taker is there (the store may take its time to open, and the source
 * must be read meanwhile); PIPELINE_N_STEPS records fit, the oldest above that are dropped and counted; with
 * is_early_dropped none is kept. Hold before the first feed; release from any thread: seen with the next input. */
void session_hold(struct session *s);
void session_release(struct session *s);

/* Bytes that arrived together. */
void session_feed(struct session *s, const uint8_t *bytes, size_t len, struct host_time arrived);

/* Bytes are known to be missing before those of the next feed. */
void session_note_gap(struct session *s, struct host_time now);

/* Nothing came for a while. */
void session_tick(struct session *s, struct host_time now);

/* The source is gone; sentence for the screen. It is back with the next bytes. */
void session_set_gone(struct session *s, const struct message *message, struct host_time now);

/* Settles what is open. Feeding thread, or after it has ended; once more after a release that came too late. */
void session_finish(struct session *s);

/* Feeding thread: obeys a command at once. */
void session_obey(struct session *s, const struct command *command, struct host_time now);

/* Drawing thread: a command for the coach; in force with the next bytes or tick. False when too many wait. */
bool session_command(struct session *s, const struct command *command);

/* Drawing thread: the newest verdict, if there is one since the last call. */
bool session_take_verdict(struct session *s, struct verdict *out);

#endif
