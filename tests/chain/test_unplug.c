/* Unplugged in mid-run: said on the screen within half a second, taken up again within two seconds of its
 * return, no step made up across the gap. Through a pseudo-terminal under a linked name, and through the real
 * libserialport. */
#define _GNU_SOURCE
#include "aid/fake_tty.h"
#include "base/monotime.h"
#include "cli/demo.h"
#include "cli/mimic.h"
#include "link/port_lock.h"
#include "live/session.h"
#include "visit/reader.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>

#define SAID_US     (500 * UNITS_US_PER_MS)
#define BACK_US     (2000 * UNITS_US_PER_MS)
#define PATIENCE_US (8 * UNITS_US_PER_S) /* a limit only for a failing test */
#define MAX_STEPS   200
#define AWAY_S      0.8
#define AWAY_TEST_MS 300 /* until a port counts as staying away: the program waits AWAY_AFTER_MS */

struct rig {
    struct mimic mimic;
    int fd; /* the board's end */
    pthread_t board_thread;
    atomic_bool is_board_stopping;
    struct session session;
    struct reader reader;
    struct verdict verdict;
    struct step step[MAX_STEPS]; /* settled; reading thread until it has ended */
    int n;
    double unplugged_s, plugged_s; /* on the board's own clock */
    struct dev_time gone;          /* of the newest frame before the hole */
    char link[64];
};
static struct rig *r;

static bool
should_stop(void *user)
{
    return atomic_load(&((struct rig *) user)->is_board_stopping);
}

static void *
run_board(void *context)
{
    struct rig *rig = context;
    mimic_run(&rig->mimic, rig->fd);
    return NULL;
}

static void
take_step(void *context, const struct coached_step *step)
{
    struct rig *rig = context;
    if (step->step.is_settled && rig->n < MAX_STEPS)
        rig->step[rig->n++] = step->step;
}

static void
init_board(const char *kind)
{
    struct mimic_config c = mimic_config_default();
    struct message why;
    cr_assert(demo_board(kind, "binary", &c.board, &why));
    c.should_stop = should_stop;
    c.user = r;
    mimic_init(&r->mimic, &c);
}

static void
start_board(int fd)
{
    r->fd = fd;
    atomic_store(&r->is_board_stopping, false);
    cr_assert_eq(pthread_create(&r->board_thread, NULL, run_board, r), 0);
}

/* The cable is pulled; the board may run on, on a battery. */
static void
unplug(int fake_port)
{
    atomic_store(&r->is_board_stopping, true);
    pthread_join(r->board_thread, NULL);
    if (fake_port >= 0)
        fake[fake_port].is_there = false;
    else
        unlink(r->link);
    close(r->fd);
    r->unplugged_s = r->mimic.board.t_s;
}

static void
begin(const char *path)
{
    struct session_config c = { .pipeline = pipeline_config_default(), .on_step = take_step, .context = r };
    struct source_config source = source_config_default();
    source.hello_wait_ms = 2000;
    session_init(&r->session, &c);
    cr_assert_eq(reader_open(&r->reader, path, &source, &r->session), ERR_OK, "%s", message_english(&r->reader.source.why));
    r->reader.away.after_ms = AWAY_TEST_MS;
    cr_assert_eq(reader_wait_ready(&r->reader, 5000), ERR_OK, "%s", message_english(&r->reader.source.why));
    cr_assert_eq(reader_start(&r->reader), ERR_OK);
}

/* Microseconds until the screen is told that state. */
static int64_t
until(enum verdict_sensor state)
{
    const struct host_time begun = monotime_now();
    for (;;) {
        const int64_t us = units_host_since_us(monotime_now(), begun);
        session_take_verdict(&r->session, &r->verdict);
        if (r->verdict.sensor == state || us > PATIENCE_US)
            return us;
        monotime_sleep_us(2 * UNITS_US_PER_MS);
    }
}

