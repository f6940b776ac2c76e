#include "care/repair.h"

#include "base/monotime.h"
#include "base/str.h"
#include "care/instead.h"
#include "care/restore.h"
#include "store/copies.h"
#include "store/schema.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { SQL_MAX = 8192, COLUMNS_MAX = 3072, MAX_COLUMNS = 128 };

/* In an order in which what is referred to comes first. key: the whole number that rows are walked by; NULL: in one go, by the
 * table's own order. owner: the column of whom rows belong to, when a key is unique within one owner only; owners: their table. */
static const struct shape {
    const char *table, *key, *owner, *owners;
} SHAPES[] = {
    { "runner", "id", NULL, NULL },
    { "sensor", "id", NULL, NULL },
    { "sensor_check", "id", NULL, NULL },
    { "target_set", "id", NULL, NULL },
    { "target", NULL, "target_set_id", "target_set" },
    { "visit", "id", NULL, NULL },
    { "block", "number", "visit_id", "visit" },
    { "step", "number", "visit_id", "visit" },
    { "note", "id", NULL, NULL },
    { "pain", "id", NULL, NULL },
    { "measurement", "id", NULL, NULL },
    { "measured_step", "number", "measurement_id", "measurement" },
};
enum { N_SHAPES = sizeof SHAPES / sizeof *SHAPES };

/* What refers to what is gone: whole rows go, but a visit's own columns are only emptied. */
static const struct {
    const char *table, *sql;
} ORPHANS[] = {
    { "target_set", "DELETE FROM target_set WHERE runner_id NOT IN (SELECT id FROM runner)" },
    { "target", "DELETE FROM target WHERE target_set_id NOT IN (SELECT id FROM target_set)" },
    { "sensor_check", "DELETE FROM sensor_check WHERE sensor_id NOT IN (SELECT id FROM sensor)" },
    { "block", "DELETE FROM block WHERE visit_id NOT IN (SELECT id FROM visit)" },
    { "step", "DELETE FROM step WHERE visit_id NOT IN (SELECT id FROM visit)" },
    { "note", "DELETE FROM note WHERE visit_id NOT IN (SELECT id FROM visit)" },
    { "pain", "DELETE FROM pain WHERE visit_id NOT IN (SELECT id FROM visit)" },
    { "measurement", "DELETE FROM measurement WHERE visit_id NOT IN (SELECT id FROM visit)" },
    { "measured_step", "DELETE FROM measured_step WHERE measurement_id NOT IN (SELECT id FROM measurement)" },
};
static const char EMPTIED[] =
    "UPDATE visit SET target_set_id = NULL WHERE target_set_id NOT IN (SELECT id FROM target_set);"
    "UPDATE visit SET sensor_id = NULL WHERE sensor_id NOT IN (SELECT id FROM sensor);"
    "UPDATE visit SET check_id = NULL WHERE check_id NOT IN (SELECT id FROM sensor_check);"
    "UPDATE block SET target_set_id = NULL WHERE target_set_id NOT IN (SELECT id FROM target_set)";

/* One table's walk. */
struct walk {
    struct store *from, *to;
    const struct shape *shape;
    struct repair_table *told;
    char columns[COLUMNS_MAX];
    int n_columns;
    sqlite3_stmt *put;
    int64_t owner; /* 0: none */
};

static enum err
refuse(struct message *why, enum message_code code, const char *path)
{
    message_init(why, code);
    message_add(why, message_path(path));
    return code == MESSAGE_RESTORE_IN_USE ? ERR_USAGE : ERR_FORMAT;
}

/* ------------------------------------------------------------------ one table */

static void
add_gap(struct walk *w, int64_t first, int64_t last)
{
    struct repair_table *t = w->told;
    if (t->n_gaps < REPAIR_MAX_GAPS)
        t->gap[t->n_gaps] = (struct repair_gap){ w->owner, first, last };
    t->n_gaps++;
}

