/* store_file.h - looks at and changes a store's file behind the store's back. With aid/store_rig.h's rig,
 * Criterion and sqlite3. */
#ifndef AID_STORE_FILE_H
#define AID_STORE_FILE_H

#include "aid/store_rig.h"
#include "store/schema.h"

#include <criterion/criterion.h>
#include <sqlite3.h>

/* Runs SQL on the file behind the store's back. */
static inline void
store_file_sql(const char *path, const char *text)
{
    sqlite3 *db;
    char *message = NULL;

    cr_assert_eq(sqlite3_open(path, &db), SQLITE_OK);
    cr_assert_eq(sqlite3_exec(db, text, NULL, NULL, &message), SQLITE_OK, "%s: %s", text, message);
    cr_assert_eq(sqlite3_close(db), SQLITE_OK);
}

static inline int64_t
store_file_int(const char *path, const char *text)
{
    sqlite3 *db;
    sqlite3_stmt *st;
    int64_t value;

    cr_assert_eq(sqlite3_open(path, &db), SQLITE_OK);
    cr_assert_eq(sqlite3_prepare_v2(db, text, -1, &st, NULL), SQLITE_OK, "%s: %s", text, sqlite3_errmsg(db));
    cr_assert_eq(sqlite3_step(st), SQLITE_ROW, "%s", text);
    value = sqlite3_column_int64(st, 0);
    sqlite3_finalize(st);
    cr_assert_eq(sqlite3_close(db), SQLITE_OK);
    return value;
}

struct store_file {
    unsigned char *data;
    size_t len;
};

static inline struct store_file
store_file_read(const char *path)
{
    struct store_file b = { NULL, 0 };
    FILE *f = fopen(path, "rb");

    cr_assert_not_null(f);
    fseek(f, 0, SEEK_END);
    b.len = (size_t) ftell(f);
    rewind(f);
    b.data = malloc(b.len + 1);
    cr_assert_eq(fread(b.data, 1, b.len, f), b.len);
    fclose(f);
    return b;
}

/* Makes the folder too. */
static inline void
store_file_write(const char *path, const void *data, size_t len)
{
    char folder[96];

    snprintf(folder, sizeof folder, "%.*s", (int) (strrchr(path, '/') - path), path);
    mkdir(folder, 0700);
    FILE *f = fopen(path, "wb");
    cr_assert_not_null(f);
    cr_assert_eq(fwrite(data, 1, len, f), len);
    cr_assert_eq(fclose(f), 0);
}

/* A store as version 1 made it: its own statements, and rows with the metric columns of that day. */
static inline void
store_file_version_1(const char *path)
{
    store_file_write(path, "", 0);
    for (const char *const *p = SCHEMA_MIGRATION[0]; *p != NULL; p++)
        store_file_sql(path, *p);
    store_file_sql(path, "ALTER TABLE step ADD COLUMN contact_ms REAL");
    store_file_sql(path, "INSERT INTO runner (code, created_utc_ms) VALUES ('R-OLD', 1)");
    store_file_sql(path, "INSERT INTO visit (runner_id, started_utc_ms, zone_offset_min) VALUES (1, 5, 60)");
    store_file_sql(path, "INSERT INTO step (visit_id, number, is_settled, flags, touchdown_us, "
                         "toe_off_us, feedback_shown, contact_ms)"
                         " VALUES (1, 1, 1, 0, 10, 20, 1, 250.5)");
    store_file_sql(path, "INSERT INTO pain (visit_id, asked, pain) VALUES (1, 'before', 2)");
    store_file_sql(path, "PRAGMA application_id = 0x756e6674");
    store_file_sql(path, "PRAGMA user_version = 1");
}

#endif