/* Waits until so many steps more have been coached. */
static void
until_steps(uint32_t n)
{
    const struct host_time begun = monotime_now();
    session_take_verdict(&r->session, &r->verdict);
    for (const uint32_t last = r->verdict.n_steps + n;
         r->verdict.n_steps < last && units_host_since_us(monotime_now(), begun) < PATIENCE_US;) {
        monotime_sleep_us(2 * UNITS_US_PER_MS);
        session_take_verdict(&r->session, &r->verdict);
    }
}

static void
pass(double s)
{
    monotime_sleep_us(units_us_from_s(s));
}

/* The board goes on by itself, unheard. */
static void
run_unheard(double s)
{
    const uint8_t *bytes;
    for (const double end_s = r->mimic.board.t_s + s; r->mimic.board.t_s < end_s;)
        mimic_step(&r->mimic, &bytes);
}

static void
plug_in(const char *kind, bool is_same_life, int fake_port)
{
    char path[MIMIC_PATH_MAX];
    struct message why;
    int fd = -1;
    if (is_same_life)
        run_unheard(AWAY_S);
    else
        init_board(kind);
    r->plugged_s = r->mimic.board.t_s;
    if (fake_port >= 0) {
        fd = plug(fake_port);
    } else {
        cr_assert_eq(mimic_open_pty(&fd, path, &why), ERR_OK, "%s", message_english(&why));
        cr_assert_eq(symlink(path, r->link), 0);
    }
    start_board(fd);
}

/* Two rows of steps with a hole between, and no step that spans it. */
static void
end_and_judge(bool is_same_life)
{
    unplug(-1);
    reader_stop(&r->reader);
    const struct sense_health *h = &r->session.pipeline.sense.health;
    if (is_same_life)
        cr_expect_geq(h->n_lost, (uint64_t) (AWAY_S * 1000 * 0.5), "%d lost", (int) h->n_lost);
    else
        cr_expect_eq(h->n_restarts, 1);
    int n_holes = 0;
    cr_assert_geq(r->n, 8);
    for (int i = 0; i < r->n; i++) {
        const struct step *s = &r->step[i];
        const double step_s = s->value[METRIC_STEP_TIME_S];
        cr_expect(isnan(step_s) || (step_s > 0.25 && step_s < 0.5), "step %d takes %.3f s", i, step_s);
        cr_expect(isnan(s->value[METRIC_CONTACT_MS]) || s->value[METRIC_CONTACT_MS] < 400,
                  "contact %d lasts %.0f ms", i, s->value[METRIC_CONTACT_MS]);
        if (i + 1 == r->n)
            continue;
        const int64_t to_next_us = units_dev_since_us(r->step[i + 1].touchdown, s->touchdown);
        cr_expect_gt(to_next_us, 0);
        if (to_next_us > 550000) {
            n_holes++;
            cr_expect(isnan(step_s) || units_dev_since_us(r->gone, s->touchdown) >= units_us_from_s(step_s),
                      "step %d ends on the other side of the hole", i);
            cr_expect_gt(to_next_us, AWAY_S * 900000);
        }
    }
    cr_expect_eq(n_holes, 1);
}

static void
run_twice(const char *kind, const char *path, bool is_same_life, int fake_port, int fake_port_after)
{
    begin(path);
    until_steps(5);
    unplug(fake_port);
    int64_t us = until(VERDICT_SENSOR_GONE);
    cr_expect_leq(us, SAID_US, "said after %.3f s", units_s_from_us(us));
    cr_expect_not_null(strstr(message_english(&r->verdict.message), "Plug it in again"), "%s", message_english(&r->verdict.message));
    r->gone = r->verdict.time;
    pass(AWAY_S);
    session_take_verdict(&r->session, &r->verdict);
    cr_expect_eq(r->verdict.sensor, VERDICT_SENSOR_GONE, "and stays so");
    plug_in(kind, is_same_life, fake_port_after);
    us = until(VERDICT_SENSOR_LIVE);
    cr_expect_leq(us, BACK_US, "taken up after %.3f s", units_s_from_us(us));
    until_steps(5);
    end_and_judge(is_same_life);
}