/* The columns that both stores' tables have: an older one lacks the newest. False: the damaged one has no such table. */
static bool
find_columns(struct walk *w)
{
    char name[64];
    sqlite3_stmt *st;
    w->columns[0] = '\0';
    w->n_columns = 0;
    if (sql_prepare(w->to, &st, "SELECT name FROM pragma_table_info(?1)", N_("can't repair")) != ERR_OK)
        return false;
    sql_bind_word(st, 1, w->shape->table);
    while (sql_next(w->to, st, N_("can't repair")) == ERR_OK && w->n_columns < MAX_COLUMNS) {
        char ask[256];
        sqlite3_stmt *has = NULL;
        sql_copy(st, 0, name, sizeof name);
        snprintf(ask, sizeof ask, "SELECT t.\"%s\" FROM %s t LIMIT 0", name, w->shape->table);
        if (sqlite3_prepare_v2(w->from->db, ask, -1, &has, NULL) == SQLITE_OK) {
            str_append(w->columns, sizeof w->columns, w->n_columns > 0 ? ", " : "");
            str_append(w->columns, sizeof w->columns, name);
            w->n_columns++;
        }
        sqlite3_finalize(has);
    }
    sql_end(st);
    return w->n_columns > 0;
}

static enum err
prepare_put(struct walk *w)
{
    char sql[SQL_MAX];
    int len = snprintf(sql, sizeof sql, "INSERT OR IGNORE INTO %s (%s) VALUES (?1", w->shape->table, w->columns);
    for (int i = 2; i <= w->n_columns; i++)
        len += snprintf(sql + len, sizeof sql - (size_t) len, ", ?%d", i);
    snprintf(sql + len, sizeof sql - (size_t) len, ")");
    return sql_prepare(w->to, &w->put, sql, N_("can't repair"));
}

/* A row that no table takes (a type that is none of its columns') is no row. */
static enum err
put_row(struct walk *w, sqlite3_stmt *row)
{
    sqlite3_reset(w->put);
    for (int i = 0; i < w->n_columns; i++)
        sqlite3_bind_value(w->put, i + 1, sqlite3_column_value(row, i));
    const int code = sqlite3_step(w->put);
    w->told->n_rows += code == SQLITE_DONE ? sqlite3_changes(w->to->db) : 0;
    if (code == SQLITE_DONE || (code & 0xff) == SQLITE_CONSTRAINT || (code & 0xff) == SQLITE_MISMATCH)
        return ERR_OK;
    return sql_failed(w->to, N_("can't repair"));
}

static sqlite3_stmt *
select_from(const struct walk *w, const char *what, int64_t key, const char *tail)
{
    char sql[SQL_MAX], by_key[96] = "", by_owner[96] = "";
    sqlite3_stmt *st = NULL;
    if (w->shape->key)
        snprintf(by_key, sizeof by_key, " AND %s > ?2 ORDER BY %s", w->shape->key, w->shape->key);
    if (w->shape->owner)
        snprintf(by_owner, sizeof by_owner, " AND %s = ?1", w->shape->owner);
    snprintf(sql, sizeof sql, "SELECT %s FROM %s WHERE 1%s%s%s", what, w->shape->table, by_owner, by_key, tail);
    if (sqlite3_prepare_v2(w->from->db, sql, -1, &st, NULL) != SQLITE_OK)
        return NULL;
    if (w->shape->owner)
        sqlite3_bind_int64(st, 1, w->owner);
    if (w->shape->key)
        sqlite3_bind_int64(st, 2, key);
    return st;
}

enum probe { PROBE_IS_BAD, PROBE_IS_END, PROBE_IS_ROW };

static enum probe
probe(const struct walk *w, int64_t after, int64_t *key)
{
    sqlite3_stmt *st = select_from(w, w->shape->key, after, " LIMIT 1");
    const int code = st ? sqlite3_step(st) : SQLITE_CORRUPT;
    if (code == SQLITE_ROW)
        *key = sqlite3_column_int64(st, 0);
    sqlite3_finalize(st);
    return code == SQLITE_ROW ? PROBE_IS_ROW : code == SQLITE_DONE ? PROBE_IS_END : PROBE_IS_BAD;
}

