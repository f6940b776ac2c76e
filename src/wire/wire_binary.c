/* wire_binary.c - payloads of binary packets to struct packet. Layouts: hardware/WIRE.md. */
#include "wire/crc16.h"
#include "wire/wire_parts.h"

#include <string.h>

/* Reads from a payload; a read past its end makes it bad and gives 0. */
struct reader {
    const uint8_t *at;
    size_t left;
    bool is_bad;
};

static uint8_t
read_u8(struct reader *r)
{
    if (r->left < 1) {
        r->is_bad = true;
        return 0;
    }
    r->left--;
    return *r->at++;
}

static uint16_t
read_u16(struct reader *r)
{
    unsigned low = read_u8(r);
    return (uint16_t) (low | (unsigned) read_u8(r) << 8);
}

static uint32_t
read_u32(struct reader *r)
{
    uint32_t low = read_u16(r);
    return low | (uint32_t) read_u16(r) << 16;
}

enum wire_unit
wire_binary_check(const uint8_t *raw, size_t len)
{
    if (len < WIRE_RAW_HEAD + WIRE_RAW_TAIL)
        return WIRE_UNIT_MALFORMED;
    size_t n = len - WIRE_RAW_TAIL;
    unsigned sent = raw[n] | (unsigned) raw[n + 1] << 8;
    return crc16(raw, n) == sent ? WIRE_UNIT_PACKET : WIRE_UNIT_BAD_CRC;
}

bool
wire_hello_is_sane(const struct packet_hello *h)
{
    if (!(h->rate_hz > 0) || h->rate_hz > 100000 || h->full_scale_counts < 1)
        return false;
    switch (h->kind) {
    case PACKET_KIND_MAT:
        return h->n_rows >= 1 && h->n_rows <= PACKET_MAX_ROWS && h->n_cols >= 1 &&
               h->n_cols <= PACKET_MAX_COLS && h->n_rows * h->n_cols <= PACKET_MAX_ELEMENTS &&
               h->full_scale_counts <= (int32_t) UINT16_MAX;
    case PACKET_KIND_CELLS:
        return h->n_channels >= 1 && h->n_channels <= PACKET_MAX_CELLS;
    case PACKET_KIND_SWITCHES:
        return h->n_channels >= 1 && h->n_channels <= PACKET_MAX_ZONES &&
               h->full_scale_counts <= (int32_t) UINT16_MAX;
    case PACKET_KIND_UNKNOWN:
        break;
    }
    return false;
}

static enum wire_unit
read_hello(struct reader *r, struct packet *p)
{
    struct packet_hello *h = &p->hello;
    memset(h, 0, sizeof *h);
    h->version_major = read_u8(r);
    h->version_minor = read_u8(r);
    if (r->is_bad)
        return WIRE_UNIT_MALFORMED;
    if (h->version_major > WIRE_VERSION_MAJOR)
        return WIRE_UNIT_NEWER_MAJOR;
    unsigned kind = read_u8(r);
    h->is_binary_switches = (read_u8(r) & 1) != 0;
    h->rate_hz = (double) read_u32(r) / 1000.0;
    uint32_t full = read_u32(r);
    h->n_rows = read_u8(r);
    h->n_cols = read_u8(r);
    h->pitch_fwd_mm = read_u16(r) / 100.0;
    h->pitch_right_mm = read_u16(r) / 100.0;
    h->n_channels = read_u8(r);
    if (r->is_bad || full > INT32_MAX)
        return WIRE_UNIT_MALFORMED;
    h->full_scale_counts = (int) full;
    if (kind < PACKET_KIND_MAT || kind > PACKET_KIND_SWITCHES)
        return WIRE_UNIT_UNKNOWN;
    h->kind = (enum packet_kind) kind;
    if (!wire_hello_is_sane(h))
        return WIRE_UNIT_MALFORMED;
    if (h->kind == PACKET_KIND_SWITCHES)
        for (int i = 0; i < h->n_channels; i++)
            for (int k = 0; k < PACKET_ZONE_NAME_MAX - 1; k++)
                h->zone_name[i][k] = (char) read_u8(r);
    for (int i = 0; h->kind == PACKET_KIND_SWITCHES && i < h->n_channels; i++)
        for (const char *sign = h->zone_name[i]; *sign != '\0'; sign++)
            if (!wire_is_zone_sign(*sign))
                return WIRE_UNIT_MALFORMED;
    return r->is_bad ? WIRE_UNIT_MALFORMED : WIRE_UNIT_PACKET;
}

