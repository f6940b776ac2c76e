/* store_migrate.c - brings an older store's tables up to date, once a verified copy of it lies beside it.
 *
 * In this order, all under the store's write lock, so that nobody writes between copy and migration and of two programs
 * that open an old store at once one finds the other's work done: no visit runs; there is room; a copy by SQLite's online
 * backup, checked page by page, on disc, and only then given its name; the migration in one transaction. Killed or
 * refused anywhere in between, the store is as it was.
 */
#include "store/store.h"

#include "base/log.h"
#include "base/fileio.h"
#include "base/str.h"
#include "store/copies.h"
#include "store/identity.h"
#include "store/running.h"
#include "store/schema.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* What a migration may need beside the copy: its log, and something that is left to the computer itself. */
#define SPARE_BYTES (INT64_C(32) << 20)
#define MIB         (INT64_C(1) << 20)

static const char *const GROWING_TABLES[] = { "step", "measured_step" }; /* a column for each metric */

static enum err
has_metric_column(struct store *s, const char *table, enum metric m, bool *has)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT 1 FROM pragma_table_info(?1) WHERE name = ?2", N_("can't read"));

    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, table);
    sql_bind_word(st, 2, metric_info(m)->name);
    err = sql_next(s, st, N_("can't read"));
    *has = err == ERR_OK;
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

enum err
store_is_up_to_date(struct store *s, int64_t version, bool *is)
{
    *is = version == SCHEMA_VERSION;
    for (size_t t = 0; t < sizeof GROWING_TABLES / sizeof *GROWING_TABLES; t++)
        for (int m = 0; *is && m < METRIC_COUNT; m++) {
            enum err err = has_metric_column(s, GROWING_TABLES[t], (enum metric) m, is);
            if (err != ERR_OK)
                return err;
        }
    return ERR_OK;
}

static enum err
add_metric_columns(struct store *s, const char *table)
{
    for (int m = 0; m < METRIC_COUNT; m++) {
        bool has;
        char sql[128];
        enum err err = has_metric_column(s, table, (enum metric) m, &has);
        if (err == ERR_OK && !has) {
            snprintf(sql, sizeof sql, "ALTER TABLE %s ADD COLUMN %s REAL", table, metric_info((enum metric) m)->name);
            err = sql_exec(s, sql, N_("can't add a column"));
        }
        if (err != ERR_OK)
            return err;
    }
    return ERR_OK;
}

/* underfoot_derived(name): identity.h. */
static void
derive(sqlite3_context *context, int n, sqlite3_value **value)
{
    char uuid[IDENTITY_MAX];
    const char *name = (const char *) sqlite3_value_text(value[0]);
    (void) n;
    if (!name)
        return; /* NULL */
    identity_derived(name, uuid);
    sqlite3_result_text(context, uuid, -1, SQLITE_TRANSIENT);
}

enum err
store_teach_derived(struct store *s)
{
    const int code = sqlite3_create_function(s->db, "underfoot_derived", 1, SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY,
                                             NULL, derive, NULL, NULL);
    return code == SQLITE_OK ? ERR_OK : sql_failed_with(s, N_("can't give identifiers"), code);
}

/* To the rows from before there were any. */
enum err
store_give_identities(struct store *s)
{
    const enum err err = store_teach_derived(s);
    return err != ERR_OK ? err
                         : sql_exec(s,
                                    "UPDATE runner SET uuid = " STORE_DERIVED_RUNNER(runner) " WHERE uuid IS NULL;"
                                    "UPDATE visit SET uuid = " STORE_DERIVED_VISIT(visit) " WHERE uuid IS NULL",
                                    N_("can't give identifiers"));
}

static enum err
change_tables(struct store *s, int64_t version)
{
    char sql[96];
    enum err err = ERR_OK;

    for (; err == ERR_OK && version < SCHEMA_VERSION; version++)
        for (const char *const *p = SCHEMA_MIGRATION[version]; *p != NULL && err == ERR_OK; p++)
            err = sql_exec(s, *p, N_("can't bring the tables up to date"));
    for (size_t t = 0; err == ERR_OK && t < sizeof GROWING_TABLES / sizeof *GROWING_TABLES; t++)
        err = add_metric_columns(s, GROWING_TABLES[t]);
    if (err == ERR_OK)
        err = store_give_identities(s);
    if (err != ERR_OK)
        return err;
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d", SCHEMA_APPLICATION_ID,
             SCHEMA_VERSION);
    return sql_exec(s, sql, N_("can't bring the tables up to date"));
}

