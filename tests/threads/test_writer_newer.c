/* A newer program brings the tables up to date while the writer runs: from then on nothing is written to them, the reason is
 * told, and the visit goes on in a fresh place: put back to its version, the store gets all of it. And while a writer runs, that its
 * store is in use can be seen. */
#include "store/running.h"
#include "store/schema.h"
#include "store/writer.h"

#include "aid/plain_check.h"
#include "aid/store_rig.h"
#include "base/monotime.h"

#include <sqlite3.h>
#include <stdio.h>

enum { N_STEPS = 200 };

static bool
set_version(const char *path, int version)
{
    char sql[64];
    sqlite3 *db;
    snprintf(sql, sizeof sql, "PRAGMA user_version = %d", version);
    bool is = sqlite3_open(path, &db) == SQLITE_OK && sqlite3_busy_timeout(db, 5000) == SQLITE_OK &&
              sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK;
    return sqlite3_close(db) == SQLITE_OK && is;
}

/* Waits until the writer's last answer is that; false after 20 s. */
static bool
wait_answer(struct writer *w, enum err err)
{
    struct writer_status status;
    for (int i = 0; i < 2000; i++) {
        writer_get_status(w, &status);
        if (status.err == err && (err != ERR_OS || status.aside[0] != '\0') && status.n_waiting == 0)
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
    struct store store;
    int n = 0;

    CHECK(store_open(&store, rig->path, 0) == ERR_OK);
    CHECK(store_runner_ensure(&store, "R-014", &runner) == ERR_OK);
    struct store_visit v = store_visit_default(runner.id);
    CHECK(store_visit_begin(&store, &v) == ERR_OK);
    CHECK(!running_any(rig->path));
    CHECK(writer_start(&writer, rig->path, v.id) == ERR_OK);
    CHECK(running_any(rig->path));
    CHECK(set_version(rig->path, SCHEMA_VERSION + 1));
    for (uint32_t i = 1; i <= N_STEPS; i++) {
        struct coached_step s = store_rig_step(i, true);
        CHECK(writer_put_step(&writer, &s));
    }
    CHECK(wait_answer(&writer, ERR_OS));
    writer_get_status(&writer, &status);
    CHECK(strstr(message_english(&status.why), "newer version") != NULL);
    CHECK(status.n_written == N_STEPS && status.n_dropped == 0);
    CHECK(store_steps(&store, v.id, count, &n) == ERR_OK && n == 0);
    CHECK(set_version(rig->path, SCHEMA_VERSION));
    CHECK(wait_answer(&writer, ERR_OK));
    CHECK(writer_stop(&writer, &end) == ERR_OK);
    CHECK(!running_any(rig->path));
    CHECK(store_steps(&store, v.id, count, &n) == ERR_OK);
    CHECK(n == N_STEPS);
    CHECK(store_visit_get(&store, v.id, &v) == ERR_OK);
    CHECK(v.is_finished && v.n_dropped == 0);
    store_close(&store);
    return 0;
}

int
main(void)
{
    struct store_rig rig;
    if (store_rig_make(&rig) != 0)
        return 77;
    setenv("XDG_STATE_HOME", rig.folder, 1);
    int code = run(&rig);
    store_rig_remove(&rig);
    return code;
}