static void
make_rig(void)
{
    r = calloc(1, sizeof *r);
    cr_assert(r);
    snprintf(r->link, sizeof r->link, "/tmp/underfoot_port_%d", (int) getpid());
}

static void
remove_rig(void)
{
    unlink(r->link);
    free(r);
}

TestSuite(unplug, .init = make_rig, .fini = remove_rig, .timeout = 500);

Test(unplug, a_board_that_restarts_is_taken_up_by_its_name)
{
    plug_in("cells", false, -1);
    run_twice("cells", r->link, false, -1, -1);
}

Test(unplug, a_board_that_ran_on_leaves_a_hole_in_its_own_time)
{
    plug_in("cells", false, -1);
    run_twice("cells", r->link, true, -1, -1);
}

Test(unplug, a_real_port_comes_back)
{
    plug_in("cells", false, 0);
    run_twice("cells", "/dev/ttyUF0", false, 0, 0);
}

Test(unplug, a_port_found_by_itself_may_come_back_under_another_name)
{
    plug_in("cells", false, 0);
    run_twice("cells", "auto", false, 0, 2);
    cr_expect_str_eq(r->reader.source.path, "/dev/ttyUF2");
}

static void
until_says(const char *words)
{
    const struct host_time begun = monotime_now();
    while (!strstr(message_english(&r->verdict.message), words) && units_host_since_us(monotime_now(), begun) < PATIENCE_US) {
        monotime_sleep_us(2 * UNITS_US_PER_MS);
        session_take_verdict(&r->session, &r->verdict);
    }
    cr_assert_not_null(strstr(message_english(&r->verdict.message), words), "%s", message_english(&r->verdict.message));
    cr_expect_eq(r->verdict.sensor, VERDICT_SENSOR_GONE);
}

/* The board's cable is pulled, and its name stays away. */
static void
begin_and_lose(const char *kind)
{
    plug_in(kind, false, 0);
    begin("/dev/ttyUF0");
    until_steps(2);
    unplug(0);
    cr_expect_leq(until(VERDICT_SENSOR_GONE), SAID_US);
}

Test(unplug, a_named_port_that_stays_away_says_what_to_check_and_what_is_there)
{
    begin_and_lose("cells");
    until_says("/dev/ttyUF0 stays away. Check its cable and its power. No other port is there.");
    const int other = plug(2), another = plug(3);
    until_says("There now: /dev/ttyUF2, /dev/ttyUF3.");
    reader_stop(&r->reader);
    close(other);
    close(another);
}

Test(unplug, a_named_board_is_found_under_another_name_by_what_it_says)
{
    const int foreign = plug(1);
    begin_and_lose("cells");
    until_says("There now: /dev/ttyUF1.");
    plug_in("cells", false, 2);
    until(VERDICT_SENSOR_LIVE);
    until_steps(3);
    cr_expect_eq(r->verdict.sensor, VERDICT_SENSOR_LIVE);
    cr_expect_str_eq(r->reader.source.path, "/dev/ttyUF2");
    unplug(2);
    reader_stop(&r->reader);
    close(foreign);
}

