#include "store/measurement.h"

#include "base/monotime.h"
#include "store/names.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define FURTHER "SELECT id, visit_id, made_utc_ms, software, definitions, is_complete, body_weight_n, body_weight_from FROM measurement"

static void
read_row(sqlite3_stmt *st, struct measurement *out)
{
    memset(out, 0, sizeof *out);
    out->id = sql_int(st, 0);
    out->visit_id = sql_int(st, 1);
    out->made_utc_ms = sql_int(st, 2);
    sql_copy(st, 3, out->software, sizeof out->software);
    out->definitions = metric_definitions_read(sql_word(st, 4));
    out->is_complete = sql_int(st, 5) != 0;
    out->body_weight_n = sql_number(st, 6);
    out->body_weight_from = names_weight_from_from(sql_word(st, 7));
}

static enum err
insert(struct store *s, const struct measurement *m)
{
    char definitions[METRIC_DEFINITIONS_MAX];
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st,
                               "INSERT INTO measurement (visit_id, made_utc_ms, software, definitions, is_complete,"
                               " body_weight_n, body_weight_from) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                               N_("can't save the measurement"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, m->visit_id);
    sql_bind_int(st, 2, m->made_utc_ms);
    sql_bind_word(st, 3, m->software);
    sql_bind_word(st, 4, metric_definitions_write(&m->definitions, definitions));
    sql_bind_int(st, 5, m->is_complete);
    sql_bind_number(st, 6, m->body_weight_n);
    sql_bind_word(st, 7, names_weight_from(m->body_weight_from));
    return store_run(s, st, N_("can't save the measurement"));
}

enum err
measurement_put(struct store *s, struct measurement *m)
{
    if (m->made_utc_ms == 0)
        m->made_utc_ms = monotime_wall_us() / 1000;
    const enum err err = insert(s, m);
    if (err == ERR_OK)
        m->id = sqlite3_last_insert_rowid(s->db);
    return err;
}

enum err
measurement_put_step(struct store *s, const struct measurement *m, const struct coached_step *step)
{
    return store_put_step_into(s, &STORE_STEPS_OF_MEASUREMENT, m->id, step);
}

enum err
measurement_first(struct store *s, int64_t visit_id, struct measurement *out)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st,
                               "SELECT 0, id, started_utc_ms, software, definitions, 1, body_weight_n, body_weight_from"
                               " FROM visit WHERE id = ?1",
                               N_("can't read the measurement"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    err = sql_next(s, st, N_("can't read the measurement"));
    if (err == ERR_OK)
        read_row(st, out);
    else if (err == ERR_GONE)
        message_tell(&s->why, MESSAGE_VISIT_IS_UNKNOWN, visit_id);
    sql_end(st);
    return err;
}

enum err
measurement_newest(struct store *s, int64_t visit_id, const struct metric_definitions *definitions, struct measurement *out)
{
    char text[METRIC_DEFINITIONS_MAX];
    sqlite3_stmt *st;
    enum err err = sql_prepare(
        s, &st, FURTHER " WHERE visit_id = ?1 AND is_complete AND definitions = ?2 ORDER BY id DESC LIMIT 1",
        N_("can't read the measurement"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    sql_bind_word(st, 2, metric_definitions_write(definitions, text));
    err = sql_next(s, st, N_("can't read the measurement"));
    if (err == ERR_OK)
        read_row(st, out);
    sql_end(st);
    if (err != ERR_GONE)
        return err;
    err = measurement_first(s, visit_id, out);
    return err == ERR_OK && memcmp(&out->definitions, definitions, sizeof *definitions) != 0 ? ERR_GONE : err;
}

enum err
measurement_count_further(struct store *s, int64_t visit_id, int *n)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT count(*) FROM measurement WHERE visit_id = ?", N_("can't read the measurements"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    err = sql_next(s, st, N_("can't read the measurements"));
    if (err == ERR_OK)
        *n = (int) sql_int(st, 0);
    sql_end(st);
    return err;
}

enum err
measurement_count_without(struct store *s, const struct measurement_scope *scope,
                          const struct metric_definitions *definitions, int *n)
{
    char text[METRIC_DEFINITIONS_MAX];
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st,
                               "SELECT count(*) FROM visit v WHERE runner_id = ?1 AND (?2 = 0 OR id <= ?2)"
                               " AND (?3 = '' OR plan = ?3) AND definitions <> ?4 AND NOT EXISTS (SELECT 1 FROM measurement"
                               " WHERE visit_id = v.id AND is_complete AND definitions = ?4)",
                               N_("can't read the measurements"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, scope->runner_id);
    sql_bind_int(st, 2, scope->until_id);
    sql_bind_word(st, 3, scope->plan);
    sql_bind_word(st, 4, metric_definitions_write(definitions, text));
    err = sql_next(s, st, N_("can't read the measurements"));
    if (err == ERR_OK)
        *n = (int) sql_int(st, 0);
    sql_end(st);
    return err;
}

enum err
measurement_steps(struct store *s, const struct measurement *m,
                  bool (*fn)(void *context, const struct coached_step *step), void *context)
{
    return m->id == 0 ? store_steps(s, m->visit_id, fn, context)
                      : store_read_steps_of(s, &STORE_STEPS_OF_MEASUREMENT, m->id, fn, context);
}
