/* wire_cobs.c - consistent overhead byte stuffing, and the packet writer that codes on the way. */
#include "wire/crc16.h"
#include "wire/wire_parts.h"

#include <string.h>

#define COBS_FULL 0xFF /* a block of 254 data bytes with no 0 after it */

ptrdiff_t
wire_cobs_take(const uint8_t *bytes, size_t len, uint8_t *raw, size_t cap, size_t *raw_len)
{
    const uint8_t *end = memchr(bytes, 0, len);
    if (end == NULL)
        return 0;
    size_t n_coded = (size_t) (end - bytes);
    size_t at = 0, n = 0;
    while (at < n_coded) {
        size_t n_data = (size_t) bytes[at] - 1;
        at++;
        if (n_data > n_coded - at || n_data > cap - n)
            return -1;
        memcpy(raw + n, bytes + at, n_data);
        n += n_data;
        at += n_data;
        if (n_data + 1 != COBS_FULL && at < n_coded) {
            if (n >= cap)
                return -1;
            raw[n++] = 0;
        }
    }
    *raw_len = n;
    return (ptrdiff_t) n_coded + 1;
}

static void
writer_start(struct wire_writer *w, uint8_t *out, size_t cap)
{
    *w = (struct wire_writer){ .out = out, .cap = cap, .is_block_full = true, .crc = CRC16_START };
}

static void
writer_append(struct wire_writer *w, uint8_t byte)
{
    if (w->len >= w->cap) {
        w->has_overflown = true;
        return;
    }
    w->out[w->len++] = byte;
}

static void
writer_open_block(struct wire_writer *w)
{
    w->code_at = w->len;
    writer_append(w, 1);
    w->is_block_full = false;
}

/* One byte of the packet, coded. A full block is followed by a new one only when a byte follows: the
 * shortest form, which every decoder reads. */
static void
writer_code(struct wire_writer *w, uint8_t byte)
{
    if (w->is_block_full)
        writer_open_block(w);
    if (w->has_overflown)
        return;
    if (byte == 0) {
        writer_open_block(w);
        return;
    }
    writer_append(w, byte);
    if (w->has_overflown)
        return;
    w->out[w->code_at]++;
    w->is_block_full = w->out[w->code_at] == COBS_FULL;
}

static size_t
writer_finish(struct wire_writer *w)
{
    writer_append(w, 0);
    return w->has_overflown ? 0 : w->len;
}

size_t
wire_cobs_put(const uint8_t *bytes, size_t len, uint8_t *out, size_t cap)
{
    struct wire_writer w;
    writer_start(&w, out, cap);
    if (len == 0)
        writer_open_block(&w);
    for (size_t i = 0; i < len; i++)
        writer_code(&w, bytes[i]);
    return writer_finish(&w);
}

void
wire_writer_u8(struct wire_writer *w, uint8_t v)
{
    w->crc = crc16_add(w->crc, v);
    writer_code(w, v);
}

void
wire_writer_u16(struct wire_writer *w, uint16_t v)
{
    wire_writer_u8(w, (uint8_t) (v & 0xFF));
    wire_writer_u8(w, (uint8_t) (v >> 8));
}

void
wire_writer_u32(struct wire_writer *w, uint32_t v)
{
    wire_writer_u16(w, (uint16_t) (v & 0xFFFF));
    wire_writer_u16(w, (uint16_t) (v >> 16));
}

void
wire_writer_begin(struct wire_writer *w, uint8_t *out, size_t cap, enum wire_type type, uint8_t sequence,
                  uint32_t t_us)
{
    writer_start(w, out, cap);
    wire_writer_u8(w, (uint8_t) type);
    wire_writer_u8(w, sequence);
    wire_writer_u32(w, t_us);
}

size_t
wire_writer_end(struct wire_writer *w)
{
    uint16_t crc = w->crc;
    wire_writer_u16(w, crc);
    return writer_finish(w);
}
