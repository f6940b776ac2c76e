#include "cli/mimic.h"
#include "sim/cast.h"

#include <criterion/criterion.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <pthread.h>
#include <stdatomic.h>
#include <string.h>
#include <unistd.h>

static struct mimic MIMIC;
static struct wire_decoder DECODER;

/* Sum over all bytes that a run gives; n_bytes too. */
static uint64_t
run_through(const struct mimic_config *c, size_t *n_bytes)
{
    uint64_t sum = 1469598103934665603U;
    const uint8_t *bytes;
    int len;
    *n_bytes = 0;
    mimic_init(&MIMIC, c);
    while ((len = mimic_step(&MIMIC, &bytes)) >= 0) {
        *n_bytes += (size_t) len;
        for (int i = 0; i < len; i++)
            sum = (sum ^ bytes[i]) * 1099511628211U;
    }
    return sum;
}

Test(mimic, equal_seeds_give_equal_bytes)
{
    struct mimic_config c = mimic_config_default();
    size_t len[3];
    uint64_t sum[3];
    c.seconds = 5;
    c.board.faults.lost_share = 0.01;
    for (int i = 0; i < 3; i++) {
        c.runner.seed = i == 2 ? 4 : 3;
        sum[i] = run_through(&c, &len[i]);
    }
    cr_assert_eq(sum[0], sum[1]);
    cr_assert_eq(len[0], len[1]);
    cr_assert_neq(sum[0], sum[2]);
}

Test(mimic, ends_after_its_seconds)
{
    struct mimic_config c = mimic_config_default();
    size_t len;
    c.seconds = 2;
    run_through(&c, &len);
    cr_assert_eq(MIMIC.board.n_samples, 500);
    cr_assert(len > 20000);
}

struct display {
    int n_asked, shown_from; /* feedback comes on at that question */
};

static void
ask_for_quicker_steps(void *user, struct mimic_feedback *out)
{
    struct display *d = user;
    *out = (struct mimic_feedback){ 172, NAN, d->n_asked++ >= d->shown_from };
}

Test(mimic, runner_answers_to_what_is_shown)
{
    double spm[2];
    for (int i = 0; i < 2; i++) {
        struct mimic_config c = mimic_config_default();
        struct display display = { 0, i == 1 ? 200 : 1000000 };
        size_t len;
        c.board = board_config_default(FRAME_KIND_SWITCHES);
        c.seconds = 150;
        c.ask = ask_for_quicker_steps;
        c.user = &display;
        memset(&c.runner.style.spread, 0, sizeof c.runner.style.spread);
        c.runner.style.asymmetry.step_time = 0;
        run_through(&c, &len);
        spm[i] = MIMIC.last.cadence_spm;
        cr_assert(display.n_asked > 1400 && display.n_asked < 1510, "%d", display.n_asked);
    }
    cr_assert_float_eq(spm[0], 157, 0.1);
    cr_assert_float_eq(spm[1], 157 + 0.9 * 15, 0.1);
}

Test(mimic, truth_file_has_a_row_for_each_step)
{
    struct mimic_config c = mimic_config_default();
    char line[2048];
    size_t len;
    int n_rows = 0, n_commas = 0;
    c.seconds = 10;
    c.truth = tmpfile();
    cr_assert(c.truth != NULL);
    run_through(&c, &len);
    rewind(c.truth);
    while (fgets(line, sizeof line, c.truth)) {
        int n = 0;
        for (const char *s = line; *s; s++)
            n += *s == ',';
        if (n_rows++ == 0)
            n_commas = n;
        cr_assert_eq(n, n_commas, "row %d", n_rows);
        cr_assert(!strstr(line, "nan"));
    }
    cr_assert_eq((uint64_t) n_rows, MIMIC.n_truths + 1);
    cr_assert(n_rows > 24);
    fclose(c.truth);
}

Test(mimic, all_names_in_the_tables_are_found)
{
    for (int i = 0; i < cast_runner_count(); i++) {
        struct cast_runner a, b;
        cast_runner_get(i, &a);
        cr_assert(cast_runner_find(a.code, &b));
        cr_assert_str_eq(a.code, b.code);
    }
    for (int i = 0; i < cast_scenario_count(); i++)
        cr_assert_eq(cast_scenario_find(cast_scenario_get(i)->name), cast_scenario_get(i));
    cr_assert(!cast_runner_find("R-999", &(struct cast_runner){ 0 }));
    cr_assert(cast_scenario_find("") == NULL);
}

