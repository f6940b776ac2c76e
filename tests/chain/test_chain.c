/* The whole program in processes of its own: a simulated sensor in one, the live session in another, a
 * pseudo-terminal between them. What the store holds afterwards is compared with what was true of each step,
 * and with what a replay of the recording gives. Simulated time runs four times as fast as the clock. */
#include "aid/process.h"
#include "aid/store_rig.h"
#include "base/monotime.h"
#include "care/recordings.h"
#include "gait/engine.h"
#include "store/store.h"

#include <criterion/criterion.h>
#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MAX_STEPS 400
#define TEXT_MAX (1 << 20)
#define PACE "4"
#define PACE_RATIO 4.0

struct truth {
    bool is_right;
    double down_s, contact_ms, cadence_spm;
};

struct rig {
    struct store_rig files;
    struct process mimic, live;
    char port[128], name[128], truth_path[128], record_path[128];
    int n_steps, n_truths;
    struct coached_step step[MAX_STEPS];
    struct truth truth[MAX_STEPS];
    struct store_visit visit;
    char text[TEXT_MAX];
};

static struct rig *r; /* one a test process */

static void
make_rig(void)
{
    r = calloc(1, sizeof *r);
    cr_assert(r);
    cr_assert_eq(store_rig_make(&r->files), 0);
    snprintf(r->name, sizeof r->name, "%s/port", r->files.folder);
    snprintf(r->truth_path, sizeof r->truth_path, "%s/truth.csv", r->files.folder);
    snprintf(r->record_path, sizeof r->record_path, "%s/visit.rec", r->files.folder);
}

static void
remove_rig(void)
{
    process_signal(&r->live, SIGKILL);
    process_wait(&r->live, 1000);
    process_signal(&r->mimic, SIGKILL);
    process_wait(&r->mimic, 1000);
    store_rig_remove(&r->files);
    free(r);
}

TestSuite(chain, .init = make_rig, .fini = remove_rig, .timeout = 500);

static void
start_mimic(const char *kind, const char *wire, const char *seconds, const char *pace)
{
    cr_assert(process_start(&r->mimic, r->files.folder, "mimic",
                            (const char *[]){ process_program(), "mimic", "--kind", kind, "--wire", wire, "--seconds",
                                              seconds, "--pace", pace, "--truth", r->truth_path, "--force", NULL }));
    cr_assert(process_first_line(r->mimic.out_path, r->port, sizeof r->port, 5000), "the simulated sensor has no port");
    cr_assert_eq(symlink(r->port, r->name), 0);
}

static void
nap_s(double s)
{
    monotime_sleep_us(units_us_from_s(s));
}

/* The live session opens a name that is taken away once it has begun: else, when its sensor ends, it would open
 * the same pseudo-terminal again, which may belong to another test's sensor by then. */
static void
start_live(void)
{
    struct stat st;
    struct process p;
    cr_assert_eq(process_run_words(&p, r->files.folder, 10000, "runner add R-014"), 0);
    cr_assert(process_start(&r->live, r->files.folder, "live",
                            (const char *[]){ process_program(), "live", "--port", r->name, "--headless", "--runner",
                                              "R-014", "--baseline", "5", "--speed", "2.8", "--record",
                                              r->record_path, NULL }));
    for (int i = 0; i < 500 && (stat(r->record_path, &st) != 0 || st.st_size == 0); i++)
        nap_s(0.01);
    nap_s(0.2);
    cr_assert_eq(unlink(r->name), 0);
}

static bool
keep_step(void *context, const struct coached_step *step)
{
    (void) context;
    cr_assert_lt(r->n_steps, MAX_STEPS);
    r->step[r->n_steps++] = *step;
    return true;
}

static bool
keep_visit(void *context, const struct store_visit *v)
{
    (void) context;
    r->visit = *v;
    return false; /* the newest alone */
}

