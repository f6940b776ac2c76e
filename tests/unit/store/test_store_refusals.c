#include "store/schema.h"
#include "store/store.h"

#include "aid/store_file.h"
#include "aid/store_suite.h"

#include <criterion/criterion.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

TestSuite(store_refusals, .init = make_rig, .fini = remove_rig);

/* What opening answers; the file must stay byte for byte. */
static enum err
open_untouched(unsigned flags)
{
    struct store_file before = store_file_read(rig.path);
    const enum err err = store_open(&store, rig.path, flags);
    struct store_file after = store_file_read(rig.path);
    cr_assert_eq(before.len, after.len);
    cr_assert_arr_eq(before.data, after.data, before.len);
    free(before.data);
    free(after.data);
    return err;
}

/* Opening must be refused so, with a sentence that names the file. */
static void
expect_refused_untouched(enum err want, const char *word)
{
    const enum err err = open_untouched(0);

    cr_assert_eq(err, want, "answered %d: %s", (int) err, message_english(&store.why));
    cr_assert_null(store.db);
    cr_assert_not_null(strstr(message_english(&store.why), rig.path), "%s", message_english(&store.why));
    cr_assert_not_null(strstr(message_english(&store.why), word), "%s", message_english(&store.why));
    cr_assert_null(strchr(message_english(&store.why), '\n'));
}

/* "Not there yet" and "may not be looked at" are two things. */
Test(store_refusals, a_store_in_a_folder_that_may_not_be_read_is_not_called_missing)
{
    open_store();
    store_close(&store);
    cr_assert_eq(chmod(rig.folder, 0), 0);
    if (geteuid() == 0)
        cr_assert_eq(seteuid(65534), 0); /* root may look at everything; each test has a process of its own */
    const enum err err = store_open(&store, rig.path, STORE_MUST_EXIST);
    if (getuid() == 0)
        cr_assert_eq(seteuid(0), 0);
    chmod(rig.folder, 0700);
    cr_assert_eq(err, ERR_OS, "%s", message_english(&store.why));
    cr_assert_not_null(strstr(message_english(&store.why), "Permission denied"), "%s", message_english(&store.why));
    cr_assert_not_null(strstr(message_english(&store.why), rig.path), "%s", message_english(&store.why));
}

Test(store_refusals, an_older_store_is_not_brought_up_to_date_read_only)
{
    store_file_version_1(rig.path);
    cr_assert_eq(open_untouched(STORE_READ_ONLY), ERR_UNSUPPORTED, "%s", message_english(&store.why));
}

Test(store_refusals, a_store_from_a_newer_version_is_refused_untouched)
{
    open_store();
    (void) begin_visit();
    store_close(&store);
    char text[64];
    snprintf(text, sizeof text, "PRAGMA user_version = %d", SCHEMA_VERSION + 1);
    store_file_sql(rig.path, text);
    expect_refused_untouched(ERR_UNSUPPORTED, "newer version");
    char wal[128];
    snprintf(wal, sizeof wal, "%s-wal", rig.path);
    cr_assert_neq(access(wal, F_OK), 0, "not even a file beside it");
}

/* A killed program of a newer version leaves its number in the write-ahead log only. */
Test(store_refusals, a_newer_version_in_the_write_ahead_log_is_seen_too)
{
    sqlite3 *db;
    char text[64];

    open_store();
    store_close(&store);
    cr_assert_eq(sqlite3_open(rig.path, &db), SQLITE_OK);
    sqlite3_db_config(db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, (int *) NULL);
    snprintf(text, sizeof text, "PRAGMA user_version = %d", SCHEMA_VERSION + 1);
    cr_assert_eq(sqlite3_exec(db, text, NULL, NULL, NULL), SQLITE_OK);
    cr_assert_eq(sqlite3_close(db), SQLITE_OK);
    expect_refused_untouched(ERR_UNSUPPORTED, "newer version");
    cr_assert_eq(store_file_int(rig.path, "PRAGMA user_version"), SCHEMA_VERSION + 1, "the log is kept");
}

Test(store_refusals, files_that_are_no_store_are_refused_untouched)
{
    static const char text[] = "these are somebody's notes, not a store\n";

    store_file_write(rig.path, text, sizeof text - 1);
    expect_refused_untouched(ERR_FORMAT, "damaged or no store");
    char zeros[4096] = { 0 };
    store_file_write(rig.path, zeros, sizeof zeros);
    expect_refused_untouched(ERR_FORMAT, "damaged or no store");
    store_file_write(rig.path, "SQLite format 3", 16); /* cut off in its header */
    expect_refused_untouched(ERR_FORMAT, "damaged or no store");
}

