/* soak_run.c - hours of running in virtual time, as fast as the computer goes: simulated runner and board, one run of one
 * visit (visit/run.h) with its store and its recording; what the process holds is looked at each simulated minute.
 *
 * Usage: soak_run FOLDER MINUTES SEED
 *
 *      memory        resident pages of this process (/proc/self/statm): from the end of the first minute on, at most
 *                    SOAK_GROWTH_KIB more
 *      descriptors   as many as at the end of the first minute
 *      clock         the board's starts 30 s before it wraps, and wraps again each 71.6 minutes
 *      sequence      8 bits: it wraps each quarter of a second at that rate
 *      steps         every running step of the simulator that began after the first SOAK_SKIP_S and ended before the last
 *                    is in the store, once, its touchdown within SOAK_NEAR_MS; and none besides
 *
 * Closes with one line of JSON members on stdout; exit code 1 when something does not hold.
 */
#include "base/monotime.h"
#include "cli/demo.h"
#include "store/store.h"
#include "visit/run.h"

#include <dirent.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define SOAK_GROWTH_KIB 1024
#define SOAK_SKIP_S 10.0 /* until the run is told from a walk, and what is open at the end */
#define SOAK_NEAR_MS 40.0
#define SOAK_RATE_HZ 1000.0

struct soak {
    struct mimic mimic;
    struct run run;
    struct verdict verdict;
    double *truth_s; /* touchdowns of running steps */
    double *stored_s;
    size_t n_truths, n_stored, cap;
    uint64_t n_seen;
    long rss_first_kib, rss_most_kib, fds_first, fds_most;
    double clock_s;
};

static long
rss_kib(void)
{
    long pages = 0;
    FILE *f = fopen("/proc/self/statm", "r");
    if (f == NULL || fscanf(f, "%*s %ld", &pages) != 1)
        pages = -1;
    if (f != NULL)
        fclose(f);
    return pages * (sysconf(_SC_PAGESIZE) / 1024);
}

static long
n_descriptors(void)
{
    long n = 0;
    DIR *d = opendir("/proc/self/fd");
    while (d != NULL && readdir(d) != NULL)
        n++;
    if (d != NULL)
        closedir(d);
    return n;
}

static void
look(struct soak *s, int minute)
{
    const long rss = rss_kib(), fds = n_descriptors();
    if (minute == 1) {
        s->rss_first_kib = s->rss_most_kib = rss;
        s->fds_first = s->fds_most = fds;
    }
    if (rss > s->rss_most_kib)
        s->rss_most_kib = rss;
    if (fds > s->fds_most)
        s->fds_most = fds;
    if (minute == 1 || minute % 30 == 0)
        fprintf(stderr, "minute %d: %ld KiB resident, %ld descriptors, %zu steps\n", minute, rss, fds, s->n_truths);
}

static void
keep_truth(struct soak *s)
{
    if (s->mimic.n_truths == s->n_seen)
        return;
    s->n_seen = s->mimic.n_truths;
    if (s->mimic.last.gait == STEP_GAIT_RUNNING && s->n_truths < s->cap)
        s->truth_s[s->n_truths++] = s->mimic.last.down_s;
}

static enum err
go(struct soak *s, double minutes)
{
    const uint8_t *bytes;
    int minute = 0;
    enum err err = ERR_OK;
    for (int n; err == ERR_OK && (n = mimic_step(&s->mimic, &bytes)) >= 0;) {
        const struct host_time now = { units_us_from_s(s->mimic.board.t_s) };
        keep_truth(s);
        if (n > 0)
            run_feed(&s->run, bytes, (size_t) n, now);
        run_take_verdict(&s->run, &s->verdict);
        if (!s->run.is_begun && run_is_ready(&s->run))
            err = run_begin(&s->run);
        if (s->mimic.board.t_s >= 60.0 * (minute + 1) && minute + 1 <= minutes)
            look(s, ++minute);
    }
    run_finish(&s->run);
    return err;
}

static bool
keep_stored(void *context, const struct coached_step *step)
{
    struct soak *s = context;
    if (s->n_stored < s->cap)
        s->stored_s[s->n_stored++] = (double) step->step.touchdown.us / 1e6;
    return true;
}

