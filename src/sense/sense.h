/* sense.h - packets to frames: the one entry of the stage.
 *
 * In:  packets of one board, in order of arrival.   Out: at most one calibrated frame per packet.
 * How: the board's hello and the profile together say what the elements are; without a profile a
 *      sensible one is made from the hello, and the frames are FRAME_RELATIVE. With a profile data
 *      may come before any hello. A profile of another kind or size than the board is refused: no
 *      frames, why[] says it.
 * Lost frames: counted by the time between frames (interval.h), since a sequence also counts hellos; a
 *      sequence without a gap excuses an uneven clock. The frame after the gap carries FRAME_GAP_BEFORE
 *      and the count.
 *
 * Delay: none.  Memory: the struct (large), nothing else; images in a frame are borrowed from it until
 * the next feed.  Threads: one at a time.  Errors: counted in health.
 */
#ifndef SENSE_SENSE_H
#define SENSE_SENSE_H

#include "base/err.h"
#include "base/message.h"
#include "sense/devclock.h"
#include "sense/frame.h"
#include "sense/interval.h"
#include "sense/profile.h"
#include "wire/packet.h"

struct sense_health {
    uint64_t n_frames;
    uint64_t n_lost;    /* frames */
    uint64_t n_dropped; /* repeated or late packets */
    uint64_t n_restarts;
    uint64_t n_mismatched; /* data that do not fit the profile: other kind or size */
    uint64_t n_unready;    /* data before any hello, without a profile */
    uint64_t n_saturated;  /* frames with FRAME_SATURATED */
    uint64_t n_beyond;     /* frames of a calibrated sensor with more than SENSE_BEYOND_N: its gain is not what it says */
    double force_max_n;    /* largest force so far */
    uint32_t status_code;  /* bits of the board's status packets so far (enum wire_status) */
};

/* No runner lands with so much: 200 kg at 5 body weights. */
#define SENSE_BEYOND_N 10000.0

struct sense {
    struct sense_profile profile; /* valid when is_ready */
    bool has_profile;             /* given, not made from the hello */
    bool is_ready;
    bool has_hello;
    struct packet_hello hello;
    struct devclock clock;
    struct interval interval;
    bool has_frame; /* one went out */
    struct dev_time last_time;
    double rate_hz;          /* nominal; NAN when neither profile nor hello says */
    bool is_gap_noted;       /* by sense_note_gap(), for the next frame */
    uint32_t n_lost_pending; /* lost by sequence before packets that made no frame */
    struct sense_health health;
    struct frame_image image;
    struct frame_switches switches;
    struct message why; /* empty unless profile and board do not fit */
};

/* profile: copied; NULL to take what the hello says. */
void sense_init(struct sense *s, const struct sense_profile *profile);

/* True: *out is a frame. False: the packet made none (hello, status, repeated, not fitting). */
bool sense_feed(struct sense *s, const struct packet *p, struct frame *out);

/* Data are known to be missing before the next packet, however little its clock shows of it: the next frame
 * carries FRAME_GAP_BEFORE. */
void sense_note_gap(struct sense *s);

/* True when a board that says h of itself may be the one that was heard before: what it says is the same, or nothing
 * was said yet. */
bool sense_knows(const struct sense *s, const struct packet_hello *h);

/* How often frames will come; NAN when not known. Valid when s->is_ready. */
double sense_rate_hz(const struct sense *s);

/* The wire's word for the profile's kind, for wire_set_text_kind(). */
enum packet_kind sense_packet_kind(const struct sense_profile *profile);

#endif
