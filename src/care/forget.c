/* forget.c - a runner is forgotten: rows, traces of them in the file, the copies beside it, the pages that the program
 * printed, and the recordings of the visits, also of visits that only a copy still has.
 *
 * What stays is a line in the list of who was forgotten (forgotten.h). It is written first, as unfinished: whoever was confirmed to
 * go, and whose going was cut off by a kill, goes when a program next looks (forget_settle()).
 */
#include "care/forget.h"

#include "base/str.h"
#include "care/forget_copies.h"
#include "care/forgotten.h"
#include "care/recordings.h"
#include "store/copies.h"
#include "store/pages.h"
#include "store/reserve.h"
#include "store/running.h"
#include "store/spill.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

/* Whose, read from the store and the copies. */
struct owner {
    struct copies_whom whom;
    char code[STORE_CODE_MAX];
    int64_t *visit_id;
    struct recordings_visit *visit; /* the same, with their begin */
    int n_visits, cap;
    int n_in_store; /* the first of these */
    bool is_out_of_memory;
};

static void
add_visit(void *context, int64_t id, int64_t started_utc_ms)
{
    struct owner *o = context;
    for (int i = 0; i < o->n_visits; i++)
        if (o->visit[i].id == id && o->visit[i].started_utc_ms == started_utc_ms)
            return;
    if (o->n_visits == o->cap) {
        const int cap = 2 * o->cap + 16;
        int64_t *ids = realloc(o->visit_id, (size_t) cap * sizeof *ids);
        if (ids)
            o->visit_id = ids;
        struct recordings_visit *visits = realloc(o->visit, (size_t) cap * sizeof *visits);
        if (visits)
            o->visit = visits;
        if (!ids || !visits) {
            o->is_out_of_memory = true;
            return;
        }
        o->cap = cap;
    }
    o->visit[o->n_visits] = (struct recordings_visit){ id, started_utc_ms };
    o->visit_id[o->n_visits++] = id;
}

static enum err
refuse_memory(struct store *s, const struct owner *o)
{
    if (!o->is_out_of_memory)
        return ERR_OK;
    message_tell(&s->why, MESSAGE_FORGET_NO_MEMORY, o->code);
    return ERR_MEMORY;
}

static enum err
read_owner(struct store *s, int64_t runner_id, struct owner *o)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT code, uuid, created_utc_ms FROM runner WHERE id = ?1", N_("can't read the runner"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, runner_id);
    err = sql_next(s, st, N_("can't read the runner"));
    if (err == ERR_OK) {
        sql_copy(st, 0, o->code, sizeof o->code);
        sql_copy(st, 1, o->whom.uuid, sizeof o->whom.uuid);
        o->whom.id = runner_id;
        o->whom.created_utc_ms = sql_int(st, 2);
    } else if (err == ERR_GONE)
        message_init(&s->why, MESSAGE_RUNNER_IS_GONE);
    sql_end(st);
    if (err == ERR_OK)
        err = sql_prepare(s, &st, "SELECT id, started_utc_ms FROM visit WHERE runner_id = ?1", N_("can't read the visits"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, runner_id);
    while ((err = sql_next(s, st, N_("can't read the visits"))) == ERR_OK)
        add_visit(o, sql_int(st, 0), sql_int(st, 1));
    sql_end(st);
    o->n_in_store = o->n_visits;
    return err == ERR_GONE ? refuse_memory(s, o) : err;
}

static void
let_go(struct owner *o)
{
    free(o->visit_id);
    free(o->visit);
}

/* Pages and recordings, added to what out has of them. */
static enum err
count_files(struct store *s, const struct owner *o, bool is_removed, struct store_belongings *out)
{
    const struct pages_owner owner = { o->code, o->visit_id, o->n_visits };
    int n_pages = 0, n_recordings = 0;
    int64_t n_bytes = 0;
    enum err err = pages_of(s, &owner, is_removed, &n_pages);
    if (err == ERR_OK)
        err = recordings_of(s, o->visit, o->n_visits, is_removed, &n_recordings, &n_bytes);
    out->n_pages += n_pages;
    out->n_recordings += n_recordings;
    out->n_recording_bytes += n_bytes;
    return err;
}

