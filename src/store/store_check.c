/* store_check.c - checks of a sensor. */
#include "store/store.h"

#include "base/monotime.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <stdio.h>
#include <string.h>

static enum err
insert_check(struct store *s, const struct store_check *c)
{
    sqlite3_stmt *st;
    int64_t sensor_id = 0;

    enum err err = store_ensure_sensor(s, c->sensor_kind, c->sensor_name, &sensor_id);
    if (err == ERR_OK)
        err = sql_prepare(
            s, &st,
            "INSERT INTO sensor_check (sensor_id, made_utc_ms, grade, report) VALUES (?1, ?2, ?3, ?4)",
            N_("can't save the check"));
    if (err != ERR_OK)
        return err;
    sql_bind_id(st, 1, sensor_id);
    sql_bind_int(st, 2, c->made_utc_ms);
    sql_bind_word(st, 3, c->grade);
    sql_bind_word(st, 4, c->report);
    return store_run(s, st, N_("can't save the check"));
}

enum err
store_check_put(struct store *s, struct store_check *c)
{
    bool is_own;
    enum err err = store_enter(s, &is_own);

    if (err != ERR_OK)
        return err;
    if (c->made_utc_ms == 0)
        c->made_utc_ms = monotime_wall_us() / 1000;
    err = store_leave(s, is_own, insert_check(s, c));
    if (err == ERR_OK)
        c->id = sqlite3_last_insert_rowid(s->db);
    return err;
}

enum err
store_check_of_visit(struct store *s, int64_t visit_id, struct store_check *out)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st,
                               "SELECT k.id, n.kind, n.name, k.made_utc_ms, k.grade, k.report FROM visit v"
                               " JOIN sensor_check k ON k.id = v.check_id JOIN sensor n ON n.id = k.sensor_id"
                               " WHERE v.id = ?1",
                               N_("can't read the check"));

    if (err != ERR_OK)
        return err;
    memset(out, 0, sizeof *out);
    sql_bind_int(st, 1, visit_id);
    err = sql_next(s, st, N_("can't read the check"));
    if (err == ERR_OK) {
        out->id = sql_int(st, 0);
        sql_copy(st, 1, out->sensor_kind, sizeof out->sensor_kind);
        sql_copy(st, 2, out->sensor_name, sizeof out->sensor_name);
        out->made_utc_ms = sql_int(st, 3);
        sql_copy(st, 4, out->grade, sizeof out->grade);
        sql_copy(st, 5, out->report, sizeof out->report);
    } else if (err == ERR_GONE) {
        message_tell(&s->why, MESSAGE_VISIT_HAS_NO_CHECK, visit_id);
    }
    sql_end(st);
    return err;
}
