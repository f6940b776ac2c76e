#include "link/recorder.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/stop.h"
#include "base/str.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_AFTER_US (5 * UNITS_US_PER_S) /* before, one frame more or less is too much of the rate */

/* An item lies in one or more pieces; the first says how long it is. */
struct piece {
    struct host_time arrived;
    uint32_t item_len; /* of the whole item; in its first piece, else 0 */
    uint16_t len;      /* here */
    uint8_t kind;
    uint8_t is_first;
    uint8_t bytes[RECORDER_PIECE_LEN];
};

struct recorder_config
recorder_config_default(void)
{
    return (struct recorder_config){ RECORDER_RESERVE_BYTES, RECORDER_FRAME_MS, recording_disc_default() };
}

/* ------------------------------------------------------------------ the reading thread */

static size_t
n_pieces_of(size_t len)
{
    return len == 0 ? 1 : (len + RECORDER_PIECE_LEN - 1) / RECORDER_PIECE_LEN;
}

static bool
put_one(struct recorder *r, enum recording_kind kind, const uint8_t *data, size_t len, struct host_time arrived)
{
    const size_t n_pieces = n_pieces_of(len);
    /* The other side only makes room: what is free now stays free. */
    if (r->ring.cap - ring_count(&r->ring) < n_pieces)
        return false;
    struct piece p = { .arrived = arrived, .kind = (uint8_t) kind, .item_len = (uint32_t) len, .is_first = 1 };
    for (size_t i = 0; i < n_pieces; i++) {
        p.len = (uint16_t) (len < RECORDER_PIECE_LEN ? len : RECORDER_PIECE_LEN);
        if (p.len > 0)
            memcpy(p.bytes, data + i * RECORDER_PIECE_LEN, p.len);
        (void) ring_put(&r->ring, &p);
        len -= p.len;
        p.is_first = 0;
    }
    return true;
}

bool
recorder_put(struct recorder *r, enum recording_kind kind, const void *data, size_t len, struct host_time arrived)
{
    const uint8_t *rest = data;
    assert(kind == RECORDING_BYTES || len <= RECORDING_ITEM_MAX);
    if (!r->is_running || atomic_load(&r->is_overrun) || atomic_load(&r->has_ended))
        return false;
    do {
        const size_t n = len < RECORDING_ITEM_MAX ? len : RECORDING_ITEM_MAX;
        if (!put_one(r, kind, rest, n, arrived)) {
            atomic_store(&r->is_overrun, true); /* the other thread tells it: telling may take its time */
            return false;
        }
        rest += rest ? n : 0;
        len -= n;
    } while (len > 0);
    return true;
}

/* ------------------------------------------------------------------ the recorder's thread */

/* The oldest item whole, put together in r->item. Waits for no piece: they come in one go, or at the next look. */
static bool
take_item(struct recorder *r, const struct piece **first)
{
    const struct piece *p = *first = ring_peek(&r->ring, 0);
    if (!p)
        return false;
    const size_t n_pieces = n_pieces_of(p->item_len);
    if (ring_count(&r->ring) < n_pieces)
        return false;
    assert(p->is_first);
    for (size_t i = 0, at = 0; i < n_pieces; i++) {
        p = ring_peek(&r->ring, i);
        memcpy(r->item + at, p->bytes, p->len);
        at += p->len;
    }
    return true;
}

static void
set_status(struct recorder *r, int64_t room_bytes)
{
    const int64_t lasted_us = units_host_since_us(monotime_now(), r->begun);
    const uint64_t n = r->writer.n_file_bytes;
    const double per_min = lasted_us < RATE_AFTER_US ? (double) NAN : (double) n / units_s_from_us(lasted_us) * 60.0;
    pthread_mutex_lock(&r->lock);
    r->status.n_file_bytes = n;
    r->status.mb_per_min = per_min / 1e6;
    r->status.room_bytes = room_bytes;
    r->status.room_min = room_bytes < 0 ? (double) NAN : (double) room_bytes / per_min;
    pthread_mutex_unlock(&r->lock);
}