/* Both lists are in order of time. What only one of them has. */
static void
compare(const struct soak *s, double end_s, int *n_missing, int *n_extra, int *n_judged)
{
    size_t i = 0, k = 0;
    *n_missing = *n_extra = *n_judged = 0;
    while (i < s->n_truths || k < s->n_stored) {
        const double a = i < s->n_truths ? s->truth_s[i] : (double) INFINITY;
        const double b = k < s->n_stored ? s->stored_s[k] : (double) INFINITY;
        const double at = fmin(a, b);
        const bool counts = at > SOAK_SKIP_S && at < end_s - SOAK_SKIP_S;
        if (fabs(a - b) * 1000 <= SOAK_NEAR_MS) {
            *n_judged += counts;
            i++;
            k++;
        } else if (a < b) {
            *n_missing += counts;
            i++;
        } else {
            *n_extra += counts;
            k++;
        }
    }
}

static int
judge(struct soak *s, const char *store_path, double minutes, double took_s)
{
    struct store store;
    struct store_visit v;
    int n_missing, n_extra, n_judged;
    const int64_t id = s->run.visit.row.id;
    if (store_open(&store, store_path, STORE_MUST_EXIST) != ERR_OK || store_visit_get(&store, id, &v) != ERR_OK ||
        store_steps(&store, id, keep_stored, s) != ERR_OK) {
        fprintf(stderr, "soak: %s\n", message_english(&store.why));
        return 1;
    }
    store_close(&store);
    compare(s, minutes * 60, &n_missing, &n_extra, &n_judged);
    const struct pipeline *p = &s->run.session.pipeline;
    const double wrapped = floor((minutes * 60 + s->clock_s) / 4294.967296);
    const bool is_flat = s->rss_most_kib - s->rss_first_kib <= SOAK_GROWTH_KIB && s->fds_most == s->fds_first;
    const bool is_whole = n_missing == 0 && n_extra == 0 && n_judged > 100 * minutes && v.n_dropped == 0 && v.n_lost_packets == 0;
    printf("\"minutes\": %g, \"steps\": %d, \"missing\": %d, \"extra\": %d, \"dropped\": %" PRId64 ", \"lost_packets\": %" PRId64
           ", \"packets\": %" PRIu64 ", \"clock_wraps\": %g, \"rss_first_kib\": %ld, \"rss_most_kib\": %ld, \"descriptors_first\": %ld, "
           "\"descriptors_most\": %ld, \"took_s\": %.0f\n", minutes, n_judged, n_missing, n_extra, v.n_dropped, v.n_lost_packets,
           p->wire.health.n_packets, wrapped, s->rss_first_kib, s->rss_most_kib, s->fds_first, s->fds_most, took_s);
    return is_flat && is_whole ? 0 : 1;
}

int
main(int argc, char **argv)
{
    static struct soak s;
    static struct sense_profile profile;
    char store_path[1024];
    if (argc != 4) {
        fprintf(stderr, "usage: soak_run FOLDER MINUTES SEED\n");
        return 2;
    }
    const double minutes = strtod(argv[2], NULL);
    snprintf(store_path, sizeof store_path, "%s/underfoot.sqlite", argv[1]);
    s.cap = (size_t) (minutes * 60 * 5) + 1000;
    s.truth_s = calloc(s.cap, sizeof *s.truth_s);
    s.stored_s = calloc(s.cap, sizeof *s.stored_s);
    if (s.truth_s != NULL)
        memset(s.truth_s, 0xff, s.cap * sizeof *s.truth_s); /* touched now: not to be taken for the program's growth */
    s.clock_s = 4294.967296 - 30; /* the steps count from the first packet */
    struct mimic_config m = mimic_config_default();
    m.board = board_config_default(FRAME_KIND_CELLS);
    m.board.rate_hz = SOAK_RATE_HZ;
    m.board.faults.clock_start_us = (uint32_t) (s.clock_s * 1e6);
    m.runner.seed = strtoul(argv[3], NULL, 10);
    m.seconds = minutes * 60;
    mimic_init(&s.mimic, &m);
    demo_profile(&s.mimic, &profile);
    struct run_config c = run_config_default();
    c.session.pipeline.profile = &profile;
    c.session.pipeline.belt_speed_m_s = m.runner.style.speed_m_s;
    c.visit.store_path = store_path;
    c.visit.runner_code = "R-014";
    c.is_stored = c.is_virtual = true;
    run_init(&s.run, &c);
    const struct host_time began = monotime_now();
    if (s.truth_s == NULL || s.stored_s == NULL || go(&s, minutes) != ERR_OK || run_end(&s.run, minutes * 60) != ERR_OK) {
        fprintf(stderr, "soak: %s\n", message_english(&s.run.why));
        return 1;
    }
    const int code = judge(&s, store_path, minutes, (double) (monotime_now().us - began.us) / 1e6);
    free(s.truth_s);
    free(s.stored_s);
    return code;
}
