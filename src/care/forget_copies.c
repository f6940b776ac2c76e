/* forget_copies.c - a runner is taken out of the copies: each that has them is written anew beside itself, without them. */
#include "care/forget_copies.h"

#include "base/str.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { FIRST_VERSION_WITH_UUID = 7 };

struct forgetting {
    struct store *s;
    const struct copies_whom *whom;
    void (*visit)(void *context, int64_t id, int64_t started_utc_ms);
    void *context;
    struct copies_told *told;
};

/* *id is 0 when the copy does not have them. */
static enum err
find_in(struct store *copy, const struct copies_whom *whom, int64_t *id)
{
    int64_t version = 0;
    sqlite3_stmt *st;
    *id = 0;
    enum err err = sql_get_int(copy, "PRAGMA user_version", &version, N_("can't read the copy"));
    if (err == ERR_OK)
        err = store_teach_derived(copy);
    if (err == ERR_OK)
        err = sql_prepare(copy, &st,
                          version >= FIRST_VERSION_WITH_UUID
                              ? "SELECT id FROM runner WHERE uuid = ?1 OR (id = ?2 AND created_utc_ms = ?3)"
                              : "SELECT id FROM runner WHERE " STORE_DERIVED_RUNNER(runner) " = ?1 OR (id = ?2 AND created_utc_ms = ?3)",
                          N_("can't read the copy"));
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, whom->uuid);
    sql_bind_int(st, 2, whom->id);
    sql_bind_int(st, 3, whom->created_utc_ms);
    err = sql_next(copy, st, N_("can't read the copy"));
    if (err == ERR_OK)
        *id = sql_int(st, 0);
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

static enum err
tell_visits(struct store *copy, const struct forgetting *f, int64_t id)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(copy, &st, "SELECT id, started_utc_ms FROM visit WHERE runner_id = ?1", N_("can't read the copy"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, id);
    while ((err = sql_next(copy, st, N_("can't read the copy"))) == ERR_OK)
        f->visit(f->context, sql_int(st, 0), sql_int(st, 1));
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

static enum err
erase(struct store *s, const char *path, int64_t id)
{
    static const char what[] = N_("can't forget the runner");
    struct store copy = { .db = NULL };
    str_copy(copy.path, sizeof copy.path, path);
    const int code = sqlite3_open_v2(path, &copy.db, SQLITE_OPEN_READWRITE, NULL);
    enum err err = code == SQLITE_OK
                       ? sql_exec(&copy, "PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON; BEGIN IMMEDIATE", what)
                       : sql_failed_with(&copy, what, code);
    if (err == ERR_OK)
        err = store_delete_runner(&copy, id, what);
    if (err == ERR_OK)
        err = sql_exec(&copy, "COMMIT; VACUUM", what);
    sqlite3_close(copy.db);
    if (err != ERR_OK)
        s->why = copy.why;
    return err;
}

/* The copy that is being read, without them, in its own place. */
static enum err
rewrite(struct store *s, struct store *reading, int64_t id)
{
    char aside[STORE_PATH_MAX + 16];
    enum err err = copies_aside(s, "forgetting", aside);
    if (err == ERR_OK) {
        err = store_copy_to(reading, aside);
        if (err != ERR_OK)
            s->why = reading->why;
    }
    if (err == ERR_OK)
        err = erase(s, aside, id);
    if (err == ERR_OK)
        err = copies_verify(s, aside);
    if (err == ERR_OK)
        err = copies_sync(s, aside);
    if (err == ERR_OK && rename(aside, reading->path) != 0) {
        message_tell(&s->why, MESSAGE_FORGET_COPY_NOT_WRITTEN, message_path(reading->path), message_errno(errno));
        err = ERR_OS;
    }
    if (err == ERR_OK)
        return copies_sync(s, reading->path);
    unlink(aside);
    return err;
}

static enum err
remove_one(struct forgetting *f, const char *path, bool is_counted)
{
    if (unlink(path) == 0 || errno == ENOENT) {
        f->told->n_removed += is_counted;
        return ERR_OK;
    }
    message_tell(&f->s->why, MESSAGE_FORGET_NOT_REMOVED, message_path(path), message_errno(errno));
    return ERR_OS;
}

static enum err
forget_in(void *context, enum copies_kind kind, const char *path)
{
    struct forgetting *f = context;
    struct store copy = { .db = NULL };
    int64_t id = 0;
    if (kind == COPIES_DAMAGED || kind == COPIES_HALF_MADE)
        return remove_one(f, path, kind == COPIES_DAMAGED && !str_ends_with(path, "-wal"));
    str_copy(copy.path, sizeof copy.path, path);
    const int code = sqlite3_open_v2(path, &copy.db, SQLITE_OPEN_READONLY, NULL);
    enum err err = code == SQLITE_OK ? find_in(&copy, f->whom, &id) : sql_failed_with(&copy, N_("can't read the copy"), code);
    if (err == ERR_OK && id != 0)
        err = tell_visits(&copy, f, id);
    if (err != ERR_OK)
        f->s->why = copy.why;
    else if (id != 0)
        err = rewrite(f->s, &copy, id);
    f->told->n_rewritten += err == ERR_OK && id != 0;
    sqlite3_close(copy.db);
    return err;
}

enum err
forget_copies(struct store *s, const struct copies_whom *whom, void (*visit)(void *context, int64_t id, int64_t started_utc_ms),
              void *context, struct copies_told *told)
{
    struct forgetting f = { s, whom, visit, context, told };
    *told = (struct copies_told){ 0, 0 };
    return copies_each(s, forget_in, &f);
}
