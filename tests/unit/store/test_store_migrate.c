/* test_store_migrate.c - an older store is brought up to date only once a verified copy of it lies beside it; killed,
 * refused or without room in between, it is as it was. */
#include "aid/old_store.h"
#include "aid/store_file.h"
#include "aid/store_suite.h"
#include "aid/store_trace.h"
#include "store/copies.h"
#include "store/running.h"
#include "store/store_parts.h"

#include <dirent.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/statvfs.h>
#include <sys/wait.h>
#include <unistd.h>

TestSuite(store_migrate, .init = make_rig, .fini = remove_rig);

/* Stands in for the system's: how much room there is. */
static unsigned long free_blocks = 1ul << 40;
static const unsigned long BLOCK_LEN = 4096;

int
statvfs(const char *path, struct statvfs *out)
{
    cr_assert_not_null(path);
    memset(out, 0, sizeof *out);
    out->f_frsize = out->f_bsize = BLOCK_LEN;
    out->f_bavail = free_blocks;
    return 0;
}

static const char ALL_STEPS[] = "SELECT count(*) * 1000 + sum(contact_ms) FROM step";
enum { ALL_STEPS_ARE = 60 * 1000 + 60 * 250 + 30 + 930 }; /* 60 steps; sum of 250.5 + i, twice over 1..30 */

static void
expect_migrated(void)
{
    struct store_visit v;
    cr_assert_eq(store_visit_get(&store, 2, &v), ERR_OK, "%s", message_english(&store.why));
    cr_expect_str_eq(v.runner_code, "R-OLD2");
    cr_expect_eq(v.n_steps, 30);
    cr_expect_eq(store_file_int(rig.path, ALL_STEPS), ALL_STEPS_ARE);
    cr_expect_eq(store_file_int(rig.path, "PRAGMA user_version"), SCHEMA_VERSION);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit WHERE definitions = ''"), 2, "old figures have definition 1");
}

static void
expect_as_it_was(int version)
{
    char path[512];
    cr_expect_eq(store_file_int(rig.path, "PRAGMA user_version"), version);
    cr_expect_eq(store_file_int(rig.path, ALL_STEPS), ALL_STEPS_ARE);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM pragma_table_info('visit') WHERE name = 'definitions'"), 0);
    cr_expect_eq(find_copies(path), 0, "%s", path);
}

Test(store_migrate, every_older_version_is_copied_whole_and_then_brought_up_to_date)
{
    for (int version = 1; version < SCHEMA_VERSION; version++) {
        char path[512], want[32];
        struct stat st;
        make_version(version);
        open_store();
        expect_migrated();
        cr_assert_eq(find_copies(path), 1);
        snprintf(want, sizeof want, ".sqlite.v%d-20", version);
        cr_expect_not_null(strstr(path, want), "%s names version and date", path);
        cr_expect_eq(store_file_int(path, "PRAGMA user_version"), version);
        cr_expect_eq(store_file_int(path, ALL_STEPS), ALL_STEPS_ARE);
        cr_assert_eq(stat(path, &st), 0);
        cr_expect_eq(st.st_mode & 0777, 0600);
        store_close(&store);
        open_store(); /* what is up to date is not copied again */
        cr_expect_eq(find_copies(path), 1);
        store_close(&store);
        remove_rig();
        make_rig();
    }
}

