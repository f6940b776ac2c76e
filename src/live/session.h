/* session.h - one run of the pipeline with what hangs on it: the recording before it, steps and
 * verdicts after.
 *
 * In:  bytes as read from a source, by the one thread that reads.   Out: the recording file, each step record
 *      to a function of the caller's, the newest verdict into a mailbox for the screen.
 * Threads: all by the reading thread, but session_take_verdict() by the thread that draws.
 * Memory: large; static or on the heap at start. Nothing is allocated while it runs.
 */
#ifndef LIVE_SESSION_H
#define LIVE_SESSION_H

#include "base/mailbox.h"
#include "base/ring.h"
#include "link/recorder.h"
#include "live/pipeline.h"

#include <stdatomic.h>

#define SESSION_N_COMMANDS 32

struct session_config {
    struct pipeline_config pipeline;
    const char *profile_path; /* of pipeline.profile, for the recording's notes; NULL: none */
    char calibration[PROFILE_CALIBRATION_MAX]; /* in force in pipeline.profile, likewise; "": none */
    void (*on_step)(void *context, const struct coached_step *step);        /* must never wait; NULL: none */
    void (*on_block)(void *context, const struct coach_block *block, struct dev_time now); /* a new one began */
    /* Targets changed: from the baseline or by a command. They hold for the blocks told after. NULL: none. */
    void (*on_targets)(void *context, const struct coach *coach);
    void *context;
};

struct session {
    struct session_config config;
    struct pipeline pipeline;
    struct recorder recorder;
    atomic_bool is_held;      /* steps and blocks wait inside until session_release(); any thread */
    bool is_beyond_told;
    uint64_t n_unkept;        /* steps that had to wait too long and were dropped */
    int block;                /* index of the last one told */
    uint32_t target_version;  /* of the last ones told, or of those that the visit began with */
    struct ring commands;     /* drawing thread -> reading thread */
    struct command command_slots[SESSION_N_COMMANDS];
    uint64_t serial;          /* of the last verdict put */
    struct verdict verdict;   /* scratch of the reading thread */
    struct mailbox mailbox;
    struct verdict slots[MAILBOX_N_BUFFERS];
};

void session_init(struct session *s, const struct session_config *config);

/* Holds steps and blocks back until their taker is there (the store may take its time to open, and the source
 * must be read meanwhile); PIPELINE_N_STEPS records fit, the oldest above that are dropped and counted. Hold
 * before the reading thread starts; release from any thread: they go out with the next bytes. */
void session_hold(struct session *s);
void session_release(struct session *s);

/* Starts the recording; its notes hold what a replay needs to come out the same. On refusal
 * s->recorder.capture.why says why. */
enum err session_record(struct session *s, const char *path);

/* Reading thread. Bytes that arrived together. */
void session_feed(struct session *s, const uint8_t *bytes, size_t len, struct host_time arrived);

/* Reading thread. Bytes are known to be missing before those of the next feed. */
void session_note_gap(struct session *s);

/* Reading thread. Nothing came for a while. */
void session_tick(struct session *s, struct host_time now);

/* Reading thread. The source is gone; sentence for the screen. */
void session_set_gone(struct session *s, const char *message);

/* Reading thread, or after it has ended: settles what is open. */
void session_finish(struct session *s);

/* Closes the recording. Starting thread, after session_finish(). */
void session_close(struct session *s);

/* Drawing thread: a command for the coach; in force with the next bytes or tick. False when too many wait. */
bool session_command(struct session *s, const struct command *command);

/* Drawing thread: the newest verdict, if there is one since the last call. */
bool session_take_verdict(struct session *s, struct verdict *out);

/* Fills what a recording says of how it was made, where the configuration leaves it open (NAN, no targets).
 * note(context, name, out, cap) gives a provenance value. */
void session_config_from_notes(struct session_config *c,
                               bool (*note)(const void *context, const char *name, char *out, size_t cap),
                               const void *context);

#endif
