#include "link/replay.h"

#include "base/monotime.h"
#include "base/str.h"
#include "link/source.h"

#include <string.h>

enum err
replay_open(struct replay *r, const char *path, double pace_ratio)
{
    memset(r, 0, sizeof *r);
    r->pace_ratio = pace_ratio > 0 ? pace_ratio : 0;
    const enum err err = recording_open(&r->recording, path);
    if (err != ERR_OK)
        r->why = r->recording.why;
    return err;
}

bool
replay_note(const struct replay *r, const char *name, char *out, size_t cap)
{
    return recording_note(&r->recording, name, out, cap);
}

/* Fetches the next bytes. False at the end. */
static bool
next_chunk(struct replay *r)
{
    struct recording_item item;
    r->chunk_len = r->chunk_used = 0;
    while (recording_next(&r->recording, &item)) {
        if (!r->has_start) {
            r->has_start = true;
            r->start.us = item.arrived.us - 1;
        }
        r->has_gap |= item.kind == RECORDING_GAP;
        if (item.kind != RECORDING_BYTES || item.len == 0)
            continue;
        r->chunk = item.data;
        r->chunk_len = item.len;
        r->chunk_time.us = units_host_since_us(item.arrived, r->start);
        r->duration_us = r->chunk_time.us;
        return true;
    }
    r->why = r->recording.why;
    return false;
}

/* Waits until the chunk is due, at most timeout_ms. False when it is not due yet. */
static bool
wait_due(struct replay *r, int timeout_ms)
{
    struct host_time now = monotime_now();
    if (!r->has_begun) {
        r->has_begun = true;
        r->begun.us = now.us - (int64_t) ((double) r->chunk_time.us / r->pace_ratio);
    }
    struct host_time due = { r->begun.us + (int64_t) ((double) r->chunk_time.us / r->pace_ratio) };
    struct host_time limit = { now.us + timeout_ms * UNITS_US_PER_MS };
    if (due.us > now.us)
        monotime_sleep_until(timeout_ms >= 0 && limit.us < due.us ? limit : due);
    return monotime_now().us >= due.us;
}

int
replay_read(struct replay *r, uint8_t *buf, size_t cap, int timeout_ms, struct host_time *arrived)
{
    if (r->chunk_used == r->chunk_len && !next_chunk(r))
        return SOURCE_ENDED;
    const bool is_paced = r->pace_ratio > 0;
    if (is_paced && !wait_due(r, timeout_ms))
        return 0;
    const size_t left = r->chunk_len - r->chunk_used;
    const size_t n = left < cap ? left : cap;
    memcpy(buf, r->chunk + r->chunk_used, n);
    r->chunk_used += n;
    r->n_bytes += n;
    *arrived = is_paced ? monotime_now() : r->chunk_time;
    return (int) n;
}

bool
replay_take_gap(struct replay *r)
{
    const bool has_gap = r->has_gap;
    r->has_gap = false;
    return has_gap;
}

bool
replay_has_lost(const struct replay *r)
{
    return recording_has_lost(&r->recording);
}

void
replay_close(struct replay *r)
{
    recording_close(&r->recording);
    r->chunk_len = r->chunk_used = 0;
}
