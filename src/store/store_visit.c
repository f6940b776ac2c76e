/* store_visit.c - visits: begin, end, list. */
#include "store/store.h"

#include "base/monotime.h"
#include "base/str.h"
#include "store/names.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

struct store_visit
store_visit_default(int64_t runner_id)
{
    return (struct store_visit){
        .runner_id = runner_id, .rate_hz = NAN, .belt_speed_m_s = NAN, .body_weight_n = NAN, .length_s = NAN, .gain_drift_pct = NAN
    };
}

const char *
store_weight_from_name(enum store_weight_from from)
{
    const char *word = names_weight_from(from);

    return word == NULL ? "unknown" : word;
}

/* Days since a fixed day, of a proleptic Gregorian date (month 1-12): only differences are used. */
static int64_t
day_number(int64_t year, int64_t month, int64_t day)
{
    int64_t y = month <= 2 ? year - 1 : year;
    int64_t m = month <= 2 ? month + 9 : month - 3; /* March = 0, so that the leap day comes last */

    return 365 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day;
}

static int64_t
minute_number(const struct tm *t)
{
    return (day_number(t->tm_year + INT64_C(1900), t->tm_mon + INT64_C(1), t->tm_mday) * 24 + t->tm_hour) *
               60 +
           t->tm_min;
}

int
store_zone_offset_min(int64_t utc_ms)
{
    time_t at = (time_t) (utc_ms / 1000);
    struct tm local, utc;

    tzset(); /* localtime_r() need not look at the zone again by itself */
    if (localtime_r(&at, &local) == NULL || gmtime_r(&at, &utc) == NULL)
        return 0;
    return (int) (minute_number(&local) - minute_number(&utc));
}

enum err
store_ensure_sensor(struct store *s, const char *kind, const char *name, int64_t *sensor_id)
{
    sqlite3_stmt *st;
    enum err err;

    *sensor_id = 0;
    if (kind[0] == '\0' && name[0] == '\0')
        return ERR_OK;
    /* The update changes nothing, but makes RETURNING answer for a row that was there. */
    err = sql_prepare(s, &st,
                      "INSERT INTO sensor (kind, name) VALUES (?1, ?2)"
                      " ON CONFLICT (kind, name) DO UPDATE SET kind = ?1 RETURNING id",
                      N_("can't save the sensor"));
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, kind);
    sql_bind_word(st, 2, name);
    err = sql_next(s, st, N_("can't save the sensor"));
    if (err != ERR_OK) {
        sql_end(st);
        return err;
    }
    *sensor_id = sql_int(st, 0);
    return sql_run(s, st, N_("can't save the sensor"));
}

static enum err
insert_visit(struct store *s, const struct store_visit *v, int64_t sensor_id)
{
    const struct metric_definitions today = metric_definitions_today();
    char definitions[METRIC_DEFINITIONS_MAX];
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st,
                               "INSERT INTO visit (runner_id, target_set_id, sensor_id, started_utc_ms,"
                               " zone_offset_min, rate_hz, belt_speed_m_s, plan, course_visit, body_weight_n,"
                               " body_weight_from, software, calibration, definitions, uuid, check_id)"
                               " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?15, ?16,"
                               " (SELECT id FROM sensor_check WHERE sensor_id = ?3 AND made_utc_ms"
                               " BETWEEN ?4 - ?14 AND ?4 ORDER BY made_utc_ms DESC, id DESC LIMIT 1))",
                               N_("can't begin the visit"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, v->runner_id);
    sql_bind_id(st, 2, v->target_set_id);
    sql_bind_id(st, 3, sensor_id);
    sql_bind_int(st, 4, v->started_utc_ms);
    sql_bind_int(st, 5, v->zone_offset_min);
    sql_bind_number(st, 6, v->rate_hz);
    sql_bind_number(st, 7, v->belt_speed_m_s);
    sql_bind_word(st, 8, v->plan);
    sql_bind_id(st, 9, v->course_visit);
    sql_bind_number(st, 10, v->body_weight_n);
    sql_bind_word(st, 11, names_weight_from(v->body_weight_from));
    sql_bind_word(st, 12, v->software);
    sql_bind_word(st, 13, v->calibration);
    sql_bind_int(st, 14, STORE_CHECK_HOURS * INT64_C(3600000));
    sql_bind_word(st, 15, metric_definitions_write(&today, definitions));
    sql_bind_word(st, 16, v->uuid);
    return store_run(s, st, N_("can't begin the visit"));
}

