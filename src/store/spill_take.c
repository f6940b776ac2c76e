/* spill_take.c - the rows of a spill into the store that they belong to, through that store's connection: ?1 is the visit in
 * the spill, ?2 in the store, ?3 its runner in the store. */
#include "store/spill_parts.h"

#include "base/str.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <stdio.h>
#include <string.h>

#define SQL_MAX 16384
#define COLUMNS_MAX 3072

static const char CANT[] = N_("can't take in what was kept elsewhere");

struct taking {
    struct store *s;
    int64_t from, to, runner;
};

/* The set of targets in the store that is the spill's: its number may differ. */
#define SET_OF(id)                                                                                                      \
    "(SELECT m.id FROM main.target_set m JOIN spill.target_set t ON m.created_utc_ms = t.created_utc_ms"              \
    " AND m.reason = t.reason WHERE t.id = " id " AND m.runner_id = ?3 ORDER BY m.id LIMIT 1)"
#define SENSOR                                                                                                          \
    "(SELECT m.id FROM main.sensor m JOIN spill.sensor t USING (kind, name) WHERE t.id ="                             \
    " (SELECT sensor_id FROM spill.visit WHERE id = ?1))"
#define CHECK                                                                                                           \
    "(SELECT m.id FROM main.sensor_check m JOIN spill.sensor_check t USING (made_utc_ms) WHERE t.id ="                \
    " (SELECT check_id FROM spill.visit WHERE id = ?1) AND m.sensor_id = " SENSOR " ORDER BY m.id LIMIT 1)"

static enum err
run(const struct taking *t, const char *sql)
{
    sqlite3_stmt *st;
    const enum err err = sql_prepare(t->s, &st, sql, CANT);
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, t->from); /* one that the text does not have is not missed */
    sql_bind_int(st, 2, t->to);
    sql_bind_int(st, 3, t->runner);
    return sql_run(t->s, st, CANT);
}

/* *out stays where there is no row. */
static enum err
ask(const struct taking *t, const char *sql, int64_t *out)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(t->s, &st, sql, CANT);
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, t->from);
    sql_bind_int(st, 2, t->to);
    sql_bind_int(st, 3, t->runner);
    err = sql_next(t->s, st, CANT);
    if (err == ERR_OK)
        *out = sql_int(st, 0);
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

/* The table's columns but those between bars, each in the pattern's words (printf, the name once or twice), by commas. */
static enum err
columns(const struct taking *t, const char *table, const char *but, const char *pattern, char out[COLUMNS_MAX])
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(t->s, &st,
                               "SELECT group_concat(printf(?3, name, name), ', ') FROM pragma_table_info(?1, 'spill')"
                               " WHERE instr(?2, '|' || name || '|') = 0",
                               CANT);
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, table);
    sql_bind_word(st, 2, but);
    sql_bind_word(st, 3, pattern);
    err = sql_next(t->s, st, CANT);
    if (err == ERR_OK)
        sql_copy(st, 0, out, COLUMNS_MAX);
    sql_end(st);
    return err;
}

static enum err
take_sensor(const struct taking *t)
{
    enum err err = run(t, "INSERT INTO main.sensor (kind, name) SELECT kind, name FROM spill.sensor WHERE id ="
                          " (SELECT sensor_id FROM spill.visit WHERE id = ?1) ON CONFLICT DO NOTHING");
    if (err == ERR_OK)
        err = run(t, "INSERT INTO main.sensor_check (sensor_id, made_utc_ms, grade, report) SELECT " SENSOR
                     ", c.made_utc_ms, c.grade, c.report FROM spill.sensor_check c WHERE c.id ="
                     " (SELECT check_id FROM spill.visit WHERE id = ?1) AND " CHECK " IS NULL");
    return err;
}

