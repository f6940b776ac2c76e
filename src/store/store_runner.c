/* store_runner.c - runners and their versioned targets. */
#include "store/store.h"

#include "base/monotime.h"
#include "base/str.h"
#include "store/pages.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define RUNNER_COLUMNS STORE_RUNNER_COLUMNS("")

struct store_runner
store_runner_default(const char *code)
{
    struct store_runner r = {
        .body_mass_kg = NAN, .leg_length_mm = NAN, .foot_length_mm = NAN, .pain_limit = NAN
    };

    str_copy(r.code, sizeof r.code, code);
    return r;
}

static enum err
check_code(struct store *s, const struct store_runner *r)
{
    struct store_runner other;

    if (r->code[0] == '\0') {
        message_init(&s->why, MESSAGE_RUNNER_LACKS_CODE);
        return ERR_USAGE;
    }
    enum err err = store_text_check(s, r->code, sizeof r->code, false, N_("the runner's code"));
    if (err == ERR_OK)
        err = store_text_check(s, r->shoe_note, sizeof r->shoe_note, false, N_("the note on the shoe"));
    if (err == ERR_OK)
        err = store_text_check(s, r->display, sizeof r->display, false, N_("the display choices"));
    if (err == ERR_OK)
        err = store_runner_get(s, r->code, &other);
    if (err == ERR_GONE)
        return ERR_OK;
    if (err == ERR_OK && other.id != r->id) {
        message_tell(&s->why, MESSAGE_RUNNER_IS_THERE, r->code);
        return ERR_USAGE;
    }
    return err;
}

/* The code in the store, before it is changed; "" for a new one. */
static enum err
code_before(struct store *s, int64_t id, char out[STORE_CODE_MAX])
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT code FROM runner WHERE id = ?1", N_("can't read the runner"));

    out[0] = '\0';
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, id);
    err = sql_next(s, st, N_("can't read the runner"));
    if (err == ERR_OK)
        sql_copy(st, 0, out, STORE_CODE_MAX);
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

enum err
store_no_chance(struct store *s)
{
    message_tell(&s->why, MESSAGE_STORE_NO_RANDOM, message_path(s->path));
    return ERR_OS;
}

enum err
store_runner_save(struct store *s, struct store_runner *r)
{
    char before[STORE_CODE_MAX];
    sqlite3_stmt *st;
    enum err err = check_code(s, r);

    if (err == ERR_OK)
        err = code_before(s, r->id, before);
    if (err != ERR_OK)
        return err;
    if (r->created_utc_ms == 0)
        r->created_utc_ms = monotime_wall_us() / 1000;
    if (r->uuid[0] == '\0' && !identity_random(r->uuid))
        return store_no_chance(s);
    err = sql_prepare(s, &st,
                      "INSERT INTO runner (" RUNNER_COLUMNS ") VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)"
                      " ON CONFLICT (id) DO UPDATE SET code = ?2, body_mass_kg = ?3, leg_length_mm = ?4,"
                      " foot_length_mm = ?5, pain_limit = ?6, shoe_note = ?7, display = ?8",
                      N_("can't save the runner"));
    if (err != ERR_OK)
        return err;
    sql_bind_id(st, 1, r->id);
    sql_bind_word(st, 2, r->code);
    sql_bind_number(st, 3, r->body_mass_kg);
    sql_bind_number(st, 4, r->leg_length_mm);
    sql_bind_number(st, 5, r->foot_length_mm);
    sql_bind_number(st, 6, r->pain_limit);
    sql_bind_word(st, 7, r->shoe_note);
    sql_bind_word(st, 8, r->display);
    sql_bind_int(st, 9, r->created_utc_ms);
    sql_bind_word(st, 10, r->uuid);
    err = store_run(s, st, N_("can't save the runner"));
    if (err == ERR_OK && before[0] != '\0' && strcmp(before, r->code) != 0)
        pages_follow(s, before, r->code);
    if (err == ERR_OK && r->id == 0)
        r->id = sqlite3_last_insert_rowid(s->db);
    return err;
}

