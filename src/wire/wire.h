/* wire.h - bytes to packets, and packets to bytes. Pure: no I/O, no clock, no allocation.
 *
 * In:  bytes as a board sends them, in pieces of any size.   Out: checked packets, one at a time.
 * How: text lines end with a newline, binary packets are COBS-coded and end with 0x00. The decoder
 *      tells which of the two it hears by itself: until the first good line or packet it tries both,
 *      after it the other's terminator is ordinary data. WIRE_GIVE_UP_UNITS bad ones in a row, or one
 *      that is longer than any packet can be, make it listen for both again.
 * The format to the byte is in hardware/WIRE.md.
 *
 *      case 1   junk, then a packet          junk is one bad unit, counted       (test: leading_junk)
 *      case 2   wrong CRC                    skipped, n_bad_crc                  (test: wrong_crc)
 *      case 3   cut packet, then a good one  both are skipped up to the next     (test: cut_packet)
 *                                            terminator, then in step again
 *      case 4   sequence jumps by n          n - 1 lost, on the next packet      (test: sequence_gap)
 *      case 5   the same packet again        dropped, n_duplicates               (test: duplicate)
 *      case 6   hello of a newer major       refused with a sentence, and all    (test: newer_major)
 *                                            packets after it, until a hello that can be read
 *      case 7   unknown type, unknown key    skipped and counted                 (test: unknown_type)
 *
 * Text lines carry no sequence: lines that were lost show as a gap in t_us, which sense counts. A text
 * line means cells or switches or a mat by the hello before it; before any hello it is counted in
 * n_before_hello and dropped, unless wire_set_text_kind() said what to expect.
 *
 * Delay: none, a packet is out with its last byte.  Memory: the struct (about 45 kB), nothing else.
 * Threads: one at a time per decoder.  Errors: none; all that is wrong is counted in health.
 */
#ifndef WIRE_WIRE_H
#define WIRE_WIRE_H

#include "base/err.h"
#include "wire/packet.h"

#include <stddef.h>

#define WIRE_VERSION_MAJOR 1
#define WIRE_VERSION_MINOR 0
#define WIRE_BAUD_DEFAULT  115200

/* A packet before COBS: type, sequence, time, payload, CRC. The largest is a sparse mat in which every
 * other element is loaded; an encoder sends such a mat dense. */
#define WIRE_RAW_MAX       12544
#define WIRE_ENCODED_MAX   (WIRE_RAW_MAX + WIRE_RAW_MAX / 254 + 2)
#define WIRE_LINE_MAX      4096 /* text: characters in a line, newline included */
#define WIRE_GIVE_UP_UNITS 8    /* bad lines or packets in a row before listening for both again */
#define WIRE_RECENT        8    /* packets that are remembered to tell a repeated one */

/* Packet types on the wire. The device's own are below 0x80. */
enum wire_type {
    WIRE_HELLO = 0x01,
    WIRE_MAT_DENSE = 0x02,
    WIRE_MAT_SPARSE = 0x03,
    WIRE_CELLS = 0x04,
    WIRE_SWITCHES = 0x05,
    WIRE_STATUS = 0x06,
    WIRE_ASK_HELLO = 0x81, /* from here on host to device */
    WIRE_START = 0x82,
    WIRE_STOP = 0x83,
    WIRE_SET_RATE = 0x84,
};

/* Bits of a status packet's code. */
enum wire_status {
    WIRE_STATUS_OVERRUN = 1 << 0,    /* the board dropped samples of its own */
    WIRE_STATUS_FAULT = 1 << 1,      /* a sensor line is open or shorted */
    WIRE_STATUS_LOW_SUPPLY = 1 << 2, /* battery or supply is low */
    WIRE_STATUS_STOPPED = 1 << 3,    /* told to stop, sends no data */
};

enum wire_mode {
    WIRE_MODE_UNKNOWN = 0, /* nothing good heard yet: both are tried */
    WIRE_MODE_TEXT,
    WIRE_MODE_BINARY,
};

/* All that was seen; counters only grow. */
struct wire_health {
    uint64_t n_bytes;
    uint64_t n_packets;      /* given out, hellos too */
    uint64_t n_bad_crc;      /* a whole unit whose checksum is wrong */
    uint64_t n_malformed;    /* no packet at all: junk, bad COBS, not a line of ours, bad numbers */
    uint64_t n_too_long;     /* more bytes than any packet has, without a terminator */
    uint64_t n_unknown_type; /* a checked packet of a type, or kind, that we do not know */
    uint64_t n_unknown_keys; /* keys of text hellos that we do not know */
    uint64_t n_newer_minor;  /* hellos of a newer minor version, read as far as we know them */
    uint64_t n_refused;      /* packets dropped since a hello of a newer major version */
    uint64_t n_before_hello; /* text lines that nobody has said the meaning of yet */
    uint64_t n_duplicates;
    uint64_t n_lost; /* packets missing by sequence */
};