Test(mimic, every_scenario_runs_to_its_end)
{
    for (int i = 0; i < cast_scenario_count(); i++) {
        struct mimic_config c = mimic_config_default();
        const struct cast_scenario *s = cast_scenario_get(i);
        size_t len;
        c.board = board_config_default(FRAME_KIND_CELLS);
        c.board.rate_hz = 100;
        c.runner.script = s->script;
        c.runner.n_segments = s->n_segments;
        c.seconds = fmin(runner_script_s(&c.runner) + 2, 120);
        run_through(&c, &len);
        cr_assert(len > 1000);
        cr_assert(isfinite(MIMIC.board.now.force_n));
        if (strcmp(s->name, "empty") == 0)
            cr_assert_eq(MIMIC.n_truths, 0);
        if (strcmp(s->name, "hard") == 0)
            cr_assert(MIMIC.n_truths > 250);
    }
}

/* ------------------------------------------------------------------ through a pseudo-terminal */

struct rig {
    int fd;
    enum err result;
    atomic_bool is_stopped;
};

static bool
should_stop(void *user)
{
    return atomic_load(&((struct rig *) user)->is_stopped);
}

static void *
run_in_thread(void *user)
{
    struct rig *rig = user;
    rig->result = mimic_run(&MIMIC, rig->fd);
    close(rig->fd);
    return NULL;
}

/* Reads until the other end closes, or n_max packets; returns how many data packets there were. */
static int
read_packets(int reader, int n_max)
{
    uint8_t bytes[4096];
    int n_data = 0;
    while (n_data < n_max) {
        struct pollfd p = { .fd = reader, .events = POLLIN };
        if (poll(&p, 1, 20000) <= 0)
            break;
        ssize_t n = read(reader, bytes, sizeof bytes);
        if (n <= 0)
            break;
        for (ssize_t at = 0; at < n;) {
            at += (ssize_t) wire_feed(&DECODER, bytes + at, (size_t) (n - at), (struct host_time){ 0 });
            const struct packet *packet = wire_take(&DECODER);
            n_data += packet && packet->type != PACKET_HELLO;
        }
    }
    return n_data;
}

Test(mimic, pseudo_terminal_carries_every_byte_to_the_end, .timeout = 500)
{
    struct mimic_config c = mimic_config_default();
    struct rig rig = { .fd = -1 };
    char path[MIMIC_PATH_MAX];
    struct message why;
    pthread_t thread;
    c.seconds = 8;
    c.pace_ratio = 0;
    c.should_stop = should_stop;
    c.user = &rig;
    mimic_init(&MIMIC, &c);
    wire_init(&DECODER);
    cr_assert_eq(mimic_open_pty(&rig.fd, path, &why), ERR_OK, "%s", message_english(&why));
    cr_assert_eq(pthread_create(&thread, NULL, run_in_thread, &rig), 0);
    int reader = open(path, O_RDWR | O_NOCTTY);
    cr_assert(reader >= 0);
    cr_assert_eq(read_packets(reader, 1000000), 2000);
    cr_assert_eq(DECODER.health.n_malformed + DECODER.health.n_bad_crc + DECODER.health.n_lost, 0);
    pthread_join(thread, NULL);
    cr_assert_eq(rig.result, ERR_OK);
    close(reader);
}

Test(mimic, reader_may_close_and_come_back, .timeout = 500)
{
    struct mimic_config c = mimic_config_default();
    struct rig rig = { .fd = -1 };
    char path[MIMIC_PATH_MAX];
    struct message why;
    pthread_t thread;
    c.should_stop = should_stop;
    c.user = &rig;
    mimic_init(&MIMIC, &c);
    cr_assert_eq(mimic_open_pty(&rig.fd, path, &why), ERR_OK, "%s", message_english(&why));
    cr_assert_eq(pthread_create(&thread, NULL, run_in_thread, &rig), 0);
    for (int round = 0; round < 3; round++) {
        int reader = open(path, O_RDWR | O_NOCTTY);
        cr_assert(reader >= 0);
        wire_init(&DECODER);
        cr_assert_eq(read_packets(reader, 20) >= 20, true, "round %d", round);
        close(reader);
    }
    atomic_store(&rig.is_stopped, true);
    pthread_join(thread, NULL);
    cr_assert_eq(rig.result, ERR_OK);
}
