/* kill -9 in mid-visit: a child writes steps through the writer and tells each one's number and time over a
 * pipe, it is killed by its id at some moment, and the store is opened again. */
#include "store/writer.h"

#include "aid/store_rig.h"
#include "base/monotime.h"

#include <criterion/criterion.h>
#include <signal.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

/* 60 steps a second: twenty times a runner's, so that a second's loss is 60 steps and not 3. */
#define STEP_US 16667

struct told {
    uint32_t number;
    struct host_time at; /* the clock is the same in both processes */
};

static struct store_rig rig;

static void
make_rig(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
}

static void
remove_rig(void)
{
    store_rig_remove(&rig);
}

/* Never returns. */
static void
write_for_ever(int tell)
{
    static struct writer writer;
    struct store store;
    struct store_runner runner;

    if (store_open(&store, rig.path, 0) != ERR_OK || store_runner_ensure(&store, "R-014", &runner) != ERR_OK)
        _exit(3);
    struct store_visit v = store_visit_default(runner.id);
    if (store_visit_begin(&store, &v) != ERR_OK || writer_start(&writer, rig.path, v.id) != ERR_OK)
        _exit(4);
    for (uint32_t i = 1;; i++) {
        struct coached_step live = store_rig_step(i, false), settled = store_rig_step(i - 4, true);
        if (i > 4 && !writer_put_step(&writer, &settled))
            _exit(5);
        if (!writer_put_step(&writer, &live))
            _exit(5);
        struct told told = { i, monotime_now() };
        if (write(tell, &told, sizeof told) != (ssize_t) sizeof told)
            _exit(6);
        monotime_sleep_us(STEP_US);
    }
}

struct counted {
    uint32_t n, last;
};

static bool
count(void *context, const struct coached_step *s)
{
    struct counted *c = context;
    struct coached_step want = store_rig_step(s->step.number, s->step.is_settled);

    cr_expect(store_rig_same_step(s, &want), "step %u differs", s->step.number);
    c->n++;
    c->last = s->step.number;
    return true;
}

static void
expect_sound(const char *path)
{
    sqlite3 *db;
    sqlite3_stmt *st;

    cr_assert_eq(sqlite3_open(path, &db), SQLITE_OK);
    cr_assert_eq(sqlite3_prepare_v2(db, "PRAGMA integrity_check", -1, &st, NULL), SQLITE_OK);
    cr_assert_eq(sqlite3_step(st), SQLITE_ROW);
    cr_assert_str_eq((const char *) sqlite3_column_text(st, 0), "ok");
    sqlite3_finalize(st);
    cr_assert_eq(sqlite3_close(db), SQLITE_OK);
}

/* Runs the child for about that long, kills it, and looks. */
static void
kill_after(int64_t run_us)
{
    struct told told[2048];
    struct counted c = { 0, 0 };
    struct store_visit v;
    struct store store;
    int n_told = 0, status;
    int tell[2];

    cr_assert_eq(pipe(tell), 0);
    pid_t child = fork();
    cr_assert_geq(child, 0);
    if (child == 0) {
        close(tell[0]);
        write_for_ever(tell[1]);
    }
    close(tell[1]);
    /* Until its clock has run so long since its first step. */
    while (n_told < 2048 && read(tell[0], &told[n_told], sizeof told[0]) == (ssize_t) sizeof told[0]) {
        n_told++;
        if (units_host_since_us(told[n_told - 1].at, told[0].at) >= run_us)
            break;
    }
    struct host_time killed_at = monotime_now();
    kill(child, SIGKILL);
    waitpid(child, &status, 0);
    cr_assert(WIFSIGNALED(status), "the child ended by itself with %d", WEXITSTATUS(status));
    while (n_told < 2048 && read(tell[0], &told[n_told], sizeof told[0]) == (ssize_t) sizeof told[0])
        n_told++;
    close(tell[0]);

    cr_assert_eq(store_open(&store, rig.path, STORE_MUST_EXIST), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_visit_get(&store, 1, &v), ERR_OK);
    cr_expect_not(v.is_finished);
    cr_assert_eq(store_steps(&store, 1, count, &c), ERR_OK);
    cr_expect_eq(c.n, c.last, "no hole: %u steps, the last has number %u", c.n, c.last);
    cr_expect_gt(c.n, 0);
    for (int i = 0; i < n_told; i++)
        if (told[i].number > c.last)
            cr_expect_leq(units_host_since_us(killed_at, told[i].at), UNITS_US_PER_S,
                          "step %u was given more than a second before the kill and is lost", told[i].number);
    /* The visit can go on to be read, and a next one to be written. */
    struct store_visit next = store_visit_default(v.runner_id);
    cr_expect_eq(store_visit_begin(&store, &next), ERR_OK, "%s", message_english(&store.why));
    store_close(&store);
    expect_sound(rig.path);
}

Test(store_kill, a_killed_program_loses_at_most_its_last_second_of_steps, .init = make_rig,
     .fini = remove_rig)
{
    kill_after(1900000);
}

Test(store_kill, killed_just_after_a_commit_it_has_the_batch, .init = make_rig, .fini = remove_rig)
{
    kill_after(1230000);
}

Test(store_kill, killed_early_the_store_is_still_whole, .init = make_rig, .fini = remove_rig)
{
    kill_after(1000000);
}
