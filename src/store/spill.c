/* spill.c - making, filling and ending a spill. */
#include "store/spill_parts.h"

#include "base/fileio.h"
#include "base/monotime.h"
#include "base/str.h"
#include "store/running.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define SQL_MAX 8192
/* What is left free where a whole store goes: its own log, and something for the computer. */
#define SPARE_BYTES (INT64_C(64) << 20)

/* What of each table belongs to the visit ?1. In an order in which nothing refers to what is not there yet. */
static const struct {
    const char *table, *where;
} PARTS[] = {
    { "sensor", "id = (SELECT sensor_id FROM main.visit WHERE id = ?1)" },
    { "sensor_check", "id = (SELECT check_id FROM main.visit WHERE id = ?1)" },
    { "runner", "id = (SELECT runner_id FROM main.visit WHERE id = ?1)" },
    { "target_set", "runner_id = (SELECT runner_id FROM main.visit WHERE id = ?1)" },
    { "target", "target_set_id IN (SELECT t.id FROM main.target_set t JOIN main.visit v USING (runner_id) WHERE v.id = ?1)" },
    { "visit", "id = ?1" },
    { "block", "visit_id = ?1" },
    { "step", "visit_id = ?1" },
    { "note", "visit_id = ?1" },
    { "pain", "visit_id = ?1" },
};

static enum err
copy_part(struct store *home, const char *table, const char *where, int64_t visit_id)
{
    char sql[SQL_MAX], columns[SQL_MAX / 3] = "";
    sqlite3_stmt *st;
    enum err err = sql_prepare(home, &st, "SELECT group_concat('\"' || name || '\"') FROM pragma_table_info(?1, 'spill')",
                               N_("can't read"));
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, table);
    err = sql_next(home, st, N_("can't read"));
    if (err == ERR_OK)
        sql_copy(st, 0, columns, sizeof columns);
    sql_end(st);
    if (err != ERR_OK)
        return err;
    const int len = snprintf(sql, sizeof sql, "INSERT INTO spill.%s (%s) SELECT %s FROM main.%s WHERE %s", table, columns,
                             columns, table, where);
    if (len < 0 || len >= (int) sizeof sql)
        return ERR_FORMAT;
    err = sql_prepare(home, &st, sql, N_("can't copy the visit"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    return sql_run(home, st, N_("can't copy the visit"));
}

static enum err
attach(struct store *home, const char *path)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(home, &st, "ATTACH ?1 AS spill", N_("can't open the spill"));
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, path);
    return sql_run(home, st, N_("can't open the spill"));
}

/* Through home's own connection, which reads what no path leads to any more. */
static enum err
copy_visit(struct store *home, const char *path, int64_t visit_id)
{
    enum err err = attach(home, path);
    if (err != ERR_OK)
        return err;
    err = sql_exec(home, "BEGIN", N_("can't copy the visit"));
    for (size_t i = 0; err == ERR_OK && i < sizeof PARTS / sizeof *PARTS; i++)
        err = copy_part(home, PARTS[i].table, PARTS[i].where, visit_id);
    if (err == ERR_OK)
        err = sql_exec(home, "COMMIT", N_("can't copy the visit"));
    if (err != ERR_OK)
        store_rollback(home);
    (void) sqlite3_exec(home->db, "DETACH spill", NULL, NULL, NULL);
    return err;
}

/* From memory alone: the store can't even be read. Runner and visit are those that the store has, by their identifiers, and the
 * runner was there before the spill was. */