/* As the runner's next versions, in the order in which they came about. */
static enum err
take_targets(const struct taking *t)
{
    char some[COLUMNS_MAX], sql[SQL_MAX];
    enum err err = columns(t, "target", "|target_set_id|", "\"%s\"", some);
    if (err != ERR_OK)
        return err;
    snprintf(sql, sizeof sql,
             "INSERT INTO main.target (target_set_id, %s) SELECT last_insert_rowid(), %s FROM spill.target WHERE"
             " target_set_id = ?1",
             some, some);
    for (;;) {
        int64_t id = 0;
        err = ask(t,
                  "SELECT x.id FROM spill.target_set x WHERE (x.id = (SELECT target_set_id FROM spill.visit WHERE id = ?1)"
                  " OR x.id IN (SELECT target_set_id FROM spill.block WHERE visit_id = ?1)) AND " SET_OF("x.id")
                  " IS NULL ORDER BY x.version LIMIT 1",
                  &id);
        if (err != ERR_OK || id == 0)
            return err;
        struct taking set = *t;
        set.from = id;
        err = run(&set, "INSERT INTO main.target_set (runner_id, version, created_utc_ms, reason) SELECT ?3,"
                        " 1 + coalesce((SELECT max(version) FROM main.target_set WHERE runner_id = ?3), 0),"
                        " created_utc_ms, reason FROM spill.target_set WHERE id = ?1");
        if (err == ERR_OK)
            err = run(&set, sql);
        if (err != ERR_OK)
            return err;
    }
}

/* The visit's number stays the same where nobody had it in this store. */
static enum err
insert_visit(struct taking *t)
{
    char some[COLUMNS_MAX], sql[SQL_MAX];
    enum err err = columns(t, "visit", "|id|runner_id|target_set_id|sensor_id|check_id|", "\"%s\"", some);
    if (err != ERR_OK)
        return err;
    snprintf(sql, sizeof sql,
             "INSERT INTO main.visit (id, runner_id, target_set_id, sensor_id, check_id, %s) SELECT"
             " CASE WHEN ?1 > coalesce((SELECT seq FROM main.sqlite_sequence WHERE name = 'visit'), 0) THEN ?1 END,"
             " ?3, " SET_OF("v.target_set_id") ", " SENSOR ", " CHECK ", %s FROM spill.visit v WHERE v.id = ?1",
             some, some);
    err = run(t, sql);
    t->to = sqlite3_last_insert_rowid(t->s->db);
    return err;
}

/* What became of it since; what the spill does not know (it was made from memory) stays. */
static enum err
update_visit(const struct taking *t)
{
    return run(t, "UPDATE main.visit AS m SET ended_utc_ms = coalesce(v.ended_utc_ms, m.ended_utc_ms),"
                  " state = CASE WHEN m.state = 'finished' THEN m.state ELSE v.state END,"
                  " is_cut_short = max(v.is_cut_short, m.is_cut_short), n_dropped = max(v.n_dropped, m.n_dropped),"
                  " n_lost_packets = max(v.n_lost_packets, m.n_lost_packets),"
                  " body_weight_n = coalesce(v.body_weight_n, m.body_weight_n),"
                  " body_weight_from = coalesce(v.body_weight_from, m.body_weight_from),"
                  " ticks = CASE WHEN v.ticks = '' THEN m.ticks ELSE v.ticks END,"
                  " calibration = CASE WHEN v.calibration = '' THEN m.calibration ELSE v.calibration END,"
                  " gain_drift_pct = coalesce(v.gain_drift_pct, m.gain_drift_pct),"
                  " target_set_id = coalesce(" SET_OF("v.target_set_id") ", m.target_set_id)"
                  " FROM spill.visit v WHERE v.id = ?1 AND m.id = ?2");
}

static enum err
take_blocks(const struct taking *t)
{
    char some[COLUMNS_MAX], changed[COLUMNS_MAX], sql[SQL_MAX];
    enum err err = columns(t, "block", "|visit_id|target_set_id|", "\"%s\"", some);
    if (err == ERR_OK)
        err = columns(t, "block", "|visit_id|target_set_id|number|", "\"%s\" = excluded.\"%s\"", changed);
    if (err != ERR_OK)
        return err;
    snprintf(sql, sizeof sql,
             "INSERT INTO main.block (visit_id, target_set_id, %s) SELECT ?2, " SET_OF("b.target_set_id")
             ", %s FROM spill.block b WHERE b.visit_id = ?1 ON CONFLICT (visit_id, number) DO UPDATE SET %s,"
             " target_set_id = coalesce(target_set_id, excluded.target_set_id)",
             some, some, changed);
    return run(t, sql);
}

