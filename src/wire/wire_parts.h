/* wire_parts.h - what the files of link/wire share: COBS, the packet writer, the two parsers.
 *
 * Nobody outside link/wire*.c includes this but the tests of its parts.
 */
#ifndef WIRE_WIRE_PARTS_H
#define WIRE_WIRE_PARTS_H

#include "wire/wire.h"

#define WIRE_RAW_HEAD 6 /* type u8, sequence u8, t_us u32 */
#define WIRE_RAW_TAIL 2 /* CRC-16 */

/* Takes one COBS packet (Cheshire & Baker 1999) from bytes. > 0: bytes used, terminator included, and
 * raw_len bytes are in raw; 0: no terminator yet; < 0: bad code, or more than cap. An extra 01 after a
 * last full block is accepted. */
ptrdiff_t wire_cobs_take(const uint8_t *bytes, size_t len, uint8_t *raw, size_t cap, size_t *raw_len);

/* Codes len bytes and ends them with 0x00. Returns the length, 0 when cap is too small. */
size_t wire_cobs_put(const uint8_t *bytes, size_t len, uint8_t *out, size_t cap);

/* Writes one binary packet byte by byte: COBS and CRC on the way, no second buffer. */
struct wire_writer {
    uint8_t *out;
    size_t cap, len, code_at;
    bool is_block_full; /* the next byte begins a new block */
    bool has_overflown;
    uint16_t crc;
};
void wire_writer_begin(struct wire_writer *w, uint8_t *out, size_t cap, enum wire_type type, uint8_t sequence,
                       uint32_t t_us);
void wire_writer_u8(struct wire_writer *w, uint8_t v);
void wire_writer_u16(struct wire_writer *w, uint16_t v);
void wire_writer_u32(struct wire_writer *w, uint32_t v);
/* CRC and terminator. Returns the packet's length on the wire, 0 when it did not fit. */
size_t wire_writer_end(struct wire_writer *w);

/* What one whole line or packet turned out to be. */
enum wire_unit {
    WIRE_UNIT_PACKET = 0,
    WIRE_UNIT_NOTHING, /* empty, or a remark */
    WIRE_UNIT_MALFORMED,
    WIRE_UNIT_BAD_CRC,
    WIRE_UNIT_UNKNOWN,      /* checked, but of a type or kind we do not know */
    WIRE_UNIT_BEFORE_HELLO, /* a text line whose meaning is not known yet */
    WIRE_UNIT_NEWER_MAJOR,  /* p->hello.version_* are set */
};

/* Reads one text line, without its newline. hello: the last one, NULL before any; kind: what a data
 * line means. Fills *p; n_unknown_keys is added to. */
enum wire_unit wire_text_read(const uint8_t *line, size_t len, const struct packet_hello *hello,
                              enum packet_kind kind, struct packet *p, uint64_t *n_unknown_keys);

/* Checks length and CRC of a packet without its COBS. */
enum wire_unit wire_binary_check(const uint8_t *raw, size_t len);

/* Reads the payload of a checked packet into *p. */
enum wire_unit wire_binary_read(const uint8_t *raw, size_t len, struct packet *p);

/* False when a hello's numbers are out of range, for either tongue. */
bool wire_hello_is_sane(const struct packet_hello *h);

/* The name of a zone is shown as it is: it has letters and digits, and nothing that a terminal obeys. */
static inline bool
wire_is_zone_sign(char c)
{
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

/* Text of a packet; see wire_encode(). */
size_t wire_text_write(const struct packet *p, const struct wire_form *form, uint8_t *out, size_t cap);

#endif
