#include "link/recording_v1.h"

#include "link/recording_frame.h"
#include "wire/crc16.h"

#define MARK 0xC5
#define PAUSE_MAX_US (INT64_C(86400) * UNITS_US_PER_S) /* between two chunks with damage between them */

/* What lies at a place in the file. */
enum found {
    FOUND_END,   /* the end of the file */
    FOUND_CHUNK, /* a whole one, now in v->chunk */
    FOUND_CUT,   /* the begin of one that the file's end cuts */
    FOUND_OTHER, /* no chunk, or a damaged one */
};

static enum found
look_at(struct recording_v1 *v, int64_t at)
{
    uint8_t head[RECORDING_V1_CHUNK_HEAD], tail[2];
    v->chunk_len = 0;
    const size_t n = recording_read_at(v->fd, at, head, sizeof head);
    if (n == 0)
        return FOUND_END;
    if (head[0] != MARK || (n > 1 && head[1] != 0))
        return FOUND_OTHER;
    const size_t len = n == sizeof head ? head[2] | (size_t) head[3] << 8 : 1;
    if (len < 1 || len > RECORDING_V1_CHUNK_MAX)
        return FOUND_OTHER;
    at += RECORDING_V1_CHUNK_HEAD;
    if (n < sizeof head || recording_read_at(v->fd, at, v->chunk, len) < len ||
        recording_read_at(v->fd, at + (int64_t) len, tail, 2) < 2)
        return FOUND_CUT;
    uint16_t crc = CRC16_START;
    for (size_t i = 0; i < sizeof head; i++)
        crc = crc16_add(crc, head[i]);
    for (size_t i = 0; i < len; i++)
        crc = crc16_add(crc, v->chunk[i]);
    if (crc != (tail[0] | (unsigned) tail[1] << 8))
        return FOUND_OTHER;
    uint64_t t_us = 0;
    for (int i = 7; i >= 0; i--)
        t_us = t_us << 8 | head[4 + i];
    v->found_time.us = t_us <= INT64_MAX ? (int64_t) t_us : 0;
    v->chunk_len = len;
    return FOUND_CHUNK;
}

/* Where the next mark stands, from that byte on; *end, the file's length, when there is none. */
static int64_t
next_mark(const struct recording_v1 *v, int64_t from, int64_t *end)
{
    uint8_t block[4096];
    size_t n;
    while ((n = recording_read_at(v->fd, from, block, sizeof block)) > 1) {
        for (size_t i = 0; i + 1 < n; i++)
            if (block[i] == MARK && block[i + 1] == 0)
                return from + (int64_t) i;
        from += (int64_t) n - 1;
    }
    *end = from + (int64_t) n;
    return *end;
}

/* The first whole chunk after a place where there is none. Its own CRC has only 16 bits, and a damaged chunk's
 * bytes may hold anything: so the time must go on sensibly, too. Returns where it is, or the file's length. */
static int64_t
next_whole(struct recording_v1 *v, int64_t from, bool *is_found)
{
    int64_t end = -1;
    for (int64_t at = from; (at = next_mark(v, at + 1, &end)) != end;) {
        *is_found = look_at(v, at) == FOUND_CHUNK && v->found_time.us >= v->time.us &&
                    v->found_time.us - v->time.us < PAUSE_MAX_US;
        if (*is_found)
            return at;
    }
    *is_found = false;
    return end;
}

bool
recording_v1_next(struct recording_v1 *v, struct recording_loss *loss)
{
    const int64_t from = v->at;
    int64_t at = from;
    const enum found found = look_at(v, from);
    bool is_whole = found == FOUND_CHUNK;
    if (found == FOUND_OTHER || found == FOUND_CUT)
        at = next_whole(v, from, &is_whole);
    loss->is_cut = found == FOUND_CUT && !is_whole;
    v->has_gap = at > from && !loss->is_cut;
    if (v->has_gap) {
        loss->first_at = loss->n_places++ == 0 ? from : loss->first_at;
        loss->n_file_bytes += at - from;
    }
    if (!is_whole) {
        v->chunk_len = 0;
        return false;
    }
    v->at = at + RECORDING_V1_CHUNK_HEAD + (int64_t) v->chunk_len + 2;
    v->time = v->found_time;
    return true;
}
