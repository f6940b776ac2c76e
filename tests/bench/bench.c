/* bench.c - what the program costs on this computer, as ratios: how much faster than the sensor the pipeline
 * is, how long a step takes from its deciding byte to the display, how much of a frame the drawing takes.
 *
 * Everything comes from the simulated sensor through the wire format. Latency and drawing are taken in a live
 * session through a pseudo-terminal, on the display there is (SDL_VIDEODRIVER=dummy where there is none).
 * It prints and judges nothing: times depend on the computer and on what else it does.
 *
 *      bench [SECONDS]      of each live session; 20
 */
#include "base/monotime.h"
#include "cli/demo.h"
#include "visit/app.h"
#include "visit/reader.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define PIPELINE_S      60.0
#define MAX_SAMPLES     200000
#define FRAME_BUDGET_MS 16.0
#define MEAN_BUDGET_MS  4.0

static double
cpu_ms(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double) t.tv_sec * 1e3 + (double) t.tv_nsec * 1e-6;
}

/* ---------------------------------------------------------------- numbers */

struct samples {
    double *value;
    int n;
};

static void
samples_put(struct samples *s, double x)
{
    if (s->value && s->n < MAX_SAMPLES)
        s->value[s->n++] = x;
}

static int
by_value(const void *a, const void *b)
{
    const double x = *(const double *) a, y = *(const double *) b;
    return (x > y) - (x < y);
}

/* Share 0..1 of the samples lies at or below it; nearest rank. Sorted first by samples_sort. */
static double
samples_at(const struct samples *s, double share)
{
    if (s->n == 0)
        return (double) NAN;
    const int rank = (int) ceil(share * s->n) - 1;
    return s->value[rank < 0 ? 0 : rank];
}

static double
samples_mean(const struct samples *s)
{
    double sum = 0;
    for (int i = 0; i < s->n; i++)
        sum += s->value[i];
    return s->n ? sum / s->n : (double) NAN;
}

static void
samples_sort(struct samples *s)
{
    qsort(s->value, (size_t) s->n, sizeof *s->value, by_value);
}

/* ---------------------------------------------------------------- pipeline */

struct feed {
    struct mimic mimic;
    struct session session;
};

/* Feeds simulated seconds; the simulation's own time is taken off by running it alone before. */
static double
feed_ms(struct feed *f, const struct mimic_config *c, bool is_fed, int *n_frames)
{
    static struct session_config session;
    session = (struct session_config){ .pipeline = pipeline_config_default() };
    session.pipeline.coach.baseline_s = 15;
    mimic_init(&f->mimic, c);
    session_init(&f->session, &session);
    const uint8_t *bytes;
    const double begun = cpu_ms(CLOCK_THREAD_CPUTIME_ID);
    *n_frames = 0;
    for (int n; (n = mimic_step(&f->mimic, &bytes)) >= 0; ++*n_frames) {
        const struct host_time at = { units_us_from_s(f->mimic.board.t_s) };
        if (is_fed && n > 0)
            session_feed(&f->session, bytes, (size_t) n, at);
    }
    return cpu_ms(CLOCK_THREAD_CPUTIME_ID) - begun;
}

static bool
bench_pipeline(const char *kind)
{
    struct message why;
    struct feed *f = calloc(1, sizeof *f);
    struct mimic_config c = mimic_config_default();
    c.seconds = PIPELINE_S;
    int n_frames = 0;
    if (!f || !demo_board(kind, "binary", &c.board, &why)) {
        free(f);
        return false;
    }
    const double alone = feed_ms(f, &c, false, &n_frames);
    const double whole = feed_ms(f, &c, true, &n_frames);
    const double s = fmax(1e-6, (whole - alone) / 1e3);
    printf("pipeline  %-8s  %6.0f frames/s from the sensor, %9.0f frames/s worked: %6.0f x real time, %.2f "
           "%% of a "
           "processor\n",
           kind, c.board.rate_hz, n_frames / s, PIPELINE_S / s, 100 * s / PIPELINE_S);
    free(f);
    return true;
}

/* ---------------------------------------------------------------- a live session */

struct live {
    struct mimic mimic;
    struct session session;
    struct reader reader;
    struct show show;
    struct verdict verdict;
    struct samples latency_ms, drawn_ms, turn_cpu_ms;
    pthread_t sensor;
    int fd;
    atomic_bool is_stopping;
};

static bool
should_stop(void *user)
{
    return atomic_load(&((struct live *) user)->is_stopping);
}

static void *
run_sensor(void *context)
{
    struct live *l = context;
    return mimic_run(&l->mimic, l->fd) == ERR_OK ? NULL : context;
}

/* Bands that the simulated runner is now in, now out of: bars, colours, cue and trend are all at work. */
static void
set_targets(struct coach_config *c)
{
    static const char *const bands[] = { "landing_ahead_mm=170:200", "cadence_spm=166:174",
                                         "contact_ms=230:250", "load_rate_bw_s=40:60" };
    struct message why;
    for (int i = 0; i < VERDICT_MAX_BARS; i++)
        if (target_parse(bands[i], &c->target[i], &why))
            c->n_targets = i + 1;
    c->focus = METRIC_LANDING_AHEAD_MM;
    c->baseline_s = 0;
}