enum err
store_visit_begin(struct store *s, struct store_visit *v)
{
    int64_t sensor_id;
    bool is_own;

    if ((v->id != 0 || v->uuid[0] == '\0') && !identity_random(v->uuid)) /* id: it was begun before, this is another one */
        return store_no_chance(s);
    enum err err = store_enter(s, &is_own);
    if (err != ERR_OK)
        return err;
    if (v->started_utc_ms == 0) {
        v->started_utc_ms = monotime_wall_us() / 1000;
        v->zone_offset_min = store_zone_offset_min(v->started_utc_ms);
    }
    err = store_ensure_sensor(s, v->sensor_kind, v->sensor_name, &sensor_id);
    if (err == ERR_OK)
        err = insert_visit(s, v, sensor_id);
    err = store_leave(s, is_own, err);
    if (err == ERR_OK)
        v->id = sqlite3_last_insert_rowid(s->db);
    return err;
}

enum err
store_visit_end(struct store *s, int64_t visit_id, const struct store_visit_end *end)
{
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st,
                    "UPDATE visit SET ended_utc_ms = ?2, state = ?3, n_dropped = ?4, n_lost_packets = ?5,"
                    " body_weight_n = coalesce(?6, body_weight_n),"
                    " body_weight_from = coalesce(?7, body_weight_from), is_cut_short = ?8, gain_drift_pct = ?9,"
                    " calibration = CASE WHEN ?10 = '' THEN calibration WHEN calibration = '' THEN ?10"
                    " ELSE calibration || '; ' || ?10 END WHERE id = ?1",
                    N_("can't end the visit"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    sql_bind_int(st, 2, end->ended_utc_ms != 0 ? end->ended_utc_ms : monotime_wall_us() / 1000);
    sql_bind_word(st, 3, end->is_finished ? "finished" : "unfinished");
    sql_bind_int(st, 4, end->n_dropped);
    sql_bind_int(st, 5, end->n_lost_packets);
    /* A weight that came from nowhere is no weight. */
    sql_bind_number(st, 6, end->body_weight_from == STORE_WEIGHT_UNKNOWN ? (double) NAN : end->body_weight_n);
    sql_bind_word(st, 7, names_weight_from(end->body_weight_from));
    sql_bind_int(st, 8, end->is_cut_short);
    sql_bind_word(st, 10, end->calibration);
    sql_bind_number(st, 9, end->has_gain_drift ? end->gain_drift_pct : (double) NAN);
    return store_run(s, st, N_("can't end the visit"));
}

enum err
store_visit_set_ticks(struct store *s, int64_t visit_id, const char *ticks)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "UPDATE visit SET ticks = ?2 WHERE id = ?1", N_("can't save the visit"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    sql_bind_word(st, 2, ticks);
    return store_run(s, st, N_("can't save the visit"));
}

enum err
store_visit_set_dropped(struct store *s, int64_t visit_id, int64_t n_dropped)
{
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st, "UPDATE visit SET n_dropped = ?2 WHERE id = ?1", N_("can't save the visit"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    sql_bind_int(st, 2, n_dropped);
    return store_run(s, st, N_("can't save the visit"));
}

enum err
store_visit_set_targets(struct store *s, int64_t visit_id, int64_t target_set_id)
{
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st, "UPDATE visit SET target_set_id = ?2 WHERE id = ?1", N_("can't save the visit"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    sql_bind_id(st, 2, target_set_id);
    return store_run(s, st, N_("can't save the visit"));
}

#define VISIT_SELECT                                                                                         \
    "SELECT v.id, v.runner_id, v.target_set_id, v.started_utc_ms, v.ended_utc_ms, v.zone_offset_min, "       \
    "v.rate_hz,"                                                                                             \
    " v.belt_speed_m_s, v.plan, v.course_visit, v.state = 'finished', v.n_dropped, v.n_lost_packets,"        \
    " v.body_weight_n, v.body_weight_from, v.software, r.code, n.kind, n.name,"                              \
    " (SELECT count(*) FROM step WHERE visit_id = v.id),"                                                    \
    " (SELECT max(toe_off_us, touchdown_us) FROM step WHERE visit_id = v.id ORDER BY number DESC LIMIT 1)"   \
    " - (SELECT touchdown_us FROM step WHERE visit_id = v.id ORDER BY number LIMIT 1),"                      \
    " v.is_cut_short, v.ticks, v.calibration, v.gain_drift_pct, k.made_utc_ms, k.grade, v.uuid, r.uuid"            \
    " FROM visit v JOIN runner r ON r.id = v.runner_id LEFT JOIN sensor n ON n.id = v.sensor_id"             \
    " LEFT JOIN sensor_check k ON k.id = v.check_id"

static void
read_visit(sqlite3_stmt *st, struct store_visit *out)
{
    memset(out, 0, sizeof *out);
    out->id = sql_int(st, 0);
    out->runner_id = sql_int(st, 1);
    out->target_set_id = sql_int(st, 2);
    out->started_utc_ms = sql_int(st, 3);
    out->ended_utc_ms = sql_int(st, 4);
    out->zone_offset_min = (int) sql_int(st, 5);
    out->rate_hz = sql_number(st, 6);
    out->belt_speed_m_s = sql_number(st, 7);
    sql_copy(st, 8, out->plan, sizeof out->plan);
    out->course_visit = (int) sql_int(st, 9);
    out->is_finished = sql_int(st, 10) != 0;
    out->n_dropped = sql_int(st, 11);
    out->n_lost_packets = sql_int(st, 12);
    out->body_weight_n = sql_number(st, 13);
    out->body_weight_from = names_weight_from_from(sql_word(st, 14));
    sql_copy(st, 15, out->software, sizeof out->software);
    sql_copy(st, 16, out->runner_code, sizeof out->runner_code);
    sql_copy(st, 17, out->sensor_kind, sizeof out->sensor_kind);
    sql_copy(st, 18, out->sensor_name, sizeof out->sensor_name);
    out->n_steps = sql_int(st, 19);
    if (out->ended_utc_ms != 0 && out->ended_utc_ms < out->started_utc_ms)
        out->ended_utc_ms = 0; /* by an older version, whose clock was set back meanwhile: when it ended is not known */
    if (out->ended_utc_ms != 0)
        out->length_s = (double) (out->ended_utc_ms - out->started_utc_ms) * 1e-3;
    else
        out->length_s = sql_number(st, 20) * 1e-6;
    out->is_cut_short = sql_int(st, 21) != 0;
    sql_copy(st, 22, out->ticks, sizeof out->ticks);
    sql_copy(st, 23, out->calibration, sizeof out->calibration);
    out->gain_drift_pct = sql_number(st, 24);
    out->check_utc_ms = sql_int(st, 25);
    sql_copy(st, 26, out->check_grade, sizeof out->check_grade);
    sql_copy(st, 27, out->uuid, sizeof out->uuid);
    sql_copy(st, 28, out->runner_uuid, sizeof out->runner_uuid);
}

enum err
store_visit_get(struct store *s, int64_t visit_id, struct store_visit *out)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, VISIT_SELECT " WHERE v.id = ?1", N_("can't read the visit"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    err = sql_next(s, st, N_("can't read the visit"));
    if (err == ERR_OK)
        read_visit(st, out);
    else if (err == ERR_GONE)
        message_tell(&s->why, MESSAGE_VISIT_IS_UNKNOWN, visit_id);
    sql_end(st);
    return err;
}

/* The ids are chosen first, from an index alone: the rest is read of those that are asked for. One text for one runner and
 * one for all, since an "or" between the two would read every visit there is. */
#define VISITS_NEWEST_FIRST " ORDER BY started_utc_ms DESC, id DESC LIMIT ?2 OFFSET ?3"
#define VISITS_OF_RUNNER VISIT_SELECT " JOIN (SELECT id AS chosen FROM visit WHERE runner_id = ?1" VISITS_NEWEST_FIRST      \
                         ") ON v.id = chosen ORDER BY v.started_utc_ms DESC, v.id DESC"
#define VISITS_OF_ALL VISIT_SELECT " JOIN (SELECT id AS chosen FROM visit WHERE ?1 = 0" VISITS_NEWEST_FIRST                 \
                      ") ON v.id = chosen ORDER BY v.started_utc_ms DESC, v.id DESC"

enum err
store_visits_page(struct store *s, const struct store_visits_query *q,
                  bool (*fn)(void *context, const struct store_visit *v), void *context)
{
    struct store_visit v;
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st, q->runner_id != 0 ? VISITS_OF_RUNNER : VISITS_OF_ALL, N_("can't read the visits"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, q->runner_id);
    sql_bind_int(st, 2, q->limit);
    sql_bind_int(st, 3, q->offset);
    while ((err = sql_next(s, st, N_("can't read the visits"))) == ERR_OK) {
        read_visit(st, &v);
        if (!fn(context, &v))
            break;
    }
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

enum err
store_visits(struct store *s, int64_t runner_id, bool (*fn)(void *context, const struct store_visit *v),
             void *context)
{
    const struct store_visits_query all = { .runner_id = runner_id, .limit = -1 }; /* SQLite: no limit */

    return store_visits_page(s, &all, fn, context);
}

enum err
store_visits_count(struct store *s, int64_t runner_id, int *n)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st,
                               runner_id != 0 ? "SELECT count(*) FROM visit WHERE runner_id = ?1"
                                              : "SELECT count(*) FROM visit WHERE ?1 = 0",
                               N_("can't read the visits"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, runner_id);
    err = sql_next(s, st, N_("can't read the visits"));
    if (err == ERR_OK)
        *n = (int) sql_int(st, 0);
    sql_end(st);
    return err;
}
