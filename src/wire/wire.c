#include "wire/wire.h"
#include "wire/wire_parts.h"

#include <string.h>

void
wire_init(struct wire_decoder *d)
{
    memset(d, 0, sizeof *d);
}

void
wire_reset(struct wire_decoder *d)
{
    d->mode = WIRE_MODE_UNKNOWN;
    d->has_packet = false;
    d->has_sequence = false;
    d->n_lost_pending = 0;
    d->n_bad_in_a_row = 0;
    d->is_skipping = false;
    d->len = d->line_start = 0;
    memset(d->recent, 0, sizeof d->recent);
}

void
wire_skip(struct wire_decoder *d)
{
    wire_reset(d);
    d->is_skipping = true;
}

void
wire_set_text_kind(struct wire_decoder *d, enum packet_kind kind)
{
    d->text_kind = kind;
}

static void
note_bad(struct wire_decoder *d, uint64_t *counter)
{
    (*counter)++;
    if (++d->n_bad_in_a_row >= WIRE_GIVE_UP_UNITS) {
        d->mode = WIRE_MODE_UNKNOWN;
        d->n_bad_in_a_row = 0;
    }
}

/* A readable unit: from now on its tongue is the one that is spoken. */
static void
note_good(struct wire_decoder *d, enum wire_mode mode)
{
    d->mode = mode;
    d->n_bad_in_a_row = 0;
}

static void
refuse(struct wire_decoder *d)
{
    d->refused_version = d->packet.hello.version_major;
    d->is_refusing = true;
    d->health.n_refused++;
}

/* The last checks on a packet that was read well, then it is out. */
static void
finish_packet(struct wire_decoder *d, struct host_time arrived)
{
    struct packet *p = &d->packet;
    if (p->type == PACKET_HELLO) {
        d->is_refusing = false;
        d->hello = p->hello;
        d->has_hello = true;
        d->text_kind = p->hello.kind;
        if (p->hello.version_major == WIRE_VERSION_MAJOR && p->hello.version_minor > WIRE_VERSION_MINOR)
            d->health.n_newer_minor++;
    } else if (d->is_refusing) {
        d->health.n_refused++;
        return;
    }
    p->arrived = arrived;
    p->n_lost_before = d->n_lost_pending;
    d->n_lost_pending = 0;
    d->has_packet = true;
    d->health.n_packets++;
}

/* True when this very packet came a moment ago. */
static bool
is_duplicate(struct wire_decoder *d, const uint8_t *raw, size_t len)
{
    struct wire_recent now = {
        .type = raw[0],
        .sequence = raw[1],
        .t_us = raw[2] | (uint32_t) raw[3] << 8 | (uint32_t) raw[4] << 16 | (uint32_t) raw[5] << 24,
        .crc = (uint16_t) (raw[len - 2] | (unsigned) raw[len - 1] << 8),
        .is_set = true,
    };
    for (int i = 0; i < WIRE_RECENT; i++) {
        const struct wire_recent *r = &d->recent[i];
        if (r->is_set && r->type == now.type && r->sequence == now.sequence && r->t_us == now.t_us &&
            r->crc == now.crc)
            return true;
    }
    d->recent[d->recent_at] = now;
    d->recent_at = (d->recent_at + 1) % WIRE_RECENT;
    return false;
}

/* Counts what is missing before sequence. A hello numbered 0 is a board that has just started: what
 * came before it belongs to another life. */
static void
follow_sequence(struct wire_decoder *d, uint8_t type, uint8_t sequence)
{
    bool is_start = type == WIRE_HELLO && sequence == 0;
    if (d->has_sequence && !is_start) {
        unsigned n_lost = (uint8_t) (sequence - d->last_sequence - 1);
        d->n_lost_pending += n_lost;
        d->health.n_lost += n_lost;
    }
    d->last_sequence = sequence;
    d->has_sequence = true;
}