/* As store_step_put() has it: block and feedback stay as they were at first, and a settled one is never replaced by a live one. */
static enum err
take_steps(const struct taking *t)
{
    char some[COLUMNS_MAX], changed[COLUMNS_MAX], sql[SQL_MAX];
    enum err err = columns(t, "step", "|visit_id|", "\"%s\"", some);
    if (err == ERR_OK)
        err = columns(t, "step", "|visit_id|number|block|feedback_shown|", "\"%s\" = excluded.\"%s\"", changed);
    if (err != ERR_OK)
        return err;
    snprintf(sql, sizeof sql,
             "INSERT INTO main.step (visit_id, %s) SELECT ?2, %s FROM spill.step WHERE visit_id = ?1"
             " ON CONFLICT (visit_id, number) DO UPDATE SET %s WHERE excluded.is_settled >= step.is_settled",
             some, some, changed);
    return run(t, sql);
}

#define NOT_THERE_NOTE                                                                                                  \
    "NOT EXISTS (SELECT 1 FROM main.note m WHERE m.visit_id = ?2 AND m.text = n.text AND m.at_us IS n.at_us"          \
    " AND m.written_utc_ms = n.written_utc_ms)"
#define NOT_THERE_PAIN                                                                                                  \
    "NOT EXISTS (SELECT 1 FROM main.pain m WHERE m.visit_id = ?2 AND m.asked = n.asked AND m.at_us IS n.at_us"        \
    " AND m.pain IS n.pain AND m.effort IS n.effort)"

static enum err
take_said(const struct taking *t)
{
    char some[COLUMNS_MAX], sql[SQL_MAX];
    enum err err = columns(t, "note", "|id|visit_id|", "\"%s\"", some);
    if (err != ERR_OK)
        return err;
    snprintf(sql, sizeof sql,
             "INSERT INTO main.note (visit_id, %s) SELECT ?2, %s FROM spill.note n WHERE n.visit_id = ?1 AND " NOT_THERE_NOTE,
             some, some);
    err = run(t, sql);
    if (err == ERR_OK)
        err = columns(t, "pain", "|id|visit_id|", "\"%s\"", some);
    if (err != ERR_OK)
        return err;
    snprintf(sql, sizeof sql,
             "INSERT INTO main.pain (visit_id, %s) SELECT ?2, %s FROM spill.pain n WHERE n.visit_id = ?1 AND " NOT_THERE_PAIN,
             some, some);
    return run(t, sql);
}

/* What the spill has and the store has not: 0 when all is there. */
static enum err
count_missing(const struct taking *t, int64_t *n)
{
    return ask(t,
               "SELECT (SELECT count(*) FROM spill.step x WHERE x.visit_id = ?1 AND NOT EXISTS (SELECT 1 FROM main.step m"
               " WHERE m.visit_id = ?2 AND m.number = x.number AND m.is_settled >= x.is_settled))"
               " + (SELECT count(*) FROM spill.block x WHERE x.visit_id = ?1 AND NOT EXISTS (SELECT 1 FROM main.block m"
               " WHERE m.visit_id = ?2 AND m.number = x.number))"
               " + (SELECT count(*) FROM spill.note n WHERE n.visit_id = ?1 AND " NOT_THERE_NOTE ")"
               " + (SELECT count(*) FROM spill.pain n WHERE n.visit_id = ?1 AND " NOT_THERE_PAIN ")"
               " + NOT EXISTS (SELECT 1 FROM main.visit WHERE id = ?2)",
               n);
}

/* The runner of the visit. A code alone says nothing of who it is: another runner may have got it, before the spill was made or once
 * the first was forgotten. Who has it since then was entered again, in a store that knows nothing of the first. 0: not there. */