static enum err
make_visit(struct store *to, const struct store_visit *row)
{
    struct store_runner runner = store_runner_default(row->runner_code);
    struct store_visit copy = *row;
    sqlite3_stmt *st;
    str_copy(runner.uuid, sizeof runner.uuid, row->runner_uuid);
    runner.created_utc_ms = row->started_utc_ms;
    enum err err = store_runner_save(to, &runner);
    if (err != ERR_OK)
        return err;
    copy.runner_id = runner.id;
    copy.id = copy.target_set_id = 0; /* as it was never begun, else it would be another one */
    err = store_visit_begin(to, &copy);
    if (err == ERR_OK)
        err = sql_prepare(to, &st, "UPDATE visit SET id = ?2 WHERE id = ?1", N_("can't begin the visit"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, copy.id);
    sql_bind_int(st, 2, row->id);
    return store_run(to, st, N_("can't begin the visit"));
}

/* The visit's rows, as many as can be had. ERR_GONE: it is not there any more. */
static enum err
fill(struct spill *sp, struct store *home, const struct spill_ask *ask)
{
    struct store_visit v;
    enum err err = copy_visit(home, sp->store.path, ask->visit_id);
    if (err == ERR_OK)
        return store_visit_get(&sp->store, ask->visit_id, &v);
    if (!ask->row)
        return err;
    return make_visit(&sp->store, ask->row);
}

static bool
has_room(const char *folder, struct store *home)
{
    int64_t n_bytes = 0;
    return sql_file_bytes(home, &n_bytes) == ERR_OK && fileio_free_bytes(folder) > n_bytes + SPARE_BYTES;
}

/* All of the orphan; its every page is looked at as it is opened. */
static enum err
copy_whole(struct spill *sp, struct store *home, const char *path)
{
    enum err err = store_copy_to(home, path);
    if (err == ERR_OK)
        err = store_open(&sp->store, path, STORE_MUST_EXIST);
    if (err != ERR_OK)
        unlink(path);
    return err;
}

static int64_t
first_visit(struct store *home, const struct spill_ask *ask)
{
    int64_t newest = 0;
    if (ask->visit_id != 0)
        return ask->visit_id;
    (void) sql_get_int(home, "SELECT coalesce(max(id), 0) FROM visit", &newest, N_("can't read"));
    return newest + 1;
}

static void
let_go(struct spill *sp)
{
    if (sp->store.db)
        store_close(&sp->store);
    if (sp->running_fd >= 0)
        running_end(sp->running_fd);
    sp->running_fd = -1;
    sp->is_open = false;
}

static enum err
open_in(struct spill *sp, int base, struct store *home, const struct spill_ask *ask)
{
    char path[STORE_PATH_MAX];
    struct spill_note note = { .made_utc_ms = monotime_wall_us() / 1000, .first_visit = first_visit(home, ask) };
    enum err err = spill_make_folder(base, sp->folder, &sp->why);
    if (err != ERR_OK) {
        sp->folder[0] = '\0';
        return err;
    }
    spill_store_path(sp->folder, path);
    sp->running_fd = running_begin(path, ask->visit_id); /* before anybody else finds it */
    sp->is_whole = ask->is_orphan && has_room(sp->folder, home) && copy_whole(sp, home, path) == ERR_OK;
    if (!sp->is_whole) {
        err = ask->visit_id != 0 ? store_open(&sp->store, path, STORE_UNCHECKED) : ERR_OS;
        if (err == ERR_OK)
            err = fill(sp, home, ask);
        if (err != ERR_OK)
            sp->why = message_is_none(&sp->store.why) ? home->why : sp->store.why;
    }
    note.is_whole = sp->is_whole;
    str_copy(note.home, sizeof note.home, home->home);
    if (err == ERR_OK)
        err = spill_write_note(sp->folder, &note, &sp->why);
    if (err != ERR_OK) {
        let_go(sp);
        spill_remove(sp->folder);
        sp->folder[0] = '\0';
    }
    sp->is_open = err == ERR_OK;
    return err;
}

enum err
spill_open(struct spill *sp, struct store *home, const struct spill_ask *ask)
{
    struct message why; /* why home refused stays what is told */
    enum err err = ERR_OS;
    memset(sp, 0, sizeof *sp);
    sp->running_fd = -1;
    why = home->why;
    for (int i = 0; err != ERR_OK && i < SPILL_N_BASES; i++)
        err = open_in(sp, i, home, ask);
    home->why = why;
    return err;
}

void
spill_close(struct spill *sp)
{
    if (sp->is_open)
        let_go(sp);
}

/* ---------------------------------------------------------------- home again */

enum err
spill_take(struct spill *sp, struct store *home, struct spill_taken *out)
{
    struct spill_note note;
    memset(out, 0, sizeof *out);
    if (!sp->is_open || !spill_read_note(sp->folder, &note)) {
        message_tell(&home->why, MESSAGE_SPILL_IS_GONE, message_path(sp->folder));
        return ERR_GONE;
    }
    const enum err err = spill_take_rows(home, sp->store.path, &note, out);
    if (err != ERR_OK || out->n_without_runner > 0)
        return err;
    let_go(sp);
    if (!note.is_whole && !spill_has_folder(sp->folder))
        spill_remove(sp->folder);
    else {
        note.is_taken = true;
        (void) spill_write_note(sp->folder, &note, &sp->why); /* once more is no harm: nothing is doubled */
    }
    return ERR_OK;
}

struct taking {
    struct store *home;
    const struct spill_guest *guest;
};

static void
tell(const struct taking *t, enum message_code code, const struct spill_taken *taken, const char *folder)
{
    struct message m;
    message_init(&m, code);
    if (code == MESSAGE_SPILL_TAKEN)
        message_add(&m, message_integer(taken->visit_id));
    if (code == MESSAGE_SPILL_TAKEN || code == MESSAGE_SPILL_HAS_NO_RUNNER)
        message_add(&m, message_text(taken->code));
    message_add(&m, message_path(folder));
    if (code == MESSAGE_SPILL_NOT_TAKEN)
        message_add(&m, message_of(&t->home->why));
    t->guest->tell(t->guest->context, &m);
}

static bool
spill_is_taken(const char *folder)
{
    struct spill_note note;
    return spill_read_note(folder, &note) && note.is_taken;
}

static bool
take_one(void *context, const char *folder, const struct spill_note *note)
{
    struct taking *t = context;
    struct spill sp = { .is_whole = note->is_whole };
    struct spill_taken taken = { .visit_id = 0 };
    char path[STORE_PATH_MAX];
    spill_store_path(folder, path);
    if (running_any(path))
        return true;
    if (!note->is_taken) {
        str_copy(sp.folder, sizeof sp.folder, folder);
        sp.running_fd = running_begin(path, 0); /* -1: another program is faster */
        if (sp.running_fd < 0)
            return true;
        enum err err = store_open(&sp.store, path, STORE_MUST_EXIST);
        sp.is_open = err == ERR_OK;
        if (err == ERR_OK && (err = t->guest->look(t->guest->context, t->home, &sp.store)) == ERR_OK)
            err = spill_take(&sp, t->home, &taken);
        else
            t->home->why = sp.store.why;
        let_go(&sp);
        if (taken.n_visits > 0)
            tell(t, MESSAGE_SPILL_TAKEN, &taken, folder);
        if (err != ERR_OK)
            tell(t, MESSAGE_SPILL_NOT_TAKEN, &taken, folder);
        else if (taken.n_without_runner > 0)
            tell(t, MESSAGE_SPILL_HAS_NO_RUNNER, &taken, folder);
    }
    if (spill_has_folder(folder) && spill_is_taken(folder)) {
        t->guest->leave(t->guest->context, t->home, folder);
        if (!note->is_whole && !spill_has_folder(folder))
            spill_remove(folder);
    }
    if (note->is_whole)
        tell(t, MESSAGE_SPILL_IS_WHOLE, &taken, path);
    return true;
}

void
spill_take_all(struct store *home, const struct spill_guest *guest)
{
    struct taking t = { home, guest };
    spill_each(home->home, take_one, &t);
}

/* ---------------------------------------------------------------- a runner is forgotten */

struct forgetting {
    struct store *home;
    const char *uuid;
    enum err err;
};

static enum err
find_runner(struct store *s, const char *uuid, int64_t *id)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT id FROM runner WHERE uuid = ?1", N_("can't read the runner"));
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, uuid);
    err = sql_next(s, st, N_("can't read the runner"));
    if (err == ERR_OK)
        *id = sql_int(st, 0);
    sql_end(st);
    return err;
}