/* The first key behind a place that can't be read. False: there is none. */
static bool
find_behind(const struct walk *w, int64_t last, int64_t *key)
{
    int64_t bad = last, good = last, ignored;
    for (int64_t by = 1; by < INT64_C(1) << 52; by *= 2) {
        good = last + by;
        if (probe(w, good, &ignored) != PROBE_IS_BAD)
            break;
        bad = good;
    }
    if (good == bad)
        return false;
    while (good - bad > 1) {
        const int64_t middle = bad + (good - bad) / 2;
        if (probe(w, middle, &ignored) == PROBE_IS_BAD)
            bad = middle;
        else
            good = middle;
    }
    return probe(w, good, key) == PROBE_IS_ROW;
}

/* Rows behind *last, until the end or a place that can't be read. */
static enum err
read_on(struct walk *w, int64_t *last, bool *is_end)
{
    char what[COLUMNS_MAX + 32];
    int code = SQLITE_CORRUPT;
    enum err err = ERR_OK;
    snprintf(what, sizeof what, "%s, %s", w->columns, w->shape->key ? w->shape->key : "0");
    sqlite3_stmt *st = select_from(w, what, *last, "");
    while (st && err == ERR_OK && (code = sqlite3_step(st)) == SQLITE_ROW) {
        err = put_row(w, st);
        *last = sqlite3_column_int64(st, w->n_columns);
    }
    sqlite3_finalize(st);
    *is_end = code == SQLITE_DONE;
    return err;
}

static enum err
walk_keys(struct walk *w)
{
    int64_t last = -1, next = 0;
    bool is_end = false;
    for (;;) {
        const enum err err = read_on(w, &last, &is_end);
        if (err != ERR_OK || is_end)
            return err;
        if (!w->shape->key || !find_behind(w, last, &next)) {
            add_gap(w, last + 1, last);
            return ERR_OK;
        }
        add_gap(w, last + 1, next - 1);
        last = next - 1;
    }
}

/* Each owner that is known, and those between: a visit whose own row is gone may have its steps. */
static enum err
walk_owners(struct walk *w)
{
    char sql[128];
    int64_t n = 0;
    snprintf(sql, sizeof sql, "SELECT coalesce(max(id), 0) FROM %s", w->shape->owners);
    enum err err = sql_get_int(w->to, sql, &n, N_("can't repair"));
    for (w->owner = 1; err == ERR_OK && w->owner <= n; w->owner++)
        err = walk_keys(w);
    w->owner = 0;
    return err;
}

static enum err
save_table(struct store *from, struct store *to, const struct shape *shape, struct repair_table *told)
{
    struct walk w = { .from = from, .to = to, .shape = shape, .told = told };
    told->name = shape->table;
    if (!find_columns(&w)) {
        add_gap(&w, 0, -1);
        return ERR_OK;
    }
    enum err err = prepare_put(&w);
    if (err == ERR_OK)
        err = shape->owner ? walk_owners(&w) : walk_keys(&w);
    sqlite3_finalize(w.put);
    return err;
}

/* ------------------------------------------------------------------ all of them */

static enum err
make_lost_runners(struct repair *r, struct store *to)
{
    char sql[512];
    snprintf(sql, sizeof sql,
             "INSERT INTO runner (id, code, created_utc_ms) SELECT DISTINCT runner_id, 'lost-' || runner_id, %lld FROM"
             " (SELECT runner_id FROM visit UNION SELECT runner_id FROM target_set) WHERE runner_id NOT IN (SELECT id FROM runner)",
             (long long) (monotime_wall_us() / 1000));
    const enum err err = sql_exec(to, sql, N_("can't repair"));
    r->n_lost_runners = sqlite3_changes(to->db);
    return err;
}

static enum err
leave_out_orphans(struct repair *r, struct store *to)
{
    enum err err = sql_exec(to, EMPTIED, N_("can't repair"));
    for (size_t i = 0; i < sizeof ORPHANS / sizeof *ORPHANS && err == ERR_OK; i++) {
        err = sql_exec(to, ORPHANS[i].sql, N_("can't repair"));
        for (int t = 0; t < r->n_tables; t++)
            if (strcmp(r->table[t].name, ORPHANS[i].table) == 0) {
                r->table[t].n_orphans = sqlite3_changes(to->db);
                r->table[t].n_rows -= r->table[t].n_orphans;
            }
    }
    return err;
}