Test(store_migrate, two_copies_of_an_old_store_come_to_the_same_identifiers_and_a_changed_code_changes_none)
{
    struct store_runner r;
    struct store_visit v, w;
    make_version(6);
    open_store();
    cr_assert_eq(store_runner_get(&store, "R-OLD1", &r), ERR_OK);
    cr_assert_eq(store_visit_get(&store, 1, &v), ERR_OK);
    store_close(&store);
    remove_rig();
    make_rig();
    make_version(6);
    store_file_sql(rig.path, "UPDATE runner SET code = 'R-NEW' WHERE id = 1");
    open_store();
    struct store_runner again, other;
    cr_assert_eq(store_runner_get(&store, "R-NEW", &again), ERR_OK);
    cr_assert_eq(store_runner_get(&store, "R-OLD2", &other), ERR_OK);
    cr_assert_eq(store_visit_get(&store, 1, &w), ERR_OK);
    cr_expect(identity_is_valid(r.uuid) && !identity_is_random(r.uuid), "%s", r.uuid);
    cr_expect_str_eq(again.uuid, r.uuid);
    cr_expect_str_neq(other.uuid, r.uuid);
    cr_expect(identity_is_valid(v.uuid));
    cr_expect_str_eq(w.uuid, v.uuid);
    store_close(&store);
}

Test(store_migrate, a_runner_and_a_visit_get_a_random_identifier_that_stays)
{
    struct store_runner r, s;
    struct store_visit v;
    open_store();
    const int64_t id = begin_visit();
    cr_assert_eq(store_runner_get(&store, "R-014", &r), ERR_OK);
    cr_assert_eq(store_visit_get(&store, id, &v), ERR_OK);
    cr_expect(identity_is_random(r.uuid) && identity_is_random(v.uuid));
    s = r;
    snprintf(s.code, sizeof s.code, "R-015");
    s.uuid[0] = 0;
    cr_assert_eq(store_runner_save(&store, &s), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_runner_get(&store, "R-015", &s), ERR_OK);
    cr_expect_str_eq(s.uuid, r.uuid);
    store_close(&store);
}

/* Another program was faster: what was old when it was opened is up to date once the lock is had. */
Test(store_migrate, what_another_program_brought_up_to_date_is_left_as_it_is)
{
    char path[512];
    make_version(5);
    open_store();
    cr_assert_eq(find_copies(path), 1);
    cr_expect_eq(store_migrate(&store, 5, false), ERR_OK, "%s", message_english(&store.why));
    cr_expect_eq(find_copies(path), 1, "not copied again");
    expect_migrated();
    store_close(&store);
}

Test(store_migrate, a_new_store_has_nothing_to_copy)
{
    char path[512];
    free_blocks = 0; /* and asks for no room */
    open_store();
    cr_expect_eq(find_copies(path), 0);
    store_close(&store);
}

Test(store_migrate, a_second_copy_of_one_day_takes_another_name)
{
    char path[512], first[512];
    make_version(4);
    open_store();
    store_close(&store);
    cr_assert_eq(find_copies(first), 1);
    store_file_sql(rig.path, "ALTER TABLE step DROP COLUMN contact_ms");
    open_store();
    store_close(&store);
    cr_expect_eq(find_copies(path), 2);
    cr_expect_eq(store_file_int(first, ALL_STEPS), ALL_STEPS_ARE, "the first one is untouched");
}

Test(store_migrate, nothing_is_migrated_while_a_visit_runs)
{
    make_version(5);
    int fd = running_begin(rig.path, 2);
    cr_assert_geq(fd, 0);
    cr_expect_eq(store_open(&store, rig.path, 0), ERR_USAGE);
    cr_expect_not_null(strstr(message_english(&store.why), "while a visit is being run"), "%s", message_english(&store.why));
    expect_as_it_was(5);
    running_end(fd);
    open_store();
    expect_migrated();
    store_close(&store);
}

Test(store_migrate, without_room_for_the_copy_nothing_is_migrated_and_the_need_is_told)
{
    char want[64];
    make_version(5);
    const int64_t len = store_file_int(rig.path, "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size");
    const int64_t needed_mb = (len + (32 << 20) + (1 << 20) - 1) >> 20; /* the copy and 32 MiB to spare */
    free_blocks = (unsigned long) ((len + (32 << 20)) / (int64_t) BLOCK_LEN) - 1;
    cr_expect_eq(store_open(&store, rig.path, 0), ERR_OS);
    snprintf(want, sizeof want, "needs %lld MB", (long long) needed_mb);
    cr_expect_not_null(strstr(message_english(&store.why), want), "%s", message_english(&store.why));
    expect_as_it_was(5);
    free_blocks += 2;
    open_store();
    expect_migrated();
    store_close(&store);
}