/* Overwritten, and the log emptied, as in the store itself. */
static enum err
forget_rows(struct store *s, const char *uuid)
{
    int64_t id = 0;
    enum err err = store_begin(s);
    if (err == ERR_OK)
        err = find_runner(s, uuid, &id);
    if (err == ERR_OK)
        err = store_delete_runner(s, id, N_("can't forget the runner"));
    if (err == ERR_OK || err == ERR_GONE)
        err = store_commit(s);
    if (err != ERR_OK) {
        store_rollback(s);
        return err;
    }
    return sql_exec(s, "VACUUM; PRAGMA wal_checkpoint(TRUNCATE)", N_("can't forget the runner"));
}

static bool
forget_in(void *context, const char *folder, const struct spill_note *note)
{
    struct forgetting *f = context;
    struct store s;
    char path[STORE_PATH_MAX];
    int n = 0;
    spill_store_path(folder, path);
    f->err = store_open(&s, path, STORE_MUST_EXIST | STORE_UNCHECKED);
    if (f->err == ERR_OK)
        f->err = forget_rows(&s, f->uuid);
    if (f->err == ERR_OK && !note->is_whole)
        f->err = store_visits_count(&s, 0, &n);
    if (f->err != ERR_OK)
        f->home->why = s.why;
    store_close(&s);
    if (f->err == ERR_OK && !note->is_whole && n == 0)
        spill_remove(folder);
    return f->err == ERR_OK;
}

enum err
spill_forget(struct store *home, const char *uuid)
{
    struct forgetting f = { home, uuid, ERR_OK };
    spill_each(home->home, forget_in, &f);
    return f.err;
}
