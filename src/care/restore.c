#include "care/restore.h"

#include "base/fileio.h"
#include "base/str.h"
#include "care/forgotten.h"
#include "care/instead.h"
#include "store/copies.h"
#include "store/running.h"
#include "store/schema.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static enum err
refuse(struct message *why, enum message_code code, const char *path, int number)
{
    message_init(why, code);
    message_add(why, message_path(path));
    if (code == MESSAGE_RESTORE_NO_FILE)
        message_add(why, message_errno(number));
    return code == MESSAGE_RESTORE_NOT_OURS ? ERR_FORMAT : code == MESSAGE_RESTORE_NEWER ? ERR_UNSUPPORTED : ERR_USAGE;
}

/* ------------------------------------------------------------------ the copy, read */

static enum err
judge_file(const struct restore *r, const char *file, struct message *why)
{
    struct stat st, own;
    if (stat(file, &st) != 0)
        return refuse(why, MESSAGE_RESTORE_NO_FILE, file, errno);
    if (!S_ISREG(st.st_mode))
        return refuse(why, MESSAGE_RESTORE_NO_FILE, file, S_ISDIR(st.st_mode) ? EISDIR : EINVAL);
    if (stat(r->path, &own) == 0 && own.st_dev == st.st_dev && own.st_ino == st.st_ino)
        return refuse(why, MESSAGE_RESTORE_IS_ITSELF, file, 0);
    return ERR_OK;
}

/* By the two numbers of the head: before anything of it is believed. */
static enum err
judge_copy(struct store *from, const char *file, struct message *why)
{
    int64_t id = 0, version = 0;
    enum err err = sql_get_int(from, "PRAGMA application_id", &id, N_("can't read"));
    if (err == ERR_OK)
        err = sql_get_int(from, "PRAGMA user_version", &version, N_("can't read"));
    if (err != ERR_OK || id != SCHEMA_APPLICATION_ID || version < 1)
        return refuse(why, MESSAGE_RESTORE_NOT_OURS, file, 0);
    return version > SCHEMA_VERSION ? refuse(why, MESSAGE_RESTORE_NEWER, file, 0) : ERR_OK;
}

static enum err
read_copy(struct restore *r, const char *file, struct message *why)
{
    struct store from = { .db = NULL };
    str_copy(from.path, sizeof from.path, file);
    const int code = sqlite3_open_v2(file, &from.db, SQLITE_OPEN_READONLY, NULL);
    enum err err = code == SQLITE_OK ? judge_copy(&from, file, why) : instead_said(why, &from, sql_failed_with(&from, N_("can't read"), code));
    if (err == ERR_OK)
        err = instead_said(why, &from, store_copy_to(&from, r->aside));
    sqlite3_close(from.db);
    if (err == ERR_OK) {
        str_copy(from.path, sizeof from.path, r->path);
        err = instead_said(why, &from, copies_verify_references(&from, r->aside));
    }
    return err;
}

/* ------------------------------------------------------------------ who was forgotten */

static enum err
next_runner(struct store *s, int64_t after, int64_t *id, char uuid[IDENTITY_MAX])
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT id, coalesce(uuid, '') FROM runner WHERE id > ?1 ORDER BY id LIMIT 1", N_("can't read"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, after);
    err = sql_next(s, st, N_("can't read"));
    if (err == ERR_OK) {
        *id = sql_int(st, 0);
        sql_copy(st, 1, uuid, IDENTITY_MAX);
    }
    sql_end(st);
    return err;
}