/* An index that says other than its rows: what opening looks at (quick_check) leaves that out, and integrity_check tells it
 * (read: sqlite.org/pragma.html#pragma_quick_check). */
Test(store_migrate, a_copy_that_is_not_whole_stops_before_anything_is_changed)
{
    make_version(5);
    store_file_sql(rig.path, "PRAGMA writable_schema = 1; UPDATE sqlite_schema SET sql ="
                             " replace(sql, 'started_utc_ms', 'zone_offset_min') WHERE name = 'visit_by_runner'");
    cr_expect_eq(store_open(&store, rig.path, 0), ERR_FORMAT);
    cr_expect_not_null(strstr(message_english(&store.why), "is not whole: nothing was changed"), "%s", message_english(&store.why));
    expect_as_it_was(5);
    store_file_sql(rig.path, "PRAGMA writable_schema = 1; UPDATE sqlite_schema SET sql ="
                             " replace(sql, 'zone_offset_min', 'started_utc_ms') WHERE name = 'visit_by_runner'");
    open_store();
    expect_migrated();
    store_close(&store);
}

/* The disc says that there is room, and then there is not: a limit on file size stands in for it. */
Test(store_migrate, a_disc_that_fills_up_while_copying_leaves_the_store_as_it_was)
{
    make_version(5);
    fflush(NULL);
    const pid_t child = fork();
    if (child == 0) {
        struct rlimit limit = { 32768, 32768 };
        signal(SIGXFSZ, SIG_IGN);
        setrlimit(RLIMIT_FSIZE, &limit);
        _exit(store_open(&store, rig.path, 0) == ERR_OK ? 1 : strstr(message_english(&store.why), "disc") ? 0 : 2);
    }
    int status;
    cr_assert_eq(waitpid(child, &status, 0), child);
    cr_expect(WIFEXITED(status) && WEXITSTATUS(status) == 0, "status %d", status);
    expect_as_it_was(5);
}

static int n_left; /* statements that change something, until the kill */

static void
kill_at(const char *sql)
{
    const char *const words[] = { "BEGIN", "ALTER", "CREATE", "COMMIT", "PRAGMA user_version =", "PRAGMA journal_mode = DELETE",
                                  "PRAGMA integrity_check" };
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strncmp(sql, words[i], strlen(words[i])) == 0 && n_left-- == 0)
            kill(getpid(), SIGKILL);
}

/* Kills a process before statement n of the migration. True when it came through, having fewer. */
static bool
comes_through(int n)
{
    fflush(NULL);
    const pid_t child = fork();
    if (child == 0) {
        n_left = n;
        store_trace_begin(kill_at);
        const enum err err = store_open(&store, rig.path, 0);
        store_trace_fn = NULL;
        store_close(&store);
        _exit(err != ERR_OK);
    }
    int status;
    cr_assert_eq(waitpid(child, &status, 0), child);
    cr_assert(WIFSIGNALED(status) || WEXITSTATUS(status) == 0);
    return !WIFSIGNALED(status);
}

Test(store_migrate, killed_before_any_statement_the_store_is_as_it_was_and_opens_again)
{
    char path[512];
    int n = 0;
    make_version(4);
    /* Most of them add a column for one metric: of those each fifth is enough. */
    for (; !comes_through(n); n += n < 20 ? 1 : 5) {
        cr_assert_eq(store_file_int(rig.path, "PRAGMA user_version"), 4, "killed before statement %d", n);
        cr_assert_eq(store_file_int(rig.path, ALL_STEPS), ALL_STEPS_ARE);
        cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM pragma_integrity_check WHERE integrity_check = 'ok'"), 1);
        for (int k = find_copies(path); k > 0; k = find_copies(path)) { /* of those killed after it: each is whole */
            cr_assert_eq(store_file_int(path, ALL_STEPS), ALL_STEPS_ARE);
            unlink(path);
        }
    }
    /* One of each of the last two migrations' statements, one a metric and table, and what is around them. */
    cr_expect_gt(n, 10 + METRIC_COUNT, "only %d statements were seen", n);
    open_store();
    expect_migrated();
    store_close(&store);
}

