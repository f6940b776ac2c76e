/* pipeline.h - bytes to steps and verdicts: wire, sense, gait and coach as one synchronous object.
 *
 * In:  bytes with their arrival time.   Out: step records for the store, the verdict for the screen.
 * How: bytes -> wire -> packet -> sense -> frame -> engine -> step -> coach -> verdict, all in the call. The
 *      live display, a replay, the simulated runner and the tests use this same object.
 *
 * What comes out depends on the bytes and on the differences of their arrival times alone: a recording,
 * fed again, gives the same step records bit for bit, but for their arrived field. A silence of
 * PIPELINE_RESET_US between two feeds drops a half-read packet, which is how a link that was opened again
 * finds its feet, live and replayed alike.
 *
 *      case 1   no valid packet for 5 frame periods and PIPELINE_QUIET_MIN_US    quiet
 *      case 2   bytes come all the time, but no packet that long                 garbled
 *      case 3   a packet again                                                   live
 *      case 4   the board says something that does not fit                       garbled, with its sentence
 *
 * Memory: the struct (over 1 MB), nothing else.   Threads: one at a time.   No clock: now comes in.
 */
#ifndef LIVE_PIPELINE_H
#define LIVE_PIPELINE_H

#include "coach/coach.h"
#include "coach/coached_step.h"
#include "gait/engine.h"
#include "sense/sense.h"
#include "wire/wire.h"

#define PIPELINE_N_STEPS 256 /* records; over a minute of running */
#define PIPELINE_QUIET_MIN_US INT64_C(250000)
#define PIPELINE_QUIET_PERIODS 5
#define PIPELINE_RESET_US INT64_C(400000)
#define PIPELINE_N_SHOWN 64

struct pipeline_config {
    const struct sense_profile *profile; /* copied; NULL: what the board's hello says */
    double body_mass_kg, belt_speed_m_s, foot_length_mm, leg_length_mm; /* NAN: not known */
    struct coach_config coach;           /* its belt speed and foot length are filled from the above */
    /* Each packet with its frame, before gait has it: for who looks at the sensor itself. Must never wait. NULL: none. */
    void (*on_frame)(void *context, const struct packet *packet, const struct frame *frame);
    void *on_frame_context;
};

/* With what feedback a live step was made: its settled twin gets the same. */
struct pipeline_shown {
    uint32_t number;
    int block;
    bool is_feedback_shown;
};

struct pipeline {
    struct pipeline_config config;
    struct wire_decoder wire;
    struct sense sense;
    struct engine engine;
    struct coach coach;
    bool has_engine;
    bool is_ended;
    enum frame_kind kind;          /* valid when has_engine */
    struct host_time last_bytes;   /* valid when has_bytes */
    struct host_time last_packet;  /* of the last frame, or of the first byte before any */
    bool has_bytes;
    bool is_unfit;                 /* frames of another kind than the visit began with */
    struct pipeline_shown shown[PIPELINE_N_SHOWN];
    struct coached_step step[PIPELINE_N_STEPS];
    unsigned n_put, n_taken;       /* ever; waiting is the difference */
};

struct pipeline_config pipeline_config_default(void);

void pipeline_init(struct pipeline *p, const struct pipeline_config *config);

/* Reads bytes (borrowed) that arrived together. Returns how many were used: fewer than len only when
 * PIPELINE_N_STEPS steps wait; take them, then feed the rest. */
size_t pipeline_feed(struct pipeline *p, const uint8_t *bytes, size_t len, struct host_time arrived);

/* Bytes are known to be missing before those of the next feed (a damaged recording): what is half read is dropped,
 * and the next frame says that there is a gap before it, so that no step is made across it. */
void pipeline_note_gap(struct pipeline *p);

/* A command from the panel or the visit's flow. */
void pipeline_command(struct pipeline *p, const struct command *command);

/* The next step record, live or settled, with the block it belongs to and whether feedback was shown. */
bool pipeline_take_step(struct pipeline *p, struct coached_step *out);

/* True when no further record fits: pipeline_feed() uses no bytes until one is taken. */
bool pipeline_is_full(const struct pipeline *p);

/* Nothing came, and it is now `now` (the clock of the arrival times): silence is a state. */
void pipeline_tick(struct pipeline *p, struct host_time now);

/* The source is gone; why is told on the screens. */
void pipeline_set_gone(struct pipeline *p, const struct message *why);

/* End of data: what is open is settled; take steps after it until none is left. */
void pipeline_finish(struct pipeline *p);

void pipeline_verdict(const struct pipeline *p, struct verdict *out);

/* True once a calibrated frame came: kind and rate are known. */
bool pipeline_is_ready(const struct pipeline *p);

/* Why nothing can be read though something comes, for the operator; false when there is no reason known. */
bool pipeline_refusal(const struct pipeline *p, struct message *why);

/* "mat", "cells", "switches", "force"; "" before pipeline_is_ready(). Static storage. */
const char *pipeline_kind_name(const struct pipeline *p);

#endif