static enum err
live_open(struct live *l, int width_px, int height_px, struct message *why)
{
    char path[MIMIC_PATH_MAX];
    struct mimic_config c = mimic_config_default();
    struct session_config session = { .pipeline = pipeline_config_default() };
    struct source_config source = source_config_default();
    struct show_config show = show_config_default();
    set_targets(&session.pipeline.coach);
    c.should_stop = should_stop;
    c.user = l;
    show.place = SHOW_WINDOW;
    show.width_px = width_px;
    show.height_px = height_px;
    if (mimic_open_pty(&l->fd, path, why) != ERR_OK)
        return ERR_OS;
    mimic_init(&l->mimic, &c);
    if (pthread_create(&l->sensor, NULL, run_sensor, l) != 0)
        return ERR_OS;
    session_init(&l->session, &session);
    enum err err = reader_open(&l->reader, path, &source, &l->session);
    if (err == ERR_OK)
        err = reader_wait_ready(&l->reader, RUN_READY_MS);
    if (err == ERR_OK)
        err = reader_start(&l->reader);
    *why = l->reader.source.why;
    if (err != ERR_OK)
        return err;
    err = show_open(&l->show, &show);
    *why = l->show.why;
    return err;
}

static void
live_run(struct live *l, double seconds)
{
    uint32_t n_steps = 0;
    const struct host_time begun = monotime_now();
    bool is_open = true;
    for (int turn = 0; is_open && units_host_since_us(monotime_now(), begun) < units_us_from_s(seconds);
         turn++) {
        const bool is_news = session_take_verdict(&l->session, &l->verdict);
        const uint64_t n_presents = l->show.canvas.n_presents;
        const double own = cpu_ms(CLOCK_THREAD_CPUTIME_ID);
        is_open = show_turn(&l->show, is_news ? &l->verdict : NULL, monotime_now());
        if (turn > 0 && l->show.canvas.n_presents > n_presents) {
            samples_put(&l->drawn_ms, (double) l->show.drawing_us / 1e3);
            samples_put(&l->turn_cpu_ms, cpu_ms(CLOCK_THREAD_CPUTIME_ID) - own);
        }
        if (is_news && l->verdict.n_steps > n_steps && l->show.wire_to_glass_us >= 0)
            samples_put(&l->latency_ms, (double) l->show.wire_to_glass_us / 1e3);
        n_steps = l->verdict.n_steps;
    }
}

static void
live_print(struct live *l, int width_px, int height_px)
{
    samples_sort(&l->latency_ms);
    samples_sort(&l->drawn_ms);
    samples_sort(&l->turn_cpu_ms);
    printf(
        "latency   %dx%d  byte to display, %d steps: median %.1f ms, p95 %.1f, p99 %.1f, worst %.1f (%s)\n",
        width_px, height_px, l->latency_ms.n, samples_at(&l->latency_ms, 0.5),
        samples_at(&l->latency_ms, 0.95), samples_at(&l->latency_ms, 0.99), samples_at(&l->latency_ms, 1),
        l->show.canvas.has_gpu ? "GPU, vsynced" : "software, frames of 16 ms");
    const double mean = samples_mean(&l->turn_cpu_ms), worst = samples_at(&l->turn_cpu_ms, 1);
    printf("drawing   %dx%d  CPU a frame, %d frames: mean %.2f ms (%.2f of %.0f), p99 %.1f, worst %.1f (%.2f "
           "of %.0f); "
           "by the clock: p99 %.1f, worst %.1f ms\n",
           width_px, height_px, l->turn_cpu_ms.n, mean, mean / MEAN_BUDGET_MS, MEAN_BUDGET_MS,
           samples_at(&l->turn_cpu_ms, 0.99), worst, worst / FRAME_BUDGET_MS, FRAME_BUDGET_MS,
           samples_at(&l->drawn_ms, 0.99), samples_at(&l->drawn_ms, 1));
}

static void
live_close(struct live *l)
{
    reader_stop(&l->reader);
    atomic_store(&l->is_stopping, true);
    pthread_join(l->sensor, NULL);
    close(l->fd);
    show_close(&l->show);
}

static bool
bench_live(int width_px, int height_px, double seconds)
{
    struct message why;
    struct live *l = calloc(1, sizeof *l);
    if (!l)
        return false;
    l->latency_ms.value = malloc(MAX_SAMPLES * sizeof(double));
    l->drawn_ms.value = malloc(MAX_SAMPLES * sizeof(double));
    l->turn_cpu_ms.value = malloc(MAX_SAMPLES * sizeof(double));
    message_say(&why, "no memory left");
    const bool is_open = live_open(l, width_px, height_px, &why) == ERR_OK;
    if (is_open) {
        live_run(l, seconds);
        live_print(l, width_px, height_px);
    } else {
        fprintf(stderr, "bench: %s\n", message_english(&why));
    }
    live_close(l);
    free(l->latency_ms.value);
    free(l->drawn_ms.value);
    free(l->turn_cpu_ms.value);
    free(l);
    return is_open;
}

int
main(int argc, char **argv)
{
    const double seconds = argc > 1 ? atof(argv[1]) : 20;
    if (!(seconds >= 1) || argc > 2) {
        fprintf(stderr, "usage: bench [SECONDS]\n");
        return 2;
    }
    if (!show_has_display())
        setenv("SDL_VIDEODRIVER", "dummy", 1);
    bool is_fine = bench_pipeline("mat") && bench_pipeline("cells") && bench_pipeline("switches");
    is_fine = is_fine && bench_live(1280, 720, seconds) && bench_live(1920, 1080, seconds) &&
              bench_live(3840, 2160, seconds);
    return is_fine ? 0 : 1;
}
