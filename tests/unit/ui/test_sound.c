/* The sound device through SDL's own disk driver: what would have reached the loudspeaker goes to a named
 * pipe, at full pace, and is measured there. */
#include <fcntl.h>
#include <math.h>
#include <pthread.h>
#include <semaphore.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <criterion/criterion.h>

#include "aid/click_meter.h"
#include "ui/sound.h"

struct ear {
    char path[64];
    pthread_t thread;
    sem_t enough; /* posted once wanted samples came */
    uint64_t wanted;
    struct click_meter meter;
    int loudest; /* after the first click_from samples */
    uint64_t loud_from;
};

static void *
ear_run(void *context)
{
    struct ear *e = context;
    static int16_t block[8192];
    int fd = open(e->path, O_RDONLY);
    size_t held = 0;
    bool is_told = false;
    for (ssize_t n; (n = read(fd, (char *) block + held, sizeof block - held)) > 0;) {
        size_t len = held + (size_t) n, whole = len / 2;
        click_meter_feed(&e->meter, block, (int) whole);
        for (size_t i = 0; e->meter.n_samples > e->loud_from && i < whole; i++)
            e->loudest = abs(block[i]) > e->loudest ? abs(block[i]) : e->loudest;
        if (e->meter.n_samples >= e->wanted && !is_told) {
            is_told = true;
            sem_post(&e->enough);
        }
        held = len % 2;
        if (held)
            ((char *) block)[0] = ((char *) block)[len - 1];
    }
    if (!is_told)
        sem_post(&e->enough);
    close(fd);
    return NULL;
}

static void
ear_open(struct ear *e, double spm, double seconds)
{
    memset(e, 0, sizeof *e);
    snprintf(e->path, sizeof e->path, "/tmp/underfoot-ear-%ld", (long) getpid());
    unlink(e->path);
    cr_assert_eq(mkfifo(e->path, 0600), 0);
    setenv("SDL_AUDIODRIVER", "disk", 1);
    setenv("SDL_DISKAUDIOFILE", e->path, 1);
    setenv("SDL_DISKAUDIODELAY", "0", 1);
    click_meter_init(&e->meter, SOUND_RATE_HZ, spm);
    e->wanted = (uint64_t) (seconds * SOUND_RATE_HZ);
    e->loud_from = SOUND_RATE_HZ;
    sem_init(&e->enough, 0, 0);
    cr_assert_eq(pthread_create(&e->thread, NULL, ear_run, e), 0);
}

static void
ear_close(struct ear *e)
{
    pthread_join(e->thread, NULL);
    sem_destroy(&e->enough);
    unlink(e->path);
}

Test(sound, thirty_minutes_of_metronome_out_of_the_device_keep_time, .timeout = 500)
{
    static struct ear ear;
    static struct sound sound;
    const double spm = 176.0;
    prctl(PR_SET_TIMERSLACK, 1UL, 0UL, 0UL, 0UL); /* the driver's waits of 0 ms cost 60 us each without */
    ear_open(&ear, spm, 1800.0);
    cr_assert(sound_open(&sound, 1.0) == ERR_OK, "%s", message_english(&sound.why));
    sound_set_beat(&sound, spm, true);
    sem_wait(&ear.enough);
    sound_close(&sound);
    ear_close(&ear);
    double sample_ms = 1000.0 / SOUND_RATE_HZ;
    cr_assert(ear.meter.n_clicks >= 5270, "%llu clicks", (unsigned long long) ear.meter.n_clicks);
    cr_assert(ear.meter.worst_interval * sample_ms <= 1.0, "interval off by %g ms",
              ear.meter.worst_interval * sample_ms);
    cr_assert(ear.meter.worst_place * sample_ms <= 1.0, "off by %g ms after 30 min",
              ear.meter.worst_place * sample_ms);
}

Test(sound, a_muted_device_sends_silence)
{
    static struct ear ear;
    static struct sound sound;
    ear_open(&ear, 180.0, 20.0);
    cr_assert(sound_open(&sound, 1.0) == ERR_OK, "%s", message_english(&sound.why));
    sound_set_muted(&sound, true);
    sound_set_beat(&sound, 180.0, true);
    sound_signal(&sound, TONE_RISE);
    sem_wait(&ear.enough);
    sound_close(&sound);
    ear_close(&ear);
    cr_assert_eq(ear.loudest, 0);
    cr_assert(ear.meter.n_samples >= ear.wanted);
}

Test(sound, a_missing_device_says_so_and_every_call_on_it_is_harmless)
{
    static struct sound sound;
    setenv("SDL_AUDIODRIVER", "no-such-driver", 1);
    cr_assert(sound_open(&sound, 1.0) == ERR_OS);
    cr_assert_not_null(strstr(message_english(&sound.why), "No sound here"), "%s", message_english(&sound.why));
    sound_set_beat(&sound, 170.0, true);
    sound_signal(&sound, TONE_FALL);
    sound_set_muted(&sound, true);
    cr_assert(sound_is_there(&sound));
    sound_close(&sound);
    sound_close(&sound);
}
