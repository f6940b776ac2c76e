/* store_forget.c - a runner is forgotten: rows, traces of them in the file, the pages that the program printed, and the
 * recordings of the visits. */
#include "store/store.h"

#include "store/pages.h"
#include "store/recordings.h"
#include "store/running.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <stdio.h>
#include <stdlib.h>

/* Whose pages, read from the store; visit_id is the caller's to free. */
struct owner {
    char code[STORE_CODE_MAX];
    int64_t *visit_id;
    struct recordings_visit *visit; /* the same, with their begin */
    int n_visits;
};

static enum err
read_owner(struct store *s, int64_t runner_id, struct owner *o)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st,
                               "SELECT code, (SELECT count(*) FROM visit WHERE runner_id = ?1) FROM runner WHERE id = ?1",
                               "can't read the runner");
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, runner_id);
    err = sql_next(s, st, "can't read the runner");
    int64_t n = 0;
    if (err == ERR_OK) {
        sql_copy(st, 0, o->code, sizeof o->code);
        n = sql_int(st, 1);
    } else if (err == ERR_GONE)
        snprintf(s->why, sizeof s->why, "there is no such runner any more");
    sql_end(st);
    if (err == ERR_OK && !((o->visit_id = calloc((size_t) n + 1, sizeof *o->visit_id)) &&
                            (o->visit = calloc((size_t) n + 1, sizeof *o->visit)))) {
        snprintf(s->why, sizeof s->why, "out of memory for the visits of %s", o->code);
        err = ERR_MEMORY;
    }
    if (err == ERR_OK)
        err = sql_prepare(s, &st, "SELECT id, started_utc_ms FROM visit WHERE runner_id = ?1 LIMIT ?2", "can't read the visits");
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, runner_id);
    sql_bind_int(st, 2, n);
    while ((err = sql_next(s, st, "can't read the visits")) == ERR_OK) {
        o->visit[o->n_visits] = (struct recordings_visit){ sql_int(st, 0), sql_int(st, 1) };
        o->visit_id[o->n_visits++] = sql_int(st, 0);
    }
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
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
store_runner_belongings(struct store *s, int64_t runner_id, struct store_belongings *out)
{
    struct owner o = { .visit_id = NULL };
    enum err err = read_owner(s, runner_id, &o);
    *out = (struct store_belongings){ .n_visits = o.n_visits };
    if (err == ERR_OK)
        err = count_files(s, &o, false, out);
    let_go(&o);
    return err;
}

/* Inside the transaction, so that no visit begins in between. */
static enum err
refuse_running(struct store *s, const struct owner *o)
{
    for (int i = 0; i < o->n_visits; i++)
        if (running_is(s->path, o->visit_id[i])) {
            snprintf(s->why, sizeof s->why, "visit %lld of %s is being run, here or in another program: end it first",
                     (long long) o->visit_id[i], o->code);
            return ERR_USAGE;
        }
    return ERR_OK;
}

static enum err
delete_of(struct store *s, int64_t runner_id, const char *sql)
{
    sqlite3_stmt *st;
    const enum err err = sql_prepare(s, &st, sql, "can't forget the runner");
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, runner_id);
    return sql_run(s, st, "can't forget the runner");
}

/* All or nothing, as far as files allow: they go last before the rows are gone for good. */
static enum err
delete_all(struct store *s, int64_t runner_id, struct owner *o, struct store_belongings *out)
{
    enum err err = store_begin(s);
    if (err != ERR_OK)
        return err;
    err = read_owner(s, runner_id, o);
    if (err == ERR_OK)
        err = refuse_running(s, o);
    /* Visits first: they refer to target sets, which the runner's own cascade may reach before them. */
    if (err == ERR_OK)
        err = delete_of(s, runner_id, "DELETE FROM visit WHERE runner_id = ?1");
    if (err == ERR_OK)
        err = delete_of(s, runner_id, "DELETE FROM runner WHERE id = ?1");
    if (err == ERR_OK)
        err = store_copies_forget(s, runner_id);
    if (err == ERR_OK)
        err = count_files(s, o, true, out);
    if (err == ERR_OK)
        err = store_commit(s);
    if (err != ERR_OK)
        store_rollback(s);
    return err;
}

/* Also what lay in pages of the file that were freed before secure_delete was on. */
static enum err
leave_no_trace(struct store *s)
{
    const enum err err = sql_exec(s, "VACUUM", "the runner is forgotten, but traces may stay");
    if (err != ERR_OK)
        return err;
    /* The log still holds the old pages until it is emptied. */
    const int code = sqlite3_wal_checkpoint_v2(s->db, "main", SQLITE_CHECKPOINT_TRUNCATE, NULL, NULL);
    return code == SQLITE_OK ? ERR_OK : sql_failed_with(s, "the runner is forgotten, but traces stay", code);
}

enum err
store_runner_forget(struct store *s, int64_t runner_id, struct store_belongings *out)
{
    struct owner o = { .visit_id = NULL };
    *out = (struct store_belongings){ .n_visits = 0 };
    enum err err = delete_all(s, runner_id, &o, out);
    /* Once more: another program may have printed between. One that prints later finds no row (desk_work.c). */
    if (err == ERR_OK)
        err = count_files(s, &o, true, out);
    if (err == ERR_OK)
        err = leave_no_trace(s);
    out->n_visits = o.n_visits;
    let_go(&o);
    return err;
}