void
store_read_runner(sqlite3_stmt *st, struct store_runner *out)
{
    memset(out, 0, sizeof *out);
    out->id = sql_int(st, 0);
    sql_copy(st, 1, out->code, sizeof out->code);
    out->body_mass_kg = sql_number(st, 2);
    out->leg_length_mm = sql_number(st, 3);
    out->foot_length_mm = sql_number(st, 4);
    out->pain_limit = sql_number(st, 5);
    sql_copy(st, 6, out->shoe_note, sizeof out->shoe_note);
    sql_copy(st, 7, out->display, sizeof out->display);
    out->created_utc_ms = sql_int(st, 8);
    sql_copy(st, 9, out->uuid, sizeof out->uuid);
}

enum err
store_runner_get(struct store *s, const char *code, struct store_runner *out)
{
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st, "SELECT " RUNNER_COLUMNS " FROM runner WHERE code = ?1", N_("can't read the runner"));

    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, code);
    err = sql_next(s, st, N_("can't read the runner"));
    if (err == ERR_OK)
        store_read_runner(st, out);
    else if (err == ERR_GONE)
        message_tell(&s->why, MESSAGE_RUNNER_IS_UNKNOWN, code);
    sql_end(st);
    return err;
}

enum err
store_runner_ensure(struct store *s, const char *code, struct store_runner *out)
{
    enum err err = store_text_check(s, code, sizeof out->code, false, N_("the runner's code"));

    if (err == ERR_OK)
        err = store_runner_get(s, code, out);
    if (err != ERR_GONE)
        return err;
    *out = store_runner_default(code);
    return store_runner_save(s, out);
}

enum err
store_runners(struct store *s, bool (*fn)(void *context, const struct store_runner *r), void *context)
{
    struct store_runner r;
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st, "SELECT " RUNNER_COLUMNS " FROM runner ORDER BY code", N_("can't read the runners"));

    if (err != ERR_OK)
        return err;
    while ((err = sql_next(s, st, N_("can't read the runners"))) == ERR_OK) {
        store_read_runner(st, &r);
        if (!fn(context, &r))
            break;
    }
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

/* The set's own row, with the runner's next version. */
static enum err
insert_target_set(struct store *s, struct store_target_set *t)
{
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st,
                    "INSERT INTO target_set (runner_id, version, created_utc_ms, reason) SELECT ?1,"
                    " 1 + coalesce(max(version), 0), ?2, ?3 FROM target_set WHERE runner_id = ?1"
                    " RETURNING id, version",
                    N_("can't save the targets"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, t->runner_id);
    sql_bind_int(st, 2, t->created_utc_ms);
    sql_bind_word(st, 3, t->reason);
    err = sql_next(s, st, N_("can't save the targets"));
    if (err != ERR_OK) {
        sql_end(st);
        return err;
    }
    t->id = sql_int(st, 0);
    t->version = (int) sql_int(st, 1);
    return sql_run(s, st, N_("can't save the targets"));
}

static enum err
insert_target(struct store *s, int64_t set_id, int rank, const struct store_target *t)
{
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st,
                    "INSERT INTO target (target_set_id, metric, low, high, baseline, is_focus, rank,"
                    " is_change, definition) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                    N_("can't save the targets"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, set_id);
    sql_bind_word(st, 2, metric_info(t->metric)->name);
    sql_bind_number(st, 3, t->low);
    sql_bind_number(st, 4, t->high);
    sql_bind_number(st, 5, t->baseline);
    sql_bind_int(st, 6, t->is_focus);
    sql_bind_int(st, 7, rank);
    sql_bind_int(st, 8, t->is_change);
    sql_bind_int(st, 9, t->definition != 0 ? t->definition : metric_info(t->metric)->definition);
    return sql_run(s, st, N_("can't save the targets"));
}

