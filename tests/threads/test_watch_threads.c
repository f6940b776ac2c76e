/* test_watch_threads.c - the sensor watched before a run by the three threads that have to do with it, for the thread
 * sanitizer: frames are fed, views taken, calibrations asked for and left, all at once. Plain main: exit 0 fine, 1 not. */
#include "desk/desk_watch.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>

#define N_FRAMES 60000
#define N_CALIBRATIONS 20

struct rig {
    struct session session;
    struct desk_watch watch;
    struct sense_profile out;
    atomic_bool has_ended;
    int n_calibrated;
};

static void *
feed(void *context)
{
    struct rig *r = context;
    struct packet packet = { .type = PACKET_CELLS, .n_values = 4 };
    struct frame f;
    for (uint32_t i = 1; i <= N_FRAMES; i++) {
        for (uint32_t k = 0; k < 4; k++)
            packet.channel_counts[k] = (int32_t) (400000 + (i * 7919U + k) % 1000);
        packet.t_us = i * 2000;
        packet.arrived.us = i * 2000;
        if (sense_feed(&r->session.pipeline.sense, &packet, &f))
            desk_watch_feed(&r->watch, &packet, &f);
    }
    atomic_store(&r->has_ended, true);
    return NULL;
}

/* As the worker: one after the other, every third one left. */
static void *
calibrate(void *context)
{
    struct rig *r = context;
    struct calib_entry entry;
    struct message why;
    for (int i = 0; i < N_CALIBRATIONS && !atomic_load(&r->has_ended); i++) {
        desk_watch_calibrate(&r->watch, CALIB_MASS, 0.5, false);
        while (i % 3 != 2 && !desk_watch_is_calibrated(&r->watch) && !atomic_load(&r->has_ended))
            ;
        if (desk_watch_is_calibrated(&r->watch) &&
            calib_finish(&r->watch.calib, 71.5, &r->out, &entry, &why) == ERR_OK)
            r->n_calibrated++;
        desk_watch_leave_calibration(&r->watch);
    }
    return NULL;
}

int
main(void)
{
    struct rig *r = calloc(1, sizeof *r);
    struct panel_watch *view = calloc(1, sizeof *view);
    pthread_t reading, worker;
    struct frame f;
    if (!r || !view)
        return 1;
    const struct packet hello = { .type = PACKET_HELLO,
                                  .hello = { .kind = PACKET_KIND_CELLS, .version_major = 1, .rate_hz = 500, .n_channels = 4,
                                             .full_scale_counts = 4194304 } };
    desk_watch_init(&r->watch, &r->session);
    sense_init(&r->session.pipeline.sense, NULL);
    sense_feed(&r->session.pipeline.sense, &hello, &f);
    desk_watch_set_on(&r->watch, true);
    if (pthread_create(&reading, NULL, feed, r) != 0 || pthread_create(&worker, NULL, calibrate, r) != 0)
        return 1;
    int n_views = 0;
    while (!atomic_load(&r->has_ended)) {
        n_views += desk_watch_take(&r->watch, view);
        if (n_views == 10)
            desk_watch_load(&r->watch);
    }
    pthread_join(reading, NULL);
    pthread_join(worker, NULL);
    const bool is_fine = n_views > 0 && r->n_calibrated > 0;
    if (!is_fine)
        printf("%d views, %d calibrations\n", n_views, r->n_calibrated);
    free(view);
    free(r);
    return is_fine ? 0 : 1;
}