enum err
forget_belongings(struct store *s, int64_t runner_id, struct store_belongings *out)
{
    struct owner o = { .visit_id = NULL };
    enum err err = read_owner(s, runner_id, &o);
    *out = (struct store_belongings){ .n_visits = o.n_in_store };
    if (err == ERR_OK)
        err = count_files(s, &o, false, out);
    let_go(&o);
    return err;
}

/* Inside the transaction, so that no visit begins in between. */
static enum err
refuse_running(struct store *s, const struct owner *o)
{
    for (int i = 0; i < o->n_in_store; i++)
        if (running_is(s->path, o->visit_id[i])) {
            message_tell(&s->why, MESSAGE_FORGET_VISIT_IS_RUN, o->visit_id[i], o->code);
            return ERR_USAGE;
        }
    return ERR_OK;
}

static enum err
write_down(struct store *s, const struct copies_whom *whom,
           enum err (*how)(struct forgotten *f, const char *uuid, const char *day, struct message *why))
{
    struct forgotten f;
    char day[16];
    enum err err = copies_today(s, day);
    if (err == ERR_OK)
        err = forgotten_load(s->path, &f, &s->why);
    if (err != ERR_OK)
        return err;
    err = how(&f, whom->uuid, day, &s->why);
    forgotten_free(&f);
    return err;
}

/* Copies first: they tell of visits whose files go as well. */
static enum err
delete_from_folder(struct store *s, struct owner *o, struct store_belongings *out)
{
    struct copies_told told;
    enum err err = forget_copies(s, &o->whom, add_visit, o, &told);
    out->n_copies = told.n_rewritten;
    out->n_damaged_copies = told.n_removed;
    if (err == ERR_OK)
        err = refuse_memory(s, o);
    if (err == ERR_OK)
        err = spill_forget(s, o->whom.uuid);
    return err == ERR_OK ? count_files(s, o, true, out) : err;
}

/* All or nothing, as far as files allow: they go last before the rows are gone for good. */
static enum err
delete_all(struct store *s, int64_t runner_id, struct owner *o, struct store_belongings *out)
{
    struct message why;
    bool is_written = false;
    enum err err = store_begin(s);
    if (err != ERR_OK)
        return err;
    err = read_owner(s, runner_id, o);
    if (err == ERR_OK)
        err = refuse_running(s, o);
    if (err == ERR_OK) {
        err = write_down(s, &o->whom, forgotten_begin);
        is_written = err == ERR_OK;
    }
    if (err == ERR_OK)
        err = store_delete_runner(s, runner_id, N_("can't forget the runner"));
    if (err == ERR_OK)
        err = delete_from_folder(s, o, out);
    if (err == ERR_OK)
        err = store_commit(s);
    if (err == ERR_OK)
        return ERR_OK;
    why = s->why;
    if (is_written)
        (void) write_down(s, &o->whom, forgotten_undo); /* stays unfinished where that fails: it was asked for */
    store_rollback(s);
    s->why = why;
    return err;
}

/* VACUUM writes all of it to a file of its own, and again to the log (sqlite.org/lang_vacuum.html: up to twice its size). */
static void
say_room(struct store *s)
{
    int64_t n_bytes = 0;
    if (sql_file_bytes(s, &n_bytes) != ERR_OK)
        return;
    message_tell(&s->why, MESSAGE_FORGET_LEAVES_TRACES, message_path(s->path), 2 * n_bytes / 1000000 + 1);
}