enum err
store_target_set_save(struct store *s, struct store_target_set *t)
{
    bool is_own;
    enum err err = store_enter(s, &is_own);

    if (err != ERR_OK)
        return err;
    /* The caller's transaction goes on without what is refused here. */
    err = sql_exec(s, "SAVEPOINT target_set", N_("can't save the targets"));
    if (err != ERR_OK)
        return store_leave(s, is_own, err);
    if (t->created_utc_ms == 0)
        t->created_utc_ms = monotime_wall_us() / 1000;
    err = insert_target_set(s, t);
    for (int i = 0; err == ERR_OK && i < t->n; i++)
        err = insert_target(s, t->id, i, &t->target[i]);
    if (err == ERR_OK)
        err = sql_exec(s, "RELEASE target_set", N_("can't save the targets"));
    if (err != ERR_OK && sqlite3_get_autocommit(s->db) == 0)
        (void) sqlite3_exec(s->db, "ROLLBACK TO target_set; RELEASE target_set", NULL, NULL, NULL);
    return store_leave(s, is_own, err);
}

static enum err
read_targets(struct store *s, struct store_target_set *out)
{
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st,
                    "SELECT metric, low, high, baseline, is_focus, is_change, definition FROM target"
                    " WHERE target_set_id = ?1 ORDER BY rank",
                    N_("can't read the targets"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, out->id);
    while ((err = sql_next(s, st, N_("can't read the targets"))) == ERR_OK) {
        /* A metric that this version does not know can't be shown; it stays in the store. */
        enum metric m = metric_by_name(sql_word(st, 0));
        if (m == METRIC_COUNT)
            continue;
        out->target[out->n++] = (struct store_target){ .metric = m,
                                                       .low = sql_number(st, 1),
                                                       .high = sql_number(st, 2),
                                                       .baseline = sql_number(st, 3),
                                                       .is_focus = sql_int(st, 4) != 0,
                                                       .is_change = sql_int(st, 5) != 0,
                                                       .definition = (int) sql_int(st, 6) };
    }
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

enum err
store_target_set_get(struct store *s, int64_t id, int64_t runner_id, struct store_target_set *out)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st,
                               "SELECT id, runner_id, version, created_utc_ms, reason FROM target_set"
                               " WHERE id = ?1 OR (?1 = 0 AND runner_id = ?2) ORDER BY version DESC LIMIT 1",
                               N_("can't read the targets"));

    if (err != ERR_OK)
        return err;
    memset(out, 0, sizeof *out);
    sql_bind_int(st, 1, id);
    sql_bind_int(st, 2, runner_id);
    err = sql_next(s, st, N_("can't read the targets"));
    if (err == ERR_OK) {
        out->id = sql_int(st, 0);
        out->runner_id = sql_int(st, 1);
        out->version = (int) sql_int(st, 2);
        out->created_utc_ms = sql_int(st, 3);
        sql_copy(st, 4, out->reason, sizeof out->reason);
    } else if (err == ERR_GONE) {
        message_init(&s->why, MESSAGE_TARGETS_ARE_UNKNOWN);
    }
    sql_end(st);
    return err != ERR_OK ? err : read_targets(s, out);
}

enum err
store_delete_runner(struct store *s, int64_t id, const char *what)
{
    /* Visits first: they refer to target sets, which the runner's own cascade may reach before them. */
    static const char *const DELETIONS[] = { "DELETE FROM visit WHERE runner_id = ?1", "DELETE FROM runner WHERE id = ?1" };
    enum err err = ERR_OK;
    for (size_t i = 0; err == ERR_OK && i < sizeof DELETIONS / sizeof *DELETIONS; i++) {
        sqlite3_stmt *st;
        err = sql_prepare(s, &st, DELETIONS[i], what);
        if (err != ERR_OK)
            break;
        sql_bind_int(st, 1, id);
        err = sql_run(s, st, what);
    }
    return err;
}