static void
load_store(void)
{
    struct store s;
    cr_assert_eq(store_open(&s, r->files.path, 0), ERR_OK, "%s", message_english(&s.why));
    r->n_steps = 0;
    r->visit.id = 0;
    cr_assert_eq(store_visits(&s, 0, keep_visit, NULL), ERR_OK, "%s", message_english(&s.why));
    cr_assert_neq(r->visit.id, 0, "no visit in the store");
    cr_assert_eq(store_steps(&s, r->visit.id, keep_step, NULL), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
}

/* Field `name` of a CSV line, by the header line; NAN when empty. */
static const char *
field(const char *header, const char *line, const char *name)
{
    const size_t len = strlen(name);
    for (const char *h = header;; h++) {
        if (strncmp(h, name, len) == 0 && (h[len] == ',' || h[len] == '\n'))
            return line;
        h = strchr(h, ',');
        cr_assert(h, "no column %s", name);
        line = strchr(line, ',');
        cr_assert(line, "short line");
        line++;
    }
}

static double
number(const char *header, const char *line, const char *name)
{
    const char *at = field(header, line, name);
    if (*at == ',' || *at == '\n')
        return (double) NAN;
    return strtod(at, NULL);
}

static void
load_truth(void)
{
    process_read(r->truth_path, r->text, sizeof r->text);
    const char *header = r->text;
    for (const char *line = strchr(header, '\n') + 1; *line; line = strchr(line, '\n') + 1) {
        cr_assert_lt(r->n_truths, MAX_STEPS);
        cr_assert_eq(number(header, line, "threshold_n"), ENGINE_THRESHOLD_N, "the truth's contact is the engine's");
        r->truth[r->n_truths++] = (struct truth){ strncmp(field(header, line, "side"), "right", 5) == 0,
                                                  number(header, line, "down_s"), number(header, line, "contact_ms"),
                                                  number(header, line, "cadence_spm") };
    }
}

/* Shift of the store's steps against the truth's: the one that makes the touchdowns' distance most even. The
 * sensor's clock begins with the first packet that was read, the truth's with the first that was sent. */
static int
find_shift(void)
{
    int best = 0;
    double least = (double) INFINITY;
    for (int shift = 0; shift <= 8; shift++) {
        double low = (double) INFINITY, high = (double) -INFINITY;
        for (int i = 0; i < r->n_steps && i + shift < r->n_truths; i++) {
            const double d = units_s_from_us(r->step[i].step.touchdown.us) - r->truth[i + shift].down_s;
            low = fmin(low, d);
            high = fmax(high, d);
        }
        if (high - low < least) {
            least = high - low;
            best = shift;
        }
    }
    return best;
}

/* What a kind may miss. */
struct tolerance {
    int n_unseen;       /* steps before the engine is warm, and the cut ones at the end */
    double bias_ms;     /* of the contact time: switches close at a load of their own */
    double scatter_ms;  /* mean absolute deviation from that bias */
};

static void
compare_with_truth(const struct tolerance *tolerance)
{
    const int shift = find_shift();
    cr_assert_geq(r->n_steps, r->n_truths - tolerance->n_unseen, "%d steps of %d", r->n_steps, r->n_truths);
    cr_assert_leq(r->n_steps + shift, r->n_truths + 1, "steps made up");
    double sum_ms = 0, away_ms = 0, sum_spm = 0;
    int n_spm = 0, n_ms = 0, n = 0;
    for (; n < r->n_steps && n + shift < r->n_truths; n++) {
        const struct step *s = &r->step[n].step;
        const struct truth *t = &r->truth[n + shift];
        cr_assert_eq(s->number, (uint32_t) n + 1);
        cr_assert(s->is_settled, "step %u never settled", s->number);
        cr_assert_eq(s->gait, STEP_GAIT_RUNNING);
        cr_assert_eq(s->foot, t->is_right ? STEP_FOOT_RIGHT : STEP_FOOT_LEFT, "step %u is on the wrong side", s->number);
        if (!isnan(s->value[METRIC_CONTACT_MS])) { /* withheld where a packet was lost at an edge */
            sum_ms += s->value[METRIC_CONTACT_MS] - t->contact_ms;
            n_ms++;
        }
        if (isnan(s->value[METRIC_CADENCE_SPM]) || isnan(t->cadence_spm))
            continue;
        sum_spm += s->value[METRIC_CADENCE_SPM] - t->cadence_spm;
        n_spm++;
    }
    cr_assert_geq(n_ms, 0.9 * n, "contact known of %d steps in %d", n_ms, n);
    const double bias_ms = sum_ms / n_ms;
    for (int i = 0; i < n; i++)
        if (!isnan(r->step[i].step.value[METRIC_CONTACT_MS]))
            away_ms += fabs(r->step[i].step.value[METRIC_CONTACT_MS] - r->truth[i + shift].contact_ms - bias_ms);
    cr_assert_leq(fabs(bias_ms), tolerance->bias_ms, "contact off by %.2f ms", bias_ms);
    cr_assert_leq(away_ms / n_ms, tolerance->scatter_ms, "contact scatters by %.2f ms", away_ms / n_ms);
    cr_assert_leq(fabs(sum_spm / n_spm), 0.2, "cadence off by %.3f steps/min", sum_spm / n_spm);
}

/* Same bytes, same step records: every field but arrived, to the last bit. */
static void
compare_with(const char *recording)
{
    struct process p;
    const char *argv[] = { process_program(), "replay", recording, "--steps", NULL };
    cr_assert_eq(process_run(&p, r->files.folder, "replay", 30000, argv), 0, "%s", process_read(p.err_path, r->text, sizeof r->text));
    process_read(p.out_path, r->text, sizeof r->text);
    const char *header = r->text;
    int n_compared = 0;
    uint32_t n_last = 0;
    cr_assert_eq(r->visit.n_dropped, 0, "%d records dropped", (int) r->visit.n_dropped);
    for (const char *line = strchr(header, '\n') + 1; *line; line = strchr(line, '\n') + 1) {
        const uint32_t step_number = (uint32_t) number(header, line, "step");
        if (step_number > n_last)
            n_last = step_number;
        if (number(header, line, "settled") != 1)
            continue;
        cr_assert_leq(step_number, (uint32_t) r->n_steps);
        const struct coached_step *stored = &r->step[step_number - 1];
        const struct step *s = &stored->step;
        cr_assert_eq(s->number, step_number);
        cr_assert_eq((int) s->foot, (int) number(header, line, "foot"));
        cr_assert_eq((int) s->gait, (int) number(header, line, "gait"));
        cr_assert_eq((int) s->zone, (int) number(header, line, "zone"));
        cr_assert(s->is_settled, "step %u settled in the replay alone", step_number);
        cr_assert_eq(s->flags, (uint32_t) number(header, line, "flags"), "flags of step %u: %u live, %.0f replayed",
                     step_number, s->flags, number(header, line, "flags"));
        cr_assert_eq(s->touchdown.us, strtoll(field(header, line, "touchdown_us"), NULL, 10));
        cr_assert_eq(s->toe_off.us, strtoll(field(header, line, "toe_off_us"), NULL, 10));
        cr_assert_eq(stored->block, (int) number(header, line, "block"), "block of step %u", step_number);
        cr_assert_eq(stored->is_feedback_shown, number(header, line, "feedback") == 1);
        for (int m = 0; m < METRIC_COUNT; m++) {
            const char *name = metric_info((enum metric) m)->name;
            const double x = number(header, line, name);
            cr_assert((isnan(x) && isnan(s->value[m])) || x == s->value[m], "%s of step %u: %.17g live, %.17g replayed",
                      name, step_number, s->value[m], x);
        }
        n_compared++;
    }
    cr_assert_eq(n_last, (uint32_t) r->n_steps, "%u steps replayed, %d live", n_last, r->n_steps);
    cr_assert_geq(n_compared, r->n_steps - 1);
}

/* The recording that was asked for, and the one that every visit keeps. */
static void
compare_with_replay(void)
{
    char name[RECORDINGS_NAME_MAX], path[256];
    compare_with(r->record_path);
    recordings_name(r->visit.id, r->visit.started_utc_ms, name);
    snprintf(path, sizeof path, "%.*s/%s/%s", (int) (strrchr(r->files.path, '/') - r->files.path), r->files.path,
             RECORDINGS_FOLDER, name);
    compare_with(path);
}

static void
end_live(int number_of_signal)
{
    process_signal(&r->live, number_of_signal);
    cr_assert_eq(process_wait(&r->live, 10000), 0, "%s", process_read(r->live.err_path, r->text, sizeof r->text));
}

static void
run_kind(const char *kind, const char *wire, struct tolerance tolerance)
{
    start_mimic(kind, wire, "25", PACE);
    start_live();
    cr_assert_eq(process_wait(&r->mimic, 30000), 0);
    end_live(SIGTERM);
    cr_assert(strstr(process_read(r->live.out_path, r->text, sizeof r->text), "R-014"), "no summary: %s", r->text);
    load_store();
    load_truth();
    cr_assert(r->visit.is_finished);
    cr_assert_str_eq(r->visit.runner_code, "R-014");
    cr_assert_str_eq(r->visit.sensor_kind, kind);
    cr_assert_eq(r->visit.n_dropped, 0);
    compare_with_truth(&tolerance);
    compare_with_replay();
}

Test(chain, cells_binary_live_store_and_replay)
{
    run_kind("cells", "binary", (struct tolerance){ 6, 5, 1 });
}

Test(chain, cells_text_live_store_and_replay)
{
    run_kind("cells", "text", (struct tolerance){ 6, 5, 1 });
}

Test(chain, switches_binary_live_store_and_replay)
{
    run_kind("switches", "binary", (struct tolerance){ 6, 8, 2 });
}

Test(chain, switches_text_live_store_and_replay)
{
    run_kind("switches", "text", (struct tolerance){ 6, 8, 2 });
}

Test(chain, mat_binary_live_store_and_replay)
{
    run_kind("mat", "binary", (struct tolerance){ 6, 6, 2 });
}

/* The text mat is coarse and sends 100 images a second. */
Test(chain, mat_text_live_store_and_replay)
{
    run_kind("mat", "text", (struct tolerance){ 10, 8, 4 });
}

Test(chain, ctrl_c_ends_the_visit_with_a_summary)
{
    start_mimic("switches", "binary", "60", PACE);
    start_live();
    nap_s(4 / PACE_RATIO);
    end_live(SIGINT);
    cr_assert(strstr(process_read(r->live.out_path, r->text, sizeof r->text), "finished"), "%s", r->text);
    load_store();
    cr_assert(r->visit.is_finished);
    cr_assert_geq(r->n_steps, 4);
}

/* Steps that the recording holds, less a second and the time that a step needs to be sure, are in the store. */
Test(chain, a_killed_visit_loses_at_most_a_second_and_stays_unfinished)
{
    start_mimic("cells", "binary", "60", "1");
    start_live();
    nap_s(6.3);
    process_signal(&r->live, SIGKILL);
    cr_assert_eq(process_wait(&r->live, 5000), PROCESS_SIGNAL + SIGKILL);
    load_store();
    cr_assert(!r->visit.is_finished);
    struct process p;
    const char *argv[] = { process_program(), "replay", r->record_path, "--steps", NULL };
    /* a recording that a kill cut short is read up to the cut, and the exit code says that it was cut */
    const int code = process_run(&p, r->files.folder, "replay", 30000, argv);
    process_read(p.err_path, r->text, sizeof r->text);
    cr_assert(code == 0 || (code == 1 && strstr(r->text, "what comes before is good")), "%d: %s", code, r->text);
    process_read(p.out_path, r->text, sizeof r->text);
    const char *header = r->text;
    int64_t last_us = 0;
    for (const char *line = strchr(header, '\n') + 1; *line; line = strchr(line, '\n') + 1)
        last_us = strtoll(field(header, line, "touchdown_us"), NULL, 10) > last_us
                      ? strtoll(field(header, line, "touchdown_us"), NULL, 10)
                      : last_us;
    cr_assert_geq(r->n_steps, 8);
    const int64_t stored_us = r->step[r->n_steps - 1].step.touchdown.us;
    cr_assert_leq(last_us - stored_us, 1400000, "%.2f s of steps lost", units_s_from_us(last_us - stored_us));
    /* the killed visit can be listed and shown like any other */
    const char *show[] = { process_program(), "visits", "show", "1", NULL };
    cr_assert_eq(process_run(&p, r->files.folder, "visits", 5000, show), 0);
    cr_assert(strstr(process_read(p.out_path, r->text, sizeof r->text), "unfinished"), "%s", r->text);
}

/* The port goes away and comes back under the same name: taken up again, no step across the gap. */
Test(chain, a_sensor_that_comes_back_is_taken_up_again)
{
    start_mimic("cells", "binary", "5", "1");
    start_live();
    cr_assert_eq(process_wait(&r->mimic, 20000), 0);
    nap_s(1);
    start_mimic("cells", "binary", "5", "1");
    cr_assert_eq(process_wait(&r->mimic, 20000), 0);
    end_live(SIGTERM);
    load_store();
    int n_after = 0;
    for (int i = 0; i < r->n_steps; i++) {
        const double step_s = r->step[i].step.value[METRIC_STEP_TIME_S];
        cr_assert(isnan(step_s) || step_s < 0.6, "a step of %.3f s", step_s);
        n_after += i > 0 && units_dev_since_us(r->step[i].step.touchdown, r->step[0].step.touchdown) > 6000000;
    }
    cr_assert_geq(n_after, 5, "%d steps after the sensor came back", n_after);
    cr_assert(strstr(process_read(r->live.err_path, r->text, sizeof r->text), "is back"), "%s", r->text);
    compare_with_replay();
}

Test(chain, the_demo_without_a_display_leaves_a_picture_and_a_summary)
{
    struct process p;
    const char *argv[] = { process_program(), "demo", "--seconds", "40", "--kind", "cells", NULL };
    cr_assert_eq(process_run(&p, r->files.folder, "demo", 60000, argv), 0);
    char path[PROCESS_PATH_MAX];
    char *at = strstr(process_read(p.out_path, r->text, sizeof r->text), "screenshot: ");
    cr_assert(at, "%s", r->text);
    cr_assert_eq(sscanf(at, "screenshot: %255s", path), 1);
    char picture[16];
    cr_assert_eq(memcmp(process_read(path, picture, sizeof picture), "\x89PNG", 4), 0);
    cr_assert_eq(sscanf(strstr(r->text, "summary:  "), "summary: %255s", path), 1);
    cr_assert(strstr(process_read(path, r->text, sizeof r->text), "R-014"));
    cr_assert(strstr(process_read(p.err_path, r->text, sizeof r->text), "no display"));
}