Test(store_refusals, another_programs_database_is_refused_untouched)
{
    store_file_write(rig.path, "", 0);
    store_file_sql(rig.path, "CREATE TABLE recipes (id INTEGER)");
    expect_refused_untouched(ERR_FORMAT, "another program");
    store_file_sql(rig.path, "PRAGMA application_id = 77");
    expect_refused_untouched(ERR_FORMAT, "another program");
}

Test(store_refusals, a_damaged_store_is_refused_untouched)
{
    open_store();
    int64_t visit = begin_visit();
    cr_assert_eq(store_begin(&store), ERR_OK);
    for (uint32_t i = 1; i <= 400; i++)
        put_step(visit, i, true);
    cr_assert_eq(store_commit(&store), ERR_OK);
    store_close(&store);
    struct store_file b = store_file_read(rig.path);
    cr_assert_gt(b.len, 20 * 4096);
    struct store_file copy = { malloc(b.len), b.len };
    /* Every page but the first in turn would take long: a few spread ones, and the file cut short. */
    for (size_t page = 1; page < b.len / 4096; page += 7) {
        memcpy(copy.data, b.data, b.len);
        memset(copy.data + page * 4096, 0xA5, 4096);
        store_file_write(rig.path, copy.data, copy.len);
        expect_refused_untouched(ERR_FORMAT, "damaged");
    }
    store_file_write(rig.path, b.data, b.len / 2 / 4096 * 4096);
    expect_refused_untouched(ERR_FORMAT, "damaged");
    store_file_write(rig.path, b.data, b.len);
    open_store(); /* the whole one is fine: the test itself breaks it */
    store_close(&store);
    free(b.data);
    free(copy.data);
}

Test(store_refusals, a_folder_in_the_files_place_is_refused)
{
    char folder[96];

    snprintf(folder, sizeof folder, "%s/data", rig.folder);
    cr_assert_eq(mkdir(folder, 0700), 0);
    cr_assert_eq(mkdir(rig.path, 0700), 0);
    cr_assert_eq(store_open(&store, rig.path, 0), ERR_FORMAT);
    cr_assert_not_null(strstr(message_english(&store.why), "no file"), "%s", message_english(&store.why));
}

Test(store_refusals, a_folder_that_cannot_be_made_is_refused)
{
    cr_assert_eq(store_open(&store, "/proc/underfoot/underfoot.sqlite", 0), ERR_OS);
    cr_assert_not_null(strstr(message_english(&store.why), "/proc/underfoot"), "%s", message_english(&store.why));
    cr_assert_eq(store_open(&store, "/dev/null/underfoot.sqlite", 0), ERR_OS);
    cr_assert_not_null(strstr(message_english(&store.why), "/dev/null"), "%s", message_english(&store.why));
}

Test(store_refusals, a_store_that_must_exist_is_not_made)
{
    cr_assert_eq(store_open(&store, rig.path, STORE_MUST_EXIST), ERR_GONE);
    cr_assert_neq(access(rig.path, F_OK), 0);
    cr_assert_eq(store_open(&store, rig.path, STORE_READ_ONLY), ERR_GONE);
    cr_assert_neq(access(rig.path, F_OK), 0);
}

/* Mode bits do not stop root: the test becomes nobody. */
static void
become_nobody(void)
{
    char command[128];

    if (geteuid() != 0)
        return;
    snprintf(command, sizeof command, "chown -R 65534 '%s'", rig.folder);
    cr_assert_eq(system(command), 0);
    cr_assert_eq(setuid(65534), 0);
}

Test(store_refusals, a_read_only_file_is_refused_for_writing_and_fine_for_reading)
{
    struct store_visit v;

    open_store();
    int64_t visit = begin_visit();
    store_close(&store);
    cr_assert_eq(chmod(rig.path, 0400), 0);
    become_nobody();
    expect_refused_untouched(ERR_OS, "read-only");
    cr_assert_eq(store_open(&store, rig.path, STORE_READ_ONLY), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_visit_get(&store, visit, &v), ERR_OK);
    store_close(&store);
}

Test(store_refusals, a_read_only_folder_is_refused_for_writing_and_fine_for_reading)
{
    struct store_visit v;
    char folder[96];

    open_store();
    int64_t visit = begin_visit();
    store_close(&store);
    snprintf(folder, sizeof folder, "%s/data", rig.folder);
    cr_assert_eq(chmod(folder, 0500), 0);
    become_nobody();
    expect_refused_untouched(ERR_OS, "read-only");
    cr_assert_eq(store_open(&store, rig.path, STORE_READ_ONLY), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_visit_get(&store, visit, &v), ERR_OK);
    store_close(&store);
    cr_assert_eq(chmod(folder, 0700), 0);
}