static enum err
find_runner(struct taking *t, int64_t made_utc_ms)
{
    static const char FIND[] = "SELECT m.id FROM main.runner m JOIN spill.runner r ON m.uuid = r.uuid OR (m.code = r.code AND"
                               " m.created_utc_ms >= ?2) JOIN spill.visit v ON v.runner_id = r.id WHERE v.id = ?1"
                               " ORDER BY m.uuid = r.uuid DESC LIMIT 1";
    char some[COLUMNS_MAX], sql[SQL_MAX];
    t->to = made_utc_ms;
    enum err err = ask(t, FIND, &t->runner);
    if (err == ERR_OK && t->runner == 0) {
        err = columns(t, "runner", "|id|", "\"%s\"", some);
        snprintf(sql, sizeof sql,
                 "INSERT INTO main.runner (%s) SELECT %s FROM spill.runner WHERE id = (SELECT runner_id FROM spill.visit"
                 " WHERE id = ?1) AND created_utc_ms >= ?2 AND code NOT IN (SELECT code FROM main.runner)",
                 some, some);
        if (err == ERR_OK)
            err = run(t, sql);
        if (err == ERR_OK)
            err = ask(t, FIND, &t->runner);
    }
    t->to = 0;
    return err;
}

static enum err
take_visit(struct taking *t)
{
    enum err err = take_sensor(t);
    if (err == ERR_OK)
        err = take_targets(t);
    if (err == ERR_OK)
        err = ask(t,
                  "SELECT m.id FROM main.visit m JOIN spill.visit v USING (uuid) WHERE v.id = ?1 AND m.runner_id = ?3", &t->to);
    if (err == ERR_OK)
        err = t->to != 0 ? update_visit(t) : insert_visit(t);
    if (err == ERR_OK)
        err = take_blocks(t);
    if (err == ERR_OK)
        err = take_steps(t);
    return err == ERR_OK ? take_said(t) : err;
}

/* One visit, in a transaction of its own, read again after it. */
static enum err
take_one(struct store *home, int64_t visit_id, const struct spill_note *note, struct spill_taken *out)
{
    struct taking t = { .s = home, .from = visit_id };
    int64_t n_missing = -1;
    enum err err = store_begin(home);
    if (err != ERR_OK)
        return err;
    err = find_runner(&t, note->made_utc_ms);
    const bool has_runner = t.runner != 0;
    if (err == ERR_OK && has_runner)
        err = take_visit(&t);
    if (err == ERR_OK)
        err = store_commit(home);
    if (err != ERR_OK) {
        store_rollback(home);
        return err;
    }
    if (!has_runner) {
        out->n_without_runner++;
        return ERR_OK;
    }
    err = count_missing(&t, &n_missing);
    if (err == ERR_OK && n_missing != 0) {
        message_tell(&home->why, MESSAGE_SPILL_LACKS_ROWS, message_path(home->path), n_missing, t.to);
        return ERR_FORMAT;
    }
    out->n_visits++;
    out->visit_id = t.to;
    return err;
}

static enum err
next_visit(struct store *home, int64_t after, int64_t *id, char code[STORE_CODE_MAX])
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(home, &st,
                               "SELECT v.id, r.code FROM spill.visit v JOIN spill.runner r ON r.id = v.runner_id"
                               " WHERE v.id > ?1 ORDER BY v.id LIMIT 1",
                               CANT);
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, after);
    err = sql_next(home, st, CANT);
    if (err == ERR_OK) {
        *id = sql_int(st, 0);
        sql_copy(st, 1, code, STORE_CODE_MAX);
    }
    sql_end(st);
    return err;
}

enum err
spill_take_rows(struct store *home, const char *path, const struct spill_note *note, struct spill_taken *out)
{
    sqlite3_stmt *st;
    int64_t id = note->first_visit - 1;
    enum err err = sql_prepare(home, &st, "ATTACH ?1 AS spill", CANT);
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, path);
    err = sql_run(home, st, CANT);
    if (err != ERR_OK)
        return err;
    while (err == ERR_OK && (err = next_visit(home, id, &id, out->code)) == ERR_OK)
        err = take_one(home, id, note, out);
    (void) sqlite3_exec(home->db, "DETACH spill", NULL, NULL, NULL);
    return err == ERR_GONE ? ERR_OK : err;
}