/* A newer program came in between: what this one would write is not what that one expects. */
Test(store_migrate, nothing_is_written_once_the_store_is_of_a_newer_version)
{
    char text[64];
    struct store_runner r = store_runner_default("R-NEW");
    struct store_target_set t = { .runner_id = 1, .n = 0 };
    struct store_check c = { .sensor_kind = "mat", .grade = "good", .report = "{}" };
    struct store_pain p = { .when = STORE_PAIN_AFTER, .pain = 1, .effort = 1 };
    struct store_note note = { .at = { -1 }, .text = "x" };
    struct store_block b = { .kind = VERDICT_BLOCK_FREE, .part = -1 };
    struct store_visit_end end = { .is_finished = true };
    struct coached_step s = store_rig_step(2, true);

    open_store();
    int64_t visit = begin_visit();
    struct store_visit v = store_visit_default(1);
    put_step(visit, 1, true);
    snprintf(text, sizeof text, "PRAGMA user_version = %d", SCHEMA_VERSION + 1);
    store_file_sql(rig.path, text);
    const int64_t before = store_file_int(rig.path, "PRAGMA data_version");
    cr_expect_eq(store_begin(&store), ERR_UNSUPPORTED);
    cr_expect_not_null(strstr(message_english(&store.why), "newer version"), "%s", message_english(&store.why));
    cr_expect_eq(store_runner_save(&store, &r), ERR_UNSUPPORTED);
    cr_expect_eq(store_target_set_save(&store, &t), ERR_UNSUPPORTED);
    cr_expect_eq(store_visit_begin(&store, &v), ERR_UNSUPPORTED);
    cr_expect_eq(store_visit_set_ticks(&store, visit, "x"), ERR_UNSUPPORTED);
    cr_expect_eq(store_visit_set_dropped(&store, visit, 3), ERR_UNSUPPORTED);
    cr_expect_eq(store_visit_set_targets(&store, visit, 0), ERR_UNSUPPORTED);
    cr_expect_eq(store_step_put(&store, visit, &s), ERR_UNSUPPORTED);
    cr_expect_eq(store_block_put(&store, visit, &b), ERR_UNSUPPORTED);
    cr_expect_eq(store_pain_put(&store, visit, &p), ERR_UNSUPPORTED);
    cr_expect_eq(store_note_put(&store, visit, &note), ERR_UNSUPPORTED);
    cr_expect_eq(store_check_put(&store, &c), ERR_UNSUPPORTED);
    cr_expect_eq(store_visit_end(&store, visit, &end), ERR_UNSUPPORTED);
    cr_expect_eq(store_file_int(rig.path, "PRAGMA data_version"), before);
    cr_expect_eq(store_file_int(rig.path, "SELECT (SELECT count(*) FROM runner) + (SELECT count(*) FROM visit)"
                                          " + (SELECT count(*) FROM step) + (SELECT count(*) FROM pain)"), 3);
    store_close(&store);
}

Test(store_migrate, a_folder_of_copies_that_can_not_be_looked_through_is_named)
{
    open_store();
    char *slash = strrchr(store.path, '/');
    cr_assert_not_null(slash);
    memcpy(slash, "-gone/x", sizeof "-gone/x"); /* no such folder */
    cr_expect_eq(copies_each(&store, NULL, NULL), ERR_OS);
    cr_expect_not_null(strstr(message_english(&store.why), "can't look for copies"), "%s", message_english(&store.why));
    cr_expect_not_null(strstr(message_english(&store.why), "-gone/"), "%s", message_english(&store.why));
    store_close(&store);
}