struct wire_recent {
    uint32_t t_us;
    uint16_t crc;
    uint8_t sequence, type;
    bool is_set;
};

/* Large: keep one per link, static or on the heap at start. All fields are the decoder's own, but
 * health, which may be read at any time from the same thread. */
struct wire_decoder {
    struct wire_health health;
    enum wire_mode mode;
    struct packet packet; /* the finished packet while has_packet */
    bool has_packet;
    bool is_refusing; /* a newer major version speaks */
    bool has_sequence;
    uint8_t last_sequence;
    bool has_hello;
    struct packet_hello hello;  /* the last one that was read */
    enum packet_kind text_kind; /* what a text line means */
    int n_bad_in_a_row;
    struct wire_recent recent[WIRE_RECENT];
    int recent_at;
    uint32_t n_lost_pending; /* lost before packets that were not given out */
    bool is_skipping;        /* too long: dropping up to the next terminator */
    size_t len, line_start;  /* bytes in buffer; where the text line being read begins */
    uint8_t buffer[WIRE_ENCODED_MAX];
    uint8_t raw[WIRE_RAW_MAX]; /* a packet without its COBS */
    int refused_version; /* valid with is_refusing */
};

void wire_init(struct wire_decoder *d);

/* Forgets half-read bytes and the sequence, after a link was opened again. Keeps health and hello. */
void wire_reset(struct wire_decoder *d);

/* Bytes are known to be missing before those that come: as wire_reset(), and the rest of what they cut is not read
 * as if it were whole (half a text line may look like one), up to the next terminator. */
void wire_skip(struct wire_decoder *d);

/* Says what text lines mean before their board's hello, from a sensor profile; UNKNOWN takes it back. */
void wire_set_text_kind(struct wire_decoder *d, enum packet_kind kind);

/* Reads bytes (borrowed) up to and including the one that finishes a packet, or all of them. arrived is
 * when they were read. Returns how many were used: feed the rest again after wire_take().
 * Precondition: the packet before was taken. */
size_t wire_feed(struct wire_decoder *d, const uint8_t *bytes, size_t len, struct host_time arrived);

/* The finished packet, borrowed until the next wire_feed(); NULL when there is none. */
const struct packet *wire_take(struct wire_decoder *d);

/* The newer major version of the wire format for which packets are refused; 0 when they are not. */
int wire_refusal(const struct wire_decoder *d);

/* How a packet is to be put on the wire. */
struct wire_form {
    bool is_text;
    bool has_crc;     /* text: end lines with *CRC; binary always has it */
    bool is_sparse;   /* mat: runs of loaded elements, dense where that is not shorter */
    int bits;         /* mat 8 or 12; switches 1, 8, or more for 16; larger counts are clipped */
    int noise_counts; /* sparse mat: elements at or below it are sent as 0, but for one or two in a
                       * row between loaded ones, which are sent as they are */
};
struct wire_form wire_form_default(void); /* binary, dense, 12 bits */

/* Puts one packet (type, sequence, t_us, and its payload or hello) into out, terminator included.
 * Returns its length in bytes, or 0 when cap is too small (WIRE_ENCODED_MAX always suffices for
 * binary) or text cannot carry it (status). Text ignores the sequence. */
size_t wire_encode(const struct packet *p, const struct wire_form *form, uint8_t *out, size_t cap);

/* A message from host to device, in both tongues, since the host may not know which one is spoken:
 * newline, text line, newline, 0x00, binary packet, 0x00. type: WIRE_ASK_HELLO and above. rate_hz
 * only for WIRE_SET_RATE. Returns its length; 64 bytes always suffice. */
size_t wire_encode_ask(enum wire_type type, uint8_t sequence, double rate_hz, uint8_t *out, size_t cap);

/* The board's ear: finds the host's messages in what it sends, in either tongue. */
struct wire_ask {
    uint8_t buffer[32];
    size_t len;
    bool is_skipping;
    double rate_hz; /* valid after WIRE_SET_RATE was answered */
};
void wire_ask_init(struct wire_ask *a);

/* One byte from the host. Returns the message's type when this byte finished one, else 0. A host that
 * speaks both tongues is heard twice: every message may be obeyed twice. */
int wire_ask_feed(struct wire_ask *a, uint8_t byte);

#endif