/* The buffer holds one whole binary packet, its terminator too. */
static void
end_binary(struct wire_decoder *d, struct host_time arrived)
{
    size_t raw_len = 0;
    size_t len = d->len;
    d->len = d->line_start = 0;
    if (len == 1)
        return;
    if (wire_cobs_take(d->buffer, len, d->raw, sizeof d->raw, &raw_len) <= 0) {
        note_bad(d, &d->health.n_malformed);
        return;
    }
    enum wire_unit unit = wire_binary_check(d->raw, raw_len);
    if (unit != WIRE_UNIT_PACKET) {
        note_bad(d, unit == WIRE_UNIT_BAD_CRC ? &d->health.n_bad_crc : &d->health.n_malformed);
        return;
    }
    note_good(d, WIRE_MODE_BINARY);
    if (is_duplicate(d, d->raw, raw_len)) {
        d->health.n_duplicates++;
        return;
    }
    follow_sequence(d, d->raw[0], d->raw[1]);
    unit = wire_binary_read(d->raw, raw_len, &d->packet);
    if (unit == WIRE_UNIT_PACKET)
        finish_packet(d, arrived);
    else if (unit == WIRE_UNIT_NEWER_MAJOR)
        refuse(d);
    else if (unit == WIRE_UNIT_UNKNOWN)
        d->health.n_unknown_type++;
    else
        d->health.n_malformed++;
}

/* The buffer holds one whole text line from line_start on, its newline too. While the tongue is not
 * known, a line that says nothing stays in the buffer: it may be the inside of a binary packet. */
static void
end_line(struct wire_decoder *d, struct host_time arrived)
{
    size_t start = d->line_start, len = d->len - d->line_start - 1;
    bool is_sure = d->mode == WIRE_MODE_TEXT;
    enum wire_unit unit = WIRE_UNIT_MALFORMED;
    if (len < WIRE_LINE_MAX)
        unit = wire_text_read(d->buffer + start, len, d->has_hello ? &d->hello : NULL, d->text_kind,
                              &d->packet, &d->health.n_unknown_keys);
    bool says_something = unit == WIRE_UNIT_PACKET || unit == WIRE_UNIT_BEFORE_HELLO ||
                          unit == WIRE_UNIT_NEWER_MAJOR || unit == WIRE_UNIT_UNKNOWN;
    if (!is_sure && !says_something) {
        d->line_start = d->len;
        return;
    }
    d->len = d->line_start = 0;
    if (says_something) {
        if (!is_sure && start > 0)
            d->health.n_malformed++; /* what came before the first good line */
        note_good(d, WIRE_MODE_TEXT);
        d->has_sequence = false;
    }
    switch (unit) {
    case WIRE_UNIT_PACKET:
        finish_packet(d, arrived);
        break;
    case WIRE_UNIT_NEWER_MAJOR:
        refuse(d);
        break;
    case WIRE_UNIT_UNKNOWN:
        d->health.n_unknown_type++;
        break;
    case WIRE_UNIT_BEFORE_HELLO:
        if (d->is_refusing)
            d->health.n_refused++;
        else
            d->health.n_before_hello++;
        break;
    case WIRE_UNIT_BAD_CRC:
        note_bad(d, &d->health.n_bad_crc);
        break;
    case WIRE_UNIT_MALFORMED:
        note_bad(d, &d->health.n_malformed);
        break;
    case WIRE_UNIT_NOTHING:
        break;
    }
}

/* One byte. What it ends depends on the tongue; everything else waits in the buffer. */
static void
feed_byte(struct wire_decoder *d, uint8_t byte, struct host_time arrived)
{
    bool ends_binary = byte == 0;
    bool ends_line = byte == '\n' && d->mode != WIRE_MODE_BINARY;
    d->health.n_bytes++;
    if (d->is_skipping) {
        if (ends_binary || ends_line) {
            d->is_skipping = false;
            d->len = d->line_start = 0;
        }
        return;
    }
    d->buffer[d->len++] = byte;
    size_t max = d->mode == WIRE_MODE_TEXT ? WIRE_LINE_MAX : sizeof d->buffer;
    if (ends_binary && d->mode == WIRE_MODE_TEXT) {
        d->len = d->line_start = 0;
        note_bad(d, &d->health.n_malformed);
    } else if (ends_binary) {
        end_binary(d, arrived);
    } else if (ends_line) {
        end_line(d, arrived);
    }
    if (d->len >= max) {
        d->health.n_too_long++;
        d->mode = WIRE_MODE_UNKNOWN;
        d->n_bad_in_a_row = 0;
        d->is_skipping = true;
        d->len = d->line_start = 0;
    }
}

size_t
wire_feed(struct wire_decoder *d, const uint8_t *bytes, size_t len, struct host_time arrived)
{
    size_t used = 0;
    while (used < len && !d->has_packet)
        feed_byte(d, bytes[used++], arrived);
    return used;
}

const struct packet *
wire_take(struct wire_decoder *d)
{
    if (!d->has_packet)
        return NULL;
    d->has_packet = false;
    return &d->packet;
}

int
wire_refusal(const struct wire_decoder *d)
{
    return d->is_refusing ? d->refused_version : 0;
}