/* n elements from byte-aligned 8- or 12-bit packing (two 12-bit elements in three bytes). */
static void
read_elements(struct reader *r, int bits, uint16_t *out, size_t n)
{
    for (size_t i = 0; i < n && !r->is_bad; i++) {
        if (bits == 8) {
            out[i] = read_u8(r);
        } else if (i % 2 == 0) {
            unsigned low = read_u8(r), high = read_u8(r);
            out[i] = (uint16_t) (low | (high & 0x0F) << 8);
            if (i + 1 < n)
                out[i + 1] = (uint16_t) (high >> 4);
        } else {
            out[i] = (uint16_t) (out[i] | (unsigned) read_u8(r) << 4);
        }
    }
}

static enum wire_unit
read_mat(struct reader *r, bool is_sparse, struct packet *p)
{
    p->n_rows = read_u8(r);
    p->n_cols = read_u8(r);
    int bits = read_u8(r);
    size_t n = (size_t) p->n_rows * (size_t) p->n_cols;
    if (r->is_bad || n < 1 || p->n_rows > PACKET_MAX_ROWS || p->n_cols > PACKET_MAX_COLS ||
        n > PACKET_MAX_ELEMENTS || (bits != 8 && bits != 12))
        return WIRE_UNIT_MALFORMED;
    p->type = PACKET_MAT;
    p->n_values = (int) n;
    if (!is_sparse) {
        read_elements(r, bits, p->mat_counts, n);
    } else {
        memset(p->mat_counts, 0, n * sizeof p->mat_counts[0]);
        size_t at = 0;
        while (r->left > 0 && !r->is_bad) {
            at += read_u8(r);
            size_t n_run = read_u8(r);
            if (r->is_bad || at > n || n_run > n - at)
                return WIRE_UNIT_MALFORMED;
            read_elements(r, bits, p->mat_counts + at, n_run);
            at += n_run;
        }
    }
    return r->is_bad || r->left > 0 ? WIRE_UNIT_MALFORMED : WIRE_UNIT_PACKET;
}

static enum wire_unit
read_cells(struct reader *r, struct packet *p)
{
    int n = read_u8(r);
    if (r->is_bad || n < 1 || n > PACKET_MAX_CELLS || r->left != 4 * (size_t) n)
        return WIRE_UNIT_MALFORMED;
    p->type = PACKET_CELLS;
    p->n_values = n;
    for (int i = 0; i < n; i++) {
        uint32_t v = read_u32(r);
        /* Two's complement without an implementation-defined conversion. */
        p->channel_counts[i] = v <= INT32_MAX ? (int32_t) v : -(int32_t) (UINT32_MAX - v) - 1;
    }
    return WIRE_UNIT_PACKET;
}

static enum wire_unit
read_switches(struct reader *r, struct packet *p)
{
    int n = read_u8(r), bits = read_u8(r);
    if (r->is_bad || n < 1 || n > PACKET_MAX_ZONES)
        return WIRE_UNIT_MALFORMED;
    p->type = PACKET_SWITCHES;
    p->n_values = n;
    uint8_t mask = bits == 1 ? read_u8(r) : 0;
    for (int i = 0; i < n; i++) {
        if (bits == 1)
            p->channel_counts[i] = mask >> i & 1;
        else if (bits == 8)
            p->channel_counts[i] = read_u8(r);
        else if (bits == 16)
            p->channel_counts[i] = read_u16(r);
        else
            return WIRE_UNIT_MALFORMED;
    }
    return r->is_bad || r->left > 0 ? WIRE_UNIT_MALFORMED : WIRE_UNIT_PACKET;
}

enum wire_unit
wire_binary_read(const uint8_t *raw, size_t len, struct packet *p)
{
    struct reader r = { raw, len - WIRE_RAW_TAIL, false };
    int type = read_u8(&r);
    p->sequence = read_u8(&r);
    p->has_sequence = true;
    p->t_us = read_u32(&r);
    p->n_values = p->n_rows = p->n_cols = 0;
    switch (type) {
    case WIRE_HELLO:
        p->type = PACKET_HELLO;
        return read_hello(&r, p);
    case WIRE_MAT_DENSE:
    case WIRE_MAT_SPARSE:
        return read_mat(&r, type == WIRE_MAT_SPARSE, p);
    case WIRE_CELLS:
        return read_cells(&r, p);
    case WIRE_SWITCHES:
        return read_switches(&r, p);
    case WIRE_STATUS:
        p->type = PACKET_STATUS;
        p->status_code = read_u32(&r);
        return r.is_bad ? WIRE_UNIT_MALFORMED : WIRE_UNIT_PACKET;
    default:
        return WIRE_UNIT_UNKNOWN;
    }
}