/* One that says otherwise; one that was there all along; one that another opening has locked. */
Test(unplug, no_other_board_and_no_port_of_another_is_taken_for_the_lost_one)
{
    static const char mat[] = "#underfoot 1 kind=mat rate=50 rows=16 cols=8\n";
    struct message why;
    uint8_t byte;
    const int before = plug(1), held = plug(2);
    fake[2].is_there = false; /* not yet, but locked already */
    const int holder = (int) syscall(SYS_openat, AT_FDCWD, fake[2].slave, O_RDWR | O_NOCTTY, 0);
    cr_assert_eq(port_lock_take(holder, "/dev/ttyUF2", &why), ERR_OK, "%s", message_english(&why));
    begin_and_lose("cells");
    until_says("There now: /dev/ttyUF1.");
    fake[2].is_there = true;
    const int other = plug(3);
    cr_assert_eq(write(other, mat, sizeof mat - 1), (ssize_t) sizeof mat - 1);
    until_says("There now: /dev/ttyUF1, /dev/ttyUF2, /dev/ttyUF3.");
    const struct host_time begun = monotime_now();
    ssize_t n_asked;
    while ((n_asked = read(other, &byte, 1)) < 1 && units_host_since_us(monotime_now(), begun) < PATIENCE_US)
        pass(0.01);
    cr_expect_eq(n_asked, 1, "what is new is asked");
    cr_expect_eq(read(before, &byte, 1), -1, "what was there is not");
    cr_expect_eq(read(held, &byte, 1), -1, "what is held is not");
    cr_expect_eq(r->verdict.sensor, VERDICT_SENSOR_GONE);
    reader_stop(&r->reader);
    cr_expect_eq(r->reader.away.before.n, 2, "asked once: the one that was there, and the new one");
    close(holder);
    close(held);
    close(before);
    close(other);
}

/* A pseudo-terminal's name goes to whoever asks next. */
Test(unplug, another_sensor_under_the_old_name_is_left_alone_and_the_first_one_taken_up)
{
    plug_in("cells", false, -1);
    begin(r->link);
    pass(1);
    unplug(-1);
    cr_expect_leq(until(VERDICT_SENSOR_GONE), SAID_US);
    const uint64_t n_frames = engine_health(&r->session.pipeline.engine).n_frames;
    plug_in("mat", false, -1);
    for (int i = 0; i < 150 && !strstr(message_english(&r->verdict.message), "Another sensor"); i++) {
        pass(0.01);
        session_take_verdict(&r->session, &r->verdict);
        cr_expect_eq(r->verdict.sensor, VERDICT_SENSOR_GONE);
    }
    cr_expect_not_null(strstr(message_english(&r->verdict.message), "Another sensor is at this port"), "%s", message_english(&r->verdict.message));
    cr_expect_eq(engine_health(&r->session.pipeline.engine).n_frames, n_frames, "nothing of it is measured");
    unplug(-1);
    plug_in("cells", false, -1);
    cr_expect_leq(until(VERDICT_SENSOR_LIVE), 2 * BACK_US);
    unplug(-1);
    reader_stop(&r->reader);
}

/* Junk, as a wrong baud rate gives it, is told from silence, each with its own advice. */
Test(unplug, garbage_is_told_from_silence_after_it_came_back)
{
    static const uint8_t junk[] = { 0x80, 0x80, 0xF8, 0x00, 0x78, 0x80, 0x0A, 0xF8 };
    plug_in("switches", false, 0);
    begin("/dev/ttyUF0");
    pass(0.5);
    unplug(0);
    cr_expect_leq(until(VERDICT_SENSOR_GONE), SAID_US);
    const int fd = plug(0);
    for (int i = 0; i < 200 && r->verdict.sensor != VERDICT_SENSOR_GARBLED; i++) {
        cr_assert_eq(write(fd, junk, sizeof junk), (ssize_t) sizeof junk);
        pass(0.01);
        session_take_verdict(&r->session, &r->verdict);
    }
    cr_expect_eq(r->verdict.sensor, VERDICT_SENSOR_GARBLED);
    cr_expect_not_null(strstr(message_english(&r->verdict.message), "baud rate"), "%s", message_english(&r->verdict.message));
    cr_expect_leq(until(VERDICT_SENSOR_QUIET), SAID_US);
    cr_expect_not_null(strstr(message_english(&r->verdict.message), "silent"), "%s", message_english(&r->verdict.message));
    reader_stop(&r->reader);
    close(fd);
}
