/* A disc without room: the writer says so, the giver is never held up, what fits into the ring is written
 * once there is room, and what did not fit is counted in the visit's row. A limit on file size stands in for
 * the full disc. */
#include "store/writer.h"

#include "aid/plain_check.h"
#include "aid/store_rig.h"
#include "base/monotime.h"

#include <signal.h>
#include <stdio.h>
#include <sys/resource.h>

enum { N_EXTRA = 100 };

static void
limit_files_to(rlim_t bytes)
{
    struct rlimit limit;

    getrlimit(RLIMIT_FSIZE, &limit);
    limit.rlim_cur = bytes < limit.rlim_max ? bytes : limit.rlim_max;
    setrlimit(RLIMIT_FSIZE, &limit);
}

/* Waits until the writer's last answer is (or is not) ERR_OK; false after 20 s. */
static bool
wait_answer(struct writer *w, bool is_ok)
{
    struct writer_status status;

    for (int i = 0; i < 2000; i++) {
        writer_get_status(w, &status);
        if ((status.err == ERR_OK) == is_ok)
            return true;
        monotime_sleep_us(10000);
    }
    return false;
}

static bool
count(void *context, const struct coached_step *s)
{
    (void) s;
    ++*(int *) context;
    return true;
}

static int
run(const struct store_rig *rig)
{
    static struct writer writer;
    struct writer_status status;
    struct store_visit_end end = { .is_finished = true, .body_weight_n = (double) NAN };
    struct store_runner runner;
    struct store_visit v;
    struct store store;
    int n_refused = 0, n = 0;

    CHECK(store_open(&store, rig->path, 0) == ERR_OK);
    CHECK(store_runner_ensure(&store, "R-014", &runner) == ERR_OK);
    v = store_visit_default(runner.id);
    CHECK(store_visit_begin(&store, &v) == ERR_OK);
    CHECK(writer_start(&writer, rig->path, v.id) == ERR_OK);
    limit_files_to(4096);
    for (uint32_t i = 1; i <= WRITER_N_STEPS + N_EXTRA; i++) {
        struct coached_step s = store_rig_step(i, true);
        n_refused += !writer_put_step(&writer, &s);
        if (i == 10)
            CHECK(wait_answer(&writer, false));
    }
    CHECK(n_refused == N_EXTRA);
    writer_get_status(&writer, &status);
    CHECK(status.err == ERR_OS && strstr(message_english(&status.why), "full") != NULL);
    CHECK(status.n_written == 0 && status.n_waiting == WRITER_N_STEPS && status.n_dropped == N_EXTRA);
    limit_files_to(RLIM_INFINITY);
    CHECK(wait_answer(&writer, true));
    CHECK(writer_stop(&writer, &end) == ERR_OK);
    CHECK(store_steps(&store, v.id, count, &n) == ERR_OK);
    CHECK(n == WRITER_N_STEPS);
    CHECK(store_visit_get(&store, v.id, &v) == ERR_OK);
    CHECK(v.is_finished && v.n_dropped == N_EXTRA);

    /* Still full at the end, everywhere: said so, the visit stays open, and what waits is kept once there is room. */
    v = store_visit_default(runner.id);
    CHECK(store_visit_begin(&store, &v) == ERR_OK);
    CHECK(writer_start(&writer, rig->path, v.id) == ERR_OK);
    limit_files_to(4096);
    struct coached_step s = store_rig_step(1, true);
    CHECK(writer_put_step(&writer, &s));
    CHECK(writer_stop(&writer, &end) == ERR_OS);
    CHECK(strstr(message_english(&writer.status.why), "full") != NULL && writer.status.n_waiting == 1);
    CHECK(store_visit_get(&store, v.id, &v) == ERR_OK);
    CHECK(!v.is_finished && writer.is_open && writer.status.aside[0] == '\0');
    limit_files_to(RLIM_INFINITY);
    CHECK(writer_stop(&writer, &end) == ERR_OK && !writer.is_open);
    CHECK(store_visit_get(&store, v.id, &v) == ERR_OK);
    CHECK(v.is_finished && v.n_steps == 1);
    store_close(&store);
    return 0;
}

int
main(void)
{
    struct store_rig rig;

    signal(SIGXFSZ, SIG_IGN);
    if (store_rig_make(&rig) != 0)
        return 77;
    setenv("XDG_STATE_HOME", rig.folder, 1); /* as full as all else */
    int code = run(&rig);
    store_rig_remove(&rig);
    return code;
}