static enum err
refuse_running(struct store *s)
{
    if (!running_any(s->path))
        return ERR_OK;
    message_tell(&s->why, MESSAGE_STORE_OLD_IS_RUN, message_path(s->path));
    return ERR_USAGE;
}

static enum err
refuse_full(struct store *s)
{
    char folder[STORE_PATH_MAX];
    int64_t n_bytes = 0;
    enum err err = sql_file_bytes(s, &n_bytes);

    if (err != ERR_OK)
        return err;
    fileio_folder_of(folder, sizeof folder, s->path);
    const int64_t needed = n_bytes + SPARE_BYTES, free_bytes = fileio_free_bytes(folder);
    if (free_bytes < 0) {
        message_tell(&s->why, MESSAGE_STORE_ROOM_UNKNOWN, message_path(s->path), message_errno(errno));
        return ERR_OS;
    }
    if (free_bytes >= needed)
        return ERR_OK;
    message_tell(&s->why, MESSAGE_STORE_OLD_HAS_NO_ROOM, message_path(s->path), (needed + MIB - 1) / MIB, free_bytes / MIB);
    return ERR_OS;
}

static enum err
copy_beside(struct store *s, int64_t version, char kept[STORE_PATH_MAX])
{
    char word[16];
    snprintf(word, sizeof word, "v%lld", (long long) version);
    const enum err err = copies_path(s, word, kept);
    return err == ERR_OK ? copies_make(s, kept) : err;
}

/* Inside the write lock. Reads the version again: another program may have been faster. kept: "" when nothing was there
 * to be copied. */
static enum err
migrate_locked(struct store *s, bool is_copy, char kept[STORE_PATH_MAX])
{
    int64_t version = 0;
    bool is_current = false;
    enum err err = sql_get_int(s, "PRAGMA user_version", &version, N_("can't read"));

    if (err == ERR_OK && version > SCHEMA_VERSION) {
        message_tell(&s->why, MESSAGE_STORE_IS_NEWER, message_path(s->path));
        return ERR_UNSUPPORTED;
    }
    if (err == ERR_OK)
        err = store_is_up_to_date(s, version, &is_current);
    if (err != ERR_OK || is_current)
        return err;
    if (version > 0 && !is_copy) { /* else it was made just now, and is empty */
        err = refuse_running(s);
        if (err == ERR_OK)
            err = refuse_full(s);
        if (err == ERR_OK)
            err = copy_beside(s, version, kept);
    }
    return err == ERR_OK ? change_tables(s, version) : err;
}

enum err
store_migrate(struct store *s, int64_t version, bool is_copy)
{
    char kept[STORE_PATH_MAX] = "";
    /* Not store_begin(): that refuses an older version. */
    enum err err = sql_exec(s, "BEGIN IMMEDIATE", N_("can't begin to write"));

    if (err != ERR_OK)
        return err;
    err = migrate_locked(s, is_copy, kept);
    if (err == ERR_OK)
        err = store_commit(s);
    if (err != ERR_OK) {
        store_rollback(s);
        if (kept[0] != '\0')
            unlink(kept); /* the store is as it was: a copy of it would only lie about */
        return err;
    }
    if (kept[0] != '\0') {
        struct message m;
        message_tell(&m, MESSAGE_STORE_WAS_MIGRATED, message_path(s->path), version, SCHEMA_VERSION, message_path(kept));
        log_tell(&m);
    }
    /* So that the version stands in the file's own first page, where judge_header() looks. A reader elsewhere
     * may keep it from happening now: then a later checkpoint does it. */
    (void) sqlite3_wal_checkpoint_v2(s->db, "main", SQLITE_CHECKPOINT_TRUNCATE, NULL, NULL);
    return ERR_OK;
}
