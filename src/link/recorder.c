#include "link/recorder.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/stop.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct item {
    struct host_time arrived;
    size_t len;
    uint8_t bytes[RECORDER_ITEM_LEN];
};

/* Pieces of one reading lie in items of their own with one arrival time: a replay can't tell them apart. */
static void
write_waiting(struct recorder *r)
{
    const struct item *item;
    while ((item = ring_peek(&r->ring, 0))) {
        if (!r->capture.has_failed && capture_write(&r->capture, item->bytes, item->len, item->arrived) != ERR_OK)
            log_note("%s (the session goes on without a recording)", r->capture.why);
        ring_release(&r->ring, 1);
    }
}

static void *
recorder_run(void *context)
{
    struct recorder *r = context;
    while (!atomic_load(&r->is_stopping)) {
        write_waiting(r);
        monotime_sleep_us(RECORDER_PERIOD_MS * UNITS_US_PER_MS);
    }
    write_waiting(r);
    return NULL;
}

enum err
recorder_start(struct recorder *r, const char *path, const struct capture_note *notes, int n_notes)
{
    memset(r, 0, sizeof *r);
    enum err err = capture_open(&r->capture, path, notes, n_notes);
    if (err != ERR_OK)
        return err;
    r->memory = malloc(RECORDER_N_ITEMS * sizeof(struct item));
    if (!r->memory) {
        snprintf(r->capture.why, sizeof r->capture.why, "no memory left to record");
        capture_close(&r->capture);
        return ERR_MEMORY;
    }
    ring_init(&r->ring, r->memory, sizeof(struct item), RECORDER_N_ITEMS);
    stop_block_signals(true);
    const int refused = pthread_create(&r->thread, NULL, recorder_run, r);
    stop_block_signals(false);
    if (refused) {
        snprintf(r->capture.why, sizeof r->capture.why, "no thread to record with: %s", strerror(refused));
        capture_close(&r->capture);
        free(r->memory);
        return ERR_OS;
    }
    r->is_running = true;
    return ERR_OK;
}

void
recorder_put(struct recorder *r, const uint8_t *bytes, size_t len, struct host_time arrived)
{
    struct item item = { .arrived = arrived };
    for (size_t at = 0; at < len && !r->is_broken; at += item.len) {
        item.len = len - at < sizeof item.bytes ? len - at : sizeof item.bytes;
        memcpy(item.bytes, bytes + at, item.len);
        if (!ring_put(&r->ring, &item)) {
            r->is_broken = true;
            log_note("%s: the disc is too slow; the recording ends here, the session goes on", r->capture.path);
        }
    }
}

void
recorder_stop(struct recorder *r)
{
    if (!r->is_running)
        return;
    atomic_store(&r->is_stopping, true);
    pthread_join(r->thread, NULL);
    r->is_running = false;
    if (!r->capture.has_failed && capture_close(&r->capture) != ERR_OK)
        log_note("%s", r->capture.why);
    capture_close(&r->capture);
    free(r->memory);
}