enum err
restore_leave_out_forgotten(struct store *s, const char *store_path, int *n, struct message *why)
{
    char uuid[IDENTITY_MAX];
    struct forgotten f;
    int64_t id = 0;
    *n = 0;
    enum err err = instead_said(why, s, forgotten_load(store_path, &f, &s->why));
    if (err != ERR_OK)
        return err;
    while (err == ERR_OK && (err = next_runner(s, id, &id, uuid)) == ERR_OK) {
        bool is = false;
        err = forgotten_knows(&f, uuid, &is, &s->why);
        if (err == ERR_OK && is)
            err = store_delete_runner(s, id, N_("can't leave out who was forgotten"));
        *n += err == ERR_OK && is;
    }
    forgotten_free(&f);
    err = err == ERR_GONE ? ERR_OK : err;
    if (err == ERR_OK && *n > 0)
        err = sql_exec(s, "VACUUM; PRAGMA wal_checkpoint(TRUNCATE)", N_("can't leave out who was forgotten"));
    return instead_said(why, s, err);
}

/* ------------------------------------------------------------------ what is won and lost */

#define IS_NOT_IN(there, table) " WHERE NOT EXISTS (SELECT 1 FROM " there "." table " o WHERE o.uuid = t.uuid)"
#define ONLY_IN(here, there, table) "SELECT count(*) FROM " here "." table " t" IS_NOT_IN(there, table)
#define IN_BOTH(table)              "SELECT count(*) FROM main." table " JOIN now." table " USING (uuid)"

static enum err
count_one(struct store *s, const char *runners, const char *visits, struct restore_counts *out)
{
    int64_t n_runners = 0, n_visits = 0;
    enum err err = sql_get_int(s, runners, &n_runners, N_("can't compare"));
    if (err == ERR_OK)
        err = sql_get_int(s, visits, &n_visits, N_("can't compare"));
    *out = (struct restore_counts){ (int) n_runners, (int) n_visits };
    return err;
}

/* s: the one that is to come, with the store of today beside it. */
static enum err
attach(struct store *s, const char *path)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "ATTACH ?1 AS now", N_("can't compare"));
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, path);
    return sql_run(s, st, N_("can't compare"));
}

static enum err
compare(struct restore *r, struct store *s)
{
    enum err err = attach(s, r->path);
    if (err == ERR_OK)
        err = count_one(s, ONLY_IN("main", "now", "runner"), ONLY_IN("main", "now", "visit"), &r->won);
    if (err == ERR_OK)
        err = count_one(s, ONLY_IN("now", "main", "runner"), ONLY_IN("now", "main", "visit"), &r->lost);
    if (err == ERR_OK)
        err = count_one(s, IN_BOTH("runner"), IN_BOTH("visit"), &r->same);
    return err;
}

/* ------------------------------------------------------------------ the store of today */

/* What there is of it, brought up to date like any store that is opened. */
static enum err
look_at_store(struct restore *r, const char *store_path, struct message *why)
{
    struct store now;
    const enum err err = store_open(&now, store_path, STORE_MUST_EXIST);
    str_copy(r->path, sizeof r->path, now.path);
    store_close(&now);
    r->has_store = err != ERR_GONE;
    r->is_damaged = err == ERR_FORMAT;
    if (err == ERR_OK || err == ERR_FORMAT)
        return ERR_OK;
    if (err != ERR_GONE)
        return instead_said(why, &now, err);
    char folder[STORE_PATH_MAX];
    fileio_folder_of(folder, sizeof folder, r->path);
    return instead_said(why, &now, fileio_make_folder(folder, &now.why));
}

enum err
restore_prepare(struct restore *r, const char *store_path, const char *file, struct message *why)
{
    struct store s = { .db = NULL };
    *r = (struct restore){ .has_store = false };
    enum err err = look_at_store(r, store_path, why);
    if (err == ERR_OK)
        err = judge_file(r, file, why);
    if (err != ERR_OK)
        return err;
    str_copy(s.path, sizeof s.path, r->path);
    err = instead_said(why, &s, copies_aside(&s, "restoring", r->aside));
    if (err == ERR_OK)
        err = read_copy(r, file, why);
    if (err == ERR_OK)
        err = instead_said(why, &s, store_open(&s, r->aside, STORE_MUST_EXIST | STORE_UNCHECKED | STORE_IS_A_COPY));
    if (err == ERR_OK)
        err = restore_leave_out_forgotten(&s, r->path, &r->n_forgotten, why);
    if (err == ERR_OK && r->has_store && !r->is_damaged)
        err = instead_said(why, &s, compare(r, &s));
    else if (err == ERR_OK)
        err = instead_said(why, &s, count_one(&s, "SELECT count(*) FROM runner", "SELECT count(*) FROM visit", &r->won));
    store_close(&s);
    if (err != ERR_OK)
        restore_drop(r);
    return err;
}