/* A file that says it is ours may bring what would run with our statements. */
Test(store_refusals, a_store_with_a_trigger_a_view_or_a_virtual_table_is_refused_untouched)
{
    static const struct {
        const char *sql, *undo, *word;
    } rows[] = {
        { "CREATE TRIGGER helper AFTER INSERT ON step BEGIN DELETE FROM note; END", "DROP TRIGGER helper", "a trigger" },
        { "CREATE VIEW helper AS SELECT * FROM runner", "DROP VIEW helper", "a view" },
        { "CREATE VIRTUAL TABLE helper USING fts5(a)", "DROP TABLE helper", "a virtual table" },
    };
    open_store();
    store_close(&store);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        store_file_sql(rig.path, rows[i].sql);
        expect_refused_untouched(ERR_FORMAT, rows[i].word);
        cr_assert_not_null(strstr(message_english(&store.why), "helper"), "%s", message_english(&store.why));
        store_file_sql(rig.path, rows[i].undo);
    }
    open_store();
    store_close(&store);
}

/* Each table in turn; what is told is about the file, not about our statements. */
Test(store_refusals, a_store_without_one_of_its_tables_is_refused_in_plain_words)
{
    static const char *const tables[] = { "runner", "sensor", "target_set", "target", "visit", "block", "step", "note",
                                          "pain", "sensor_check", "measurement", "measured_step" };
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        char sql[64];
        open_store();
        store_close(&store);
        snprintf(sql, sizeof sql, "DROP TABLE %s", tables[i]);
        store_file_sql(rig.path, sql);
        expect_refused_untouched(ERR_FORMAT, tables[i]);
        cr_assert_null(strstr(message_english(&store.why), "no such table"), "%s", message_english(&store.why));
        unlink(rig.path);
    }
}

Test(store_refusals, a_column_that_is_gone_is_told_without_our_statements)
{
    open_store();
    store_close(&store);
    store_file_sql(rig.path, "ALTER TABLE runner DROP COLUMN shoe_note");
    cr_assert_eq(store_open(&store, rig.path, 0), ERR_OK, "%s", message_english(&store.why));
    struct store_runner r;
    cr_assert_eq(store_runner_get(&store, "R-014", &r), ERR_FORMAT);
    cr_assert_not_null(strstr(message_english(&store.why), rig.path), "%s", message_english(&store.why));
    cr_assert_null(strstr(message_english(&store.why), "shoe_note"), "%s", message_english(&store.why));
    cr_assert_null(strchr(message_english(&store.why), '\n'));
    store_close(&store);
}

/* In a process of its own, which ends in mid-transaction as a power cut ends it: the pages are in the file, and so is the journal. */
static void
break_off_a_write(const char *path)
{
    const pid_t child = fork();
    if (child == 0) {
        sqlite3 *db;
        const char *const words = "PRAGMA cache_size = 1; PRAGMA cache_spill = 1; BEGIN; CREATE TABLE a (x); CREATE TABLE b (x);"
                                  "WITH n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 40)"
                                  " INSERT INTO a SELECT zeroblob(3000) FROM n";
        _exit(sqlite3_open(path, &db) != SQLITE_OK || sqlite3_exec(db, words, NULL, NULL, NULL) != SQLITE_OK);
    }
    int status = -1;
    cr_assert_eq(waitpid(child, &status, 0), child);
    cr_assert_eq(status, 0);
}

Test(store_refusals, a_store_whose_making_a_power_cut_broke_off_is_made_after_all)
{
    char journal[STORE_PATH_MAX];
    const char zeros[512] = { 0 };
    snprintf(journal, sizeof journal, "%s-journal", rig.path);
    store_file_write(rig.path, "", 0);
    break_off_a_write(rig.path);
    cr_assert_eq(access(journal, F_OK), 0);
    const int fd = open(rig.path, O_WRONLY); /* and the first sector never came to the disc */
    cr_assert_eq(pwrite(fd, zeros, sizeof zeros, 0), (ssize_t) sizeof zeros);
    cr_assert_eq(close(fd), 0);
    cr_assert_eq(store_open(&store, rig.path, 0), ERR_OK, "%s", message_english(&store.why));
    store_close(&store);
    cr_assert_neq(access(journal, F_OK), 0);
}