static enum err
save_all(struct repair *r, struct store *from, struct store *to)
{
    enum err err = sql_exec(to, "PRAGMA foreign_keys = OFF", N_("can't repair"));
    if (err == ERR_OK)
        err = store_begin(to);
    for (int i = 0; i < N_SHAPES && err == ERR_OK; i++)
        err = save_table(from, to, &SHAPES[i], &r->table[r->n_tables++]);
    if (err == ERR_OK)
        err = make_lost_runners(r, to);
    if (err == ERR_OK)
        err = leave_out_orphans(r, to);
    if (err == ERR_OK)
        err = store_give_identities(to);
    if (err == ERR_OK)
        err = store_commit(to);
    else
        store_rollback(to);
    return err;
}

/* The damaged store, never written to. */
static enum err
open_damaged(struct repair *r, struct store *from, struct message *why)
{
    int64_t id = 0, version = 0;
    struct store whole = { .db = NULL };
    str_copy(from->path, sizeof from->path, r->path);
    str_copy(whole.path, sizeof whole.path, r->path);
    if (access(r->path, F_OK) != 0)
        return refuse(why, MESSAGE_REPAIR_NO_STORE, r->path);
    if (instead_is_in_use(r->path))
        return refuse(why, MESSAGE_RESTORE_IN_USE, r->path);
    r->is_whole = copies_verify_references(&whole, r->path) == ERR_OK;
    if (sqlite3_open_v2(r->path, &from->db, SQLITE_OPEN_READONLY, NULL) != SQLITE_OK ||
        sql_get_int(from, "PRAGMA application_id", &id, N_("can't read")) != ERR_OK ||
        sql_get_int(from, "PRAGMA user_version", &version, N_("can't read")) != ERR_OK)
        return refuse(why, MESSAGE_REPAIR_NO_FIRST_PAGE, r->path);
    if (id != SCHEMA_APPLICATION_ID)
        return refuse(why, r->is_whole ? MESSAGE_RESTORE_NOT_OURS : MESSAGE_REPAIR_NO_FIRST_PAGE, r->path);
    return version > SCHEMA_VERSION ? refuse(why, MESSAGE_RESTORE_NEWER, r->path) : ERR_OK;
}

static enum err
make_new(struct repair *r, struct store *from, const char *aside, struct message *why)
{
    struct store to;
    instead_drop(aside);
    enum err err = instead_said(why, &to, store_open(&to, aside, 0));
    if (err == ERR_OK)
        err = instead_said(why, &to, save_all(r, from, &to));
    if (err == ERR_OK)
        err = restore_leave_out_forgotten(&to, r->path, &r->n_forgotten, why);
    if (err == ERR_OK)
        err = instead_said(why, &to, sql_exec(&to, "PRAGMA journal_mode = DELETE", N_("can't repair")));
    store_close(&to);
    if (err == ERR_OK)
        err = instead_said(why, &to, copies_verify_references(&to, aside));
    return err == ERR_OK ? instead_said(why, &to, copies_sync(&to, aside)) : err;
}

enum err
repair_store(struct repair *r, const char *store_path, struct message *why)
{
    struct store from = { .db = NULL }, s = { .db = NULL };
    char aside[STORE_PATH_MAX + 16];
    memset(r, 0, sizeof *r);
    enum err err = instead_said(why, &s, store_find_path(&s, store_path));
    str_copy(r->path, sizeof r->path, s.path);
    if (err == ERR_OK)
        err = instead_said(why, &s, copies_aside(&s, "repairing", aside));
    if (err == ERR_OK)
        err = open_damaged(r, &from, why);
    if (err == ERR_OK && !r->is_whole)
        err = make_new(r, &from, aside, why);
    sqlite3_close(from.db);
    if (err != ERR_OK || r->is_whole)
        return err;
    err = instead_rename(&s, aside, r->kept, why);
    if (err != ERR_OK)
        instead_drop(aside);
    return err;
}