/* Also what lay in pages of the file that were freed before secure_delete was on. */
static enum err
leave_no_trace(struct store *s)
{
    enum err err = sql_exec(s, "VACUUM", N_("the runner is forgotten, but traces may stay"));
    if (err != ERR_OK && s->is_full && reserve_give_up(s->path))
        err = sql_exec(s, "VACUUM", N_("the runner is forgotten, but traces may stay"));
    if (err != ERR_OK && s->is_full)
        say_room(s);
    if (err != ERR_OK)
        return err;
    /* The log still holds the old pages until it is emptied. */
    const int code = sqlite3_wal_checkpoint_v2(s->db, "main", SQLITE_CHECKPOINT_TRUNCATE, NULL, NULL);
    return code == SQLITE_OK ? ERR_OK : sql_failed_with(s, N_("the runner is forgotten, but traces stay"), code);
}

/* What follows once the rows are gone. */
static enum err
finish(struct store *s, struct owner *o)
{
    struct copies_told again; /* one that was being made by another program meanwhile, from what was there before */
    enum err err = forget_copies(s, &o->whom, add_visit, o, &again);
    if (err == ERR_OK)
        err = leave_no_trace(s);
    if (err == ERR_OK)
        err = store_begin(s); /* the list's lock */
    if (err != ERR_OK)
        return err;
    err = write_down(s, &o->whom, forgotten_finish);
    store_rollback(s); /* nothing was written here */
    return err;
}

enum err
forget_runner(struct store *s, int64_t runner_id, struct store_belongings *out)
{
    struct owner o = { .visit_id = NULL };
    *out = (struct store_belongings){ .n_visits = 0 };
    enum err err = delete_all(s, runner_id, &o, out);
    if (err != ERR_OK && s->is_full && reserve_give_up(s->path)) { /* even a delete needs room for the log */
        let_go(&o);
        o = (struct owner){ .visit_id = NULL };
        *out = (struct store_belongings){ .n_visits = 0 };
        err = delete_all(s, runner_id, &o, out);
    }
    /* Once more: another program may have printed between. One that prints later finds no row (desk_work.c). */
    if (err == ERR_OK)
        err = count_files(s, &o, true, out);
    if (err == ERR_OK)
        err = finish(s, &o);
    out->n_visits = o.n_in_store;
    let_go(&o);
    return err;
}

/* ------------------------------------------------------------------ what a kill left */

static enum err
find_runner(struct store *s, const char *uuid, int64_t *id)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT id FROM runner WHERE uuid = ?1", N_("can't read the runner"));
    *id = 0;
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, uuid);
    err = sql_next(s, st, N_("can't read the runner"));
    if (err == ERR_OK)
        *id = sql_int(st, 0);
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

/* Their rows are gone already: copies and traces. */
static enum err
sweep(struct store *s, const char *uuid)
{
    struct owner o = { .visit_id = NULL };
    struct store_belongings gone = { .n_visits = 0 };
    str_copy(o.whom.uuid, sizeof o.whom.uuid, uuid);
    enum err err = store_begin(s);
    if (err != ERR_OK)
        return err;
    err = delete_from_folder(s, &o, &gone);
    store_rollback(s);
    if (err == ERR_OK)
        err = finish(s, &o);
    let_go(&o);
    return err;
}

enum err
forget_settle(struct store *s, int *n)
{
    struct forgotten f;
    struct store_belongings gone;
    int64_t id = 0;
    *n = 0;
    enum err err = forgotten_load(s->path, &f, &s->why);
    if (err != ERR_OK)
        return err;
    for (int i = 0; i < f.n && err == ERR_OK; i++) {
        if (f.one[i].kind != FORGOTTEN_IS_UNFINISHED)
            continue;
        err = find_runner(s, f.one[i].what, &id);
        if (err == ERR_OK)
            err = id != 0 ? forget_runner(s, id, &gone) : sweep(s, f.one[i].what);
        *n += err == ERR_OK;
    }
    forgotten_free(&f);
    return err;
}
