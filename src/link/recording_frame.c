#include "link/recording_frame.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

#define CRC_LEN 4

static void
put(uint8_t *out, uint64_t value, int n_bytes)
{
    for (int i = 0; i < n_bytes; i++)
        out[i] = (uint8_t) (value >> (8 * i) & 0xFF);
}

static uint64_t
get(const uint8_t *in, int n_bytes)
{
    uint64_t value = 0;
    for (int i = 0; i < n_bytes; i++)
        value |= (uint64_t) in[i] << (8 * i);
    return value;
}

uint32_t
recording_crc32(const void *bytes, size_t len)
{
    /* Half a byte at a time: a table of 16 is quick enough for a second of bytes, and can be read. */
    static const uint32_t half[16] = { 0x00000000, 0x1DB71064, 0x3B6E20C8, 0x26D930AC, 0x76DC4190, 0x6B6B51F4,
                                       0x4DB26158, 0x5005713C, 0xEDB88320, 0xF00F9344, 0xD6D6A3E8, 0xCB61B38C,
                                       0x9B64C2B0, 0x86D3D2D4, 0xA00AE278, 0xBDBDF21C };
    const uint8_t *p = bytes;
    uint32_t crc = UINT32_C(0xFFFFFFFF);
    for (size_t i = 0; i < len; i++) {
        crc ^= p[i];
        crc = crc >> 4 ^ half[crc & 0xF];
        crc = crc >> 4 ^ half[crc & 0xF];
    }
    return crc ^ UINT32_C(0xFFFFFFFF);
}

void
recording_frame_write(const struct recording_frame *h, uint8_t out[RECORDING_FRAME_HEAD_LEN])
{
    memset(out, 0, RECORDING_FRAME_HEAD_LEN);
    memcpy(out, RECORDING_FRAME_MARK, RECORDING_FRAME_MARK_LEN);
    out[4] = (uint8_t) h->kind;
    put(out + 8, h->index, 4);
    put(out + 12, h->stamp, 4);
    put(out + 16, h->packed_len, 4);
    put(out + 20, h->plain_len, 4);
    put(out + 24, h->offset, 8);
    put(out + 32, (uint64_t) h->time.us, 8);
    put(out + 40, h->packed_crc, 4);
    put(out + 44, recording_crc32(out, RECORDING_FRAME_HEAD_LEN - CRC_LEN), CRC_LEN);
}

bool
recording_frame_read(const uint8_t in[RECORDING_FRAME_HEAD_LEN], struct recording_frame *out)
{
    if (memcmp(in, RECORDING_FRAME_MARK, RECORDING_FRAME_MARK_LEN) != 0 || in[4] > RECORDING_FRAME_END_EARLY ||
        get(in + 44, CRC_LEN) != recording_crc32(in, RECORDING_FRAME_HEAD_LEN - CRC_LEN))
        return false;
    *out = (struct recording_frame){
        .kind = (enum recording_frame_kind) in[4],
        .index = (uint32_t) get(in + 8, 4),
        .stamp = (uint32_t) get(in + 12, 4),
        .packed_len = (uint32_t) get(in + 16, 4),
        .plain_len = (uint32_t) get(in + 20, 4),
        .offset = get(in + 24, 8),
        .time.us = (int64_t) get(in + 32, 8),
        .packed_crc = (uint32_t) get(in + 40, 4),
    };
    return out->plain_len <= RECORDING_FRAME_PLAIN_MAX && out->packed_len <= RECORDING_FRAME_PACKED_MAX;
}

static size_t
put_sevens(uint8_t *out, uint64_t value)
{
    size_t n = 0;
    for (; value > 0x7F; value >>= 7)
        out[n++] = (uint8_t) (value & 0x7F) | 0x80;
    out[n++] = (uint8_t) value;
    return n;
}

/* 0 when the bytes end before the number does, or it is longer than 64 bits. */
static size_t
get_sevens(const uint8_t *in, size_t len, uint64_t *value)
{
    *value = 0;
    for (size_t n = 0; n < len && n < 10; n++) {
        *value |= (uint64_t) (in[n] & 0x7F) << (7 * n);
        if (in[n] < 0x80)
            return n + 1;
    }
    return 0;
}

size_t
recording_item_write(uint8_t out[RECORDING_ITEM_HEAD_MAX], enum recording_kind kind, int64_t since_us, size_t len)
{
    const uint64_t zigzag = since_us < 0 ? (uint64_t) (-1 - since_us) << 1 | 1 : (uint64_t) since_us << 1;
    size_t n = 0;
    out[n++] = (uint8_t) kind;
    n += put_sevens(out + n, zigzag);
    return n + put_sevens(out + n, len);
}

size_t
recording_item_read(const uint8_t *in, size_t len, enum recording_kind *kind, int64_t *since_us, size_t *payload_len)
{
    uint64_t zigzag, payload;
    if (len == 0 || in[0] >= RECORDING_N_KINDS)
        return 0;
    const size_t n_time = get_sevens(in + 1, len - 1, &zigzag);
    const size_t n_len = n_time > 0 ? get_sevens(in + 1 + n_time, len - 1 - n_time, &payload) : 0;
    const size_t n = 1 + n_time + n_len;
    if (n_len == 0 || payload > len - n)
        return 0;
    *kind = (enum recording_kind) in[0];
    *since_us = (zigzag & 1) != 0 ? -1 - (int64_t) (zigzag >> 1) : (int64_t) (zigzag >> 1);
    *payload_len = (size_t) payload;
    return n;
}

size_t
recording_read_at(int fd, int64_t at, void *out, size_t len)
{
    size_t done = 0;
    while (done < len) {
        const ssize_t n = pread(fd, (char *) out + done, len - done, (off_t) (at + (int64_t) done));
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            break;
        done += (size_t) n;
    }
    return done;
}
