/* What is heard in a live session, from the simulated foot to the samples: the program with SDL's disk driver
 * as its loudspeaker and no window manager. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <criterion/criterion.h>

#include "aid/click_meter.h"
#include "aid/process.h"
#include "ui/sound.h"

#define TIMEOUT_MS 60000

struct place {
    char folder[64], pcm[96], file_word[128];
};

static void
place_make(struct place *p)
{
    snprintf(p->folder, sizeof p->folder, "/tmp/underfoot-sound-XXXXXX");
    cr_assert_not_null(mkdtemp(p->folder));
    snprintf(p->pcm, sizeof p->pcm, "%s/heard.pcm", p->folder);
    snprintf(p->file_word, sizeof p->file_word, "SDL_DISKAUDIOFILE=%s", p->pcm);
}

static void
place_remove(struct place *p)
{
    char path[128];
    static const char *const names[] = { "heard.pcm", "run.out", "run.err" };
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        snprintf(path, sizeof path, "%s/%s", p->folder, names[i]);
        unlink(path);
    }
    rmdir(p->folder);
}

/* Runs the demo so long, with these words at the end (up to NULL). */
static int
run_demo(struct place *p, const char *driver, const char *seconds, const char *const *words)
{
    const char *argv[24] = { "/usr/bin/env",
                             "SDL_VIDEODRIVER=dummy",
                             driver,
                             p->file_word,
                             process_program(),
                             "demo",
                             "--window",
                             "--baseline",
                             "0",
                             "--target",
                             "cadence_spm=120:130",
                             "--seconds",
                             seconds };
    struct process run;
    int n = 13;
    while (*words)
        argv[n++] = *words++;
    return process_run(&run, p->folder, "run", TIMEOUT_MS, argv);
}

static void
meter_file(const char *path, struct click_meter *m)
{
    int16_t block[4096];
    FILE *f = fopen(path, "rb");
    cr_assert_not_null(f, "%s", path);
    for (size_t n; (n = fread(block, sizeof block[0], 4096, f)) > 0;)
        click_meter_feed(m, block, (int) n);
    fclose(f);
}

Test(sound_chain, the_metronome_is_heard_while_someone_runs_and_keeps_time, .timeout = 500)
{
    struct place p;
    struct click_meter m;
    place_make(&p);
    cr_assert_eq(run_demo(&p, "SDL_AUDIODRIVER=disk", "10",
                          (const char *const[]){ "--metronome", "172", "--volume", "100", NULL }),
                 0);
    click_meter_init(&m, SOUND_RATE_HZ, 172.0);
    /* On a busy computer the sensor may fall quiet, nobody runs then, and the beat rests: longer than a beat left out. */
    m.pause = SOUND_RATE_HZ;
    meter_file(p.pcm, &m);
    cr_assert(m.n_intervals >= 5, "%llu intervals", (unsigned long long) m.n_intervals);
    cr_assert(m.worst_interval <= SOUND_RATE_HZ / 1000, "an interval is off by %g samples", m.worst_interval);
    place_remove(&p);
}

Test(sound_chain, steps_out_of_their_band_sound_and_without_the_option_nothing_is_opened, .timeout = 500)
{
    struct place p;
    struct click_meter m;
    struct stat st;
    place_make(&p);
    cr_assert_eq(run_demo(&p, "SDL_AUDIODRIVER=disk", "9", (const char *const[]){ "--sound", NULL }), 0);
    click_meter_init(&m, SOUND_RATE_HZ, 160.0);
    meter_file(p.pcm, &m);
    cr_assert(m.n_clicks >= 4, "cadence above its band, at each step: %llu", (unsigned long long) m.n_clicks);
    unlink(p.pcm);
    cr_assert_eq(run_demo(&p, "SDL_AUDIODRIVER=disk", "1", (const char *const[]){ NULL }), 0);
    cr_assert_neq(stat(p.pcm, &st), 0, "off by default");
    place_remove(&p);
}

Test(sound_chain, a_missing_device_is_a_note_and_the_run_goes_on, .timeout = 500)
{
    struct place p;
    char text[2048], path[128];
    place_make(&p);
    cr_assert_eq(
        run_demo(&p, "SDL_AUDIODRIVER=no-such-driver", "1", (const char *const[]){ "--sound", NULL }), 0);
    snprintf(path, sizeof path, "%s/run.err", p.folder);
    process_read(path, text, sizeof text);
    cr_assert_not_null(strstr(text, "No sound here"), "%s", text);
    cr_assert_not_null(strstr(text, "going on without"));
    place_remove(&p);
}