static struct message_arg
reserve_mb(const struct recorder_config *c)
{
    return message_real((double) c->reserve_bytes / 1e6, 0, MESSAGE_UNIT_MB);
}

/* The recording keeps the reason as a text, in English: who reads it later may have another language. */
static void
end_early(struct recorder *r, const struct message *why)
{
    struct message told;
    pthread_mutex_lock(&r->lock);
    r->status.is_running = false;
    r->status.has_ended_early = true;
    r->status.why = *why;
    pthread_mutex_unlock(&r->lock);
    message_tell(&told, MESSAGE_RECORDER_GOES_ON, message_of(why));
    log_tell(&told);
    (void) recording_writer_close(&r->writer, message_english(why));
    atomic_store(&r->has_ended, true);
}

/* Room above the reserve; < 0: not known. False when there is none left. */
static bool
has_room(struct recorder *r, int64_t *room_bytes)
{
    const int64_t free_bytes = r->config.disc.room_bytes(r->config.disc.context, r->writer.fd);
    *room_bytes = free_bytes < 0 ? -1 : free_bytes > r->config.reserve_bytes ? free_bytes - r->config.reserve_bytes : 0;
    return *room_bytes != 0;
}

static void
follow(struct recorder *r)
{
    char path[RECORDING_PATH_MAX], next[RECORDING_PATH_MAX];
    struct message why;
    if (!atomic_exchange(&r->is_to_follow, false))
        return;
    pthread_mutex_lock(&r->lock);
    str_copy(path, sizeof path, r->lost_path);
    str_copy(next, sizeof next, r->next_path);
    pthread_mutex_unlock(&r->lock);
    if (!recording_writer_is_lost(&r->writer, path))
        return;
    if (recording_writer_move(&r->writer, next, &why) == ERR_OK)
        log_note("the recording goes on in %s", next);
    else
        log_note("%s", message_english(&why));
}

static void
flush(struct recorder *r)
{
    int64_t room_bytes;
    struct message why;
    if (recording_writer_flush(&r->writer) != ERR_OK) {
        end_early(r, &r->writer.why);
        return;
    }
    follow(r);
    const bool has = has_room(r, &room_bytes);
    set_status(r, room_bytes);
    if (has)
        return;
    message_tell(&why, MESSAGE_RECORDER_DISC_FULL, message_path(r->writer.path), reserve_mb(&r->config));
    end_early(r, &why);
}

static void
write_waiting(struct recorder *r)
{
    const struct piece *p;
    while (!atomic_load(&r->has_ended) && take_item(r, &p)) {
        const size_t n_pieces = n_pieces_of(p->item_len);
        if (recording_writer_put(&r->writer, (enum recording_kind) p->kind, r->item, p->item_len, p->arrived) != ERR_OK)
            end_early(r, &r->writer.why);
        ring_release(&r->ring, n_pieces);
    }
}

static void *
recorder_run(void *context)
{
    struct recorder *r = context;
    struct host_time flushed = r->begun;
    for (bool is_last = false; !is_last && !atomic_load(&r->has_ended);) {
        /* Both asked before the ring is emptied: what was put before them is in. */
        is_last = atomic_load(&r->is_stopping);
        const bool is_overrun = atomic_load(&r->is_overrun);
        write_waiting(r);
        const struct host_time now = monotime_now();
        if (!atomic_load(&r->has_ended) && units_host_since_us(now, flushed) >= r->config.frame_ms * UNITS_US_PER_MS) {
            flushed = now;
            flush(r);
        }
        if (is_overrun && !atomic_load(&r->has_ended)) {
            struct message why;
            message_tell(&why, MESSAGE_RECORDER_DISC_SLOW, message_path(r->writer.path));
            end_early(r, &why);
        }
        if (is_last && !atomic_load(&r->has_ended))
            follow(r);
        if (!is_last)
            monotime_sleep_us(RECORDER_PERIOD_MS * UNITS_US_PER_MS);
    }
    return NULL;
}

/* ------------------------------------------------------------------ begin and end */

static void
give_back(struct recorder *r)
{
    free(r->memory);
    free(r->item);
    r->memory = NULL;
    r->item = NULL;
}