#define VISITS_ONLY_IN(here, there)                                                                                     \
    "SELECT r.code, t.id, t.started_utc_ms, t.zone_offset_min FROM " here ".visit t JOIN " here ".runner r ON r.id = t.runner_id"   \
    IS_NOT_IN(there, "visit") " ORDER BY t.started_utc_ms"

enum err
restore_visits(struct restore *r, bool is_lost,
               void (*fn)(void *context, const char *code, int64_t visit_id, int64_t started_utc_ms, int zone_offset_min),
               void *context, struct message *why)
{
    struct store s;
    sqlite3_stmt *st = NULL;
    enum err err = store_open(&s, r->aside, STORE_MUST_EXIST | STORE_UNCHECKED | STORE_IS_A_COPY);
    if (err == ERR_OK)
        err = attach(&s, r->path);
    if (err == ERR_OK)
        err = sql_prepare(&s, &st, is_lost ? VISITS_ONLY_IN("now", "main") : VISITS_ONLY_IN("main", "now"), N_("can't compare"));
    while (err == ERR_OK && (err = sql_next(&s, st, N_("can't compare"))) == ERR_OK)
        fn(context, sql_word(st, 0), sql_int(st, 1), sql_int(st, 2), (int) sql_int(st, 3));
    sql_end(st);
    err = instead_said(why, &s, err == ERR_GONE ? ERR_OK : err);
    store_close(&s);
    return err;
}

/* One file alone, whole and on disc. */
static enum err
close_aside(struct restore *r, struct message *why)
{
    struct store s;
    enum err err = store_open(&s, r->aside, STORE_MUST_EXIST | STORE_UNCHECKED | STORE_IS_A_COPY);
    if (err == ERR_OK)
        err = sql_exec(&s, "PRAGMA journal_mode = DELETE", N_("can't restore"));
    if (err != ERR_OK)
        *why = s.why;
    store_close(&s);
    if (err == ERR_OK)
        err = instead_said(why, &s, copies_verify(&s, r->aside));
    return err == ERR_OK ? instead_said(why, &s, copies_sync(&s, r->aside)) : err;
}

static enum err
keep_present(struct restore *r, struct message *why)
{
    struct store now;
    enum err err = store_open(&now, r->path, STORE_MUST_EXIST | STORE_UNCHECKED);
    if (err == ERR_OK)
        err = copies_path(&now, "before", r->kept);
    if (err == ERR_OK)
        err = copies_make(&now, r->kept);
    instead_said(why, &now, err);
    store_close(&now);
    return err;
}

enum err
restore_commit(struct restore *r, struct message *why)
{
    struct store s = { .db = NULL };
    str_copy(s.path, sizeof s.path, r->path);
    enum err err = running_any(r->path) ? refuse(why, MESSAGE_RESTORE_IN_USE, r->path, 0) : close_aside(r, why);
    if (err != ERR_OK) {
        restore_drop(r);
        return err;
    }
    if (r->has_store && !r->is_damaged) {
        err = keep_present(r, why);
        r->is_damaged = err == ERR_FORMAT; /* seen only as every page was read */
        if (err == ERR_OK)
            err = instead_write_into(&s, r->aside, why);
        if (err == ERR_USAGE && r->kept[0])
            unlink(r->kept); /* nothing was changed: a copy would only lie about */
    }
    if ((err == ERR_OK && !r->has_store) || r->is_damaged)
        err = instead_rename(&s, r->aside, r->kept, why);
    restore_drop(r);
    return err;
}

void
restore_drop(struct restore *r)
{
    instead_drop(r->aside);
}