static enum err
start_thread(struct recorder *r)
{
    r->memory = malloc(RECORDER_N_PIECES * sizeof(struct piece));
    r->item = malloc(RECORDING_ITEM_MAX);
    if (!r->memory || !r->item) {
        message_init(&r->why, MESSAGE_RECORDER_NO_MEMORY);
        return ERR_MEMORY;
    }
    memset(r->memory, 0xff, RECORDER_N_PIECES * sizeof(struct piece)); /* taken now, not page by page: 0 the compiler makes a calloc */
    ring_init(&r->ring, r->memory, sizeof(struct piece), RECORDER_N_PIECES);
    r->begun = monotime_now();
    stop_block_signals(true);
    const int refused = pthread_create(&r->thread, NULL, recorder_run, r);
    stop_block_signals(false);
    if (refused) {
        message_tell(&r->why, MESSAGE_RECORDER_NO_THREAD, message_errno(refused));
        return ERR_OS;
    }
    return ERR_OK;
}

enum err
recorder_start_with(struct recorder *r, const char *path, const struct recording_head *head,
                    const struct recorder_config *config)
{
    int64_t room_bytes = -1;
    memset(r, 0, sizeof *r);
    r->config = *config;
    enum err err = recording_writer_open(&r->writer, path, head, &config->disc);
    if (err != ERR_OK) {
        r->why = r->writer.why;
        return err;
    }
    if (!has_room(r, &room_bytes)) {
        message_tell(&r->why, MESSAGE_RECORDER_NO_ROOM, reserve_mb(config), message_path(path));
        err = ERR_OS;
    }
    pthread_mutex_init(&r->lock, NULL);
    r->status = (struct recorder_status){ .is_running = true, .mb_per_min = (double) NAN, .room_bytes = room_bytes,
                                          .room_min = (double) NAN, .n_file_bytes = r->writer.n_file_bytes };
    if (err == ERR_OK)
        err = start_thread(r);
    if (err == ERR_OK) {
        r->is_running = true;
        return ERR_OK;
    }
    pthread_mutex_destroy(&r->lock);
    r->status = (struct recorder_status){ .mb_per_min = (double) NAN, .room_bytes = room_bytes, .room_min = (double) NAN };
    (void) recording_writer_close(&r->writer, NULL);
    (void) remove(path); /* it holds nothing */
    give_back(r);
    return err;
}

enum err
recorder_start(struct recorder *r, const char *path, const struct recording_head *head)
{
    const struct recorder_config config = recorder_config_default();
    return recorder_start_with(r, path, head, &config);
}

void
recorder_follow(struct recorder *r, const char *path, const char *next)
{
    pthread_mutex_lock(&r->lock);
    const bool fits = str_copy(r->lost_path, sizeof r->lost_path, path) && str_copy(r->next_path, sizeof r->next_path, next);
    pthread_mutex_unlock(&r->lock);
    atomic_store(&r->is_to_follow, fits);
}

void
recorder_get_status(struct recorder *r, struct recorder_status *out)
{
    if (!r->is_running) { /* no thread writes it */
        *out = r->status;
        if (r->writer.path[0] == '\0') { /* never started */
            out->mb_per_min = out->room_min = (double) NAN;
            out->room_bytes = -1;
        }
        return;
    }
    pthread_mutex_lock(&r->lock);
    *out = r->status;
    pthread_mutex_unlock(&r->lock);
}

void
recorder_stop(struct recorder *r)
{
    if (!r->is_running)
        return;
    atomic_store(&r->is_stopping, true);
    pthread_join(r->thread, NULL);
    r->is_running = false;
    pthread_mutex_destroy(&r->lock);
    r->status.is_running = false;
    if (!r->status.has_ended_early && recording_writer_close(&r->writer, NULL) != ERR_OK) {
        r->status.has_ended_early = true;
        r->status.why = r->writer.why;
        log_tell(&r->writer.why);
    }
    r->status.n_file_bytes = r->writer.n_file_bytes;
    give_back(r);
}
