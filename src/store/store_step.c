/* store_step.c - step records, one row each, one column a metric: of visits, and of further measurements of them. */
#include "store/store.h"

#include "base/str.h"
#include "store/names.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* The columns before the metrics', in the order of bind_step() and read_step(), after the owner's id. */
#define FIXED_COLUMNS                                                                                        \
    ", number, is_settled, foot, gait, zone, flags, touchdown_us, toe_off_us, cop_fwd_mm,"           \
    " cop_right_mm, body_weight_n, feedback_shown, block, estimated"
enum { N_FIXED = 15, SQL_MAX = 8192, ESTIMATED_MAX = 1024 };

static void
append(char sql[SQL_MAX], const char *before, const char *name, const char *after)
{
    str_append(sql, SQL_MAX, before);
    str_append(sql, SQL_MAX, name);
    str_append(sql, SQL_MAX, after);
}

/* Worked out from METRIC_LIST rather than written down: a new metric needs no line here. */
static enum err
prepare_put(struct store *s, const struct store_step_table *table, sqlite3_stmt **out)
{
    static const char *const REPLACED[] = { "is_settled",   "foot",          "gait",       "zone",
                                            "flags",        "touchdown_us",  "toe_off_us", "cop_fwd_mm",
                                            "cop_right_mm", "body_weight_n", "estimated" };
    char sql[SQL_MAX] = "";

    append(sql, "INSERT INTO ", table->name, " (");
    append(sql, "", table->owner, FIXED_COLUMNS);
    for (int m = 0; m < METRIC_COUNT; m++)
        append(sql, ", ", metric_info((enum metric) m)->name, "");
    str_append(sql, sizeof sql, ") VALUES (?");
    for (int i = 1; i < N_FIXED + METRIC_COUNT; i++)
        str_append(sql, sizeof sql, ", ?");
    append(sql, ") ON CONFLICT (", table->owner, ", number) DO UPDATE SET ");
    for (size_t i = 0; i < sizeof REPLACED / sizeof REPLACED[0]; i++) {
        append(sql, i == 0 ? "" : ", ", REPLACED[i], " = excluded.");
        str_append(sql, sizeof sql, REPLACED[i]);
    }
    for (int m = 0; m < METRIC_COUNT; m++) {
        append(sql, ", ", metric_info((enum metric) m)->name, " = excluded.");
        str_append(sql, sizeof sql, metric_info((enum metric) m)->name);
    }
    append(sql, " WHERE excluded.is_settled >= ", table->name, ".is_settled");
    return sql_prepare(s, out, sql, N_("can't save a step"));
}

static void
bind_step(sqlite3_stmt *st, int64_t owner_id, const struct coached_step *in, char estimated[ESTIMATED_MAX])
{
    const struct step *p = &in->step;

    estimated[0] = '\0';
    sql_bind_int(st, 1, owner_id);
    sql_bind_int(st, 2, p->number);
    sql_bind_int(st, 3, p->is_settled);
    sql_bind_word(st, 4, names_foot(p->foot));
    sql_bind_word(st, 5, names_gait(p->gait));
    sql_bind_word(st, 6, names_zone(p->zone));
    sql_bind_int(st, 7, p->flags);
    sql_bind_int(st, 8, p->touchdown.us);
    sql_bind_int(st, 9, p->toe_off.us);
    sql_bind_number(st, 10, p->cop_fwd_mm);
    sql_bind_number(st, 11, p->cop_right_mm);
    sql_bind_number(st, 12, p->body_weight_n);
    sql_bind_int(st, 13, in->is_feedback_shown);
    if (in->block < 0)
        sql_bind_word(st, 14, NULL);
    else
        sql_bind_int(st, 14, in->block);
    for (int m = 0; m < METRIC_COUNT; m++) {
        bool is_there = p->standing[m] != METRIC_MISSING && isfinite(p->value[m]);
        sql_bind_number(st, N_FIXED + 1 + m, is_there ? p->value[m] : (double) NAN);
        if (is_there && p->standing[m] == METRIC_ESTIMATED) {
            str_append(estimated, ESTIMATED_MAX, " ");
            str_append(estimated, ESTIMATED_MAX, metric_info((enum metric) m)->name);
        }
    }
    str_append(estimated, ESTIMATED_MAX, estimated[0] != '\0' ? " " : "");
    sql_bind_word(st, 15, estimated);
}

const struct store_step_table STORE_STEPS_OF_VISIT = { "step", "visit_id" };
const struct store_step_table STORE_STEPS_OF_MEASUREMENT = { "measured_step", "measurement_id" };

static enum err
put(struct store *s, const struct store_step_table *table, int64_t owner_id, const struct coached_step *step)
{
    sqlite3_stmt **st = table == &STORE_STEPS_OF_VISIT ? &s->put_step : &s->put_measured_step;
    char estimated[ESTIMATED_MAX];
    enum err err = *st == NULL ? prepare_put(s, table, st) : ERR_OK;

    if (err != ERR_OK)
        return err;
    bind_step(*st, owner_id, step, estimated);
    err = sql_next(s, *st, N_("can't save a step"));
    sqlite3_reset(*st);
    sqlite3_clear_bindings(*st);
    return err == ERR_GONE ? ERR_OK : err;
}

enum err
store_put_step_into(struct store *s, const struct store_step_table *table, int64_t owner_id, const struct coached_step *step)
{
    bool is_own;
    const enum err err = store_enter(s, &is_own);

    return err == ERR_OK ? store_leave(s, is_own, put(s, table, owner_id, step)) : err;
}

enum err
store_step_put(struct store *s, int64_t visit_id, const struct coached_step *step)
{
    return store_put_step_into(s, &STORE_STEPS_OF_VISIT, visit_id, step);
}

/* True when " name " stands in the text. */
static bool
names_metric(const char *estimated, enum metric m)
{
    char word[64];

    snprintf(word, sizeof word, " %s ", metric_info(m)->name);
    return strstr(estimated, word) != NULL;
}

static void
read_step(sqlite3_stmt *st, struct coached_step *out)
{
    struct step *p = &out->step;
    const char *estimated = sql_word(st, 14);

    memset(out, 0, sizeof *out);
    p->number = (uint32_t) sql_int(st, 1);
    p->is_settled = sql_int(st, 2) != 0;
    p->foot = names_foot_from(sql_word(st, 3));
    p->gait = names_gait_from(sql_word(st, 4));
    p->zone = names_zone_from(sql_word(st, 5));
    p->flags = (uint32_t) sql_int(st, 6);
    p->touchdown.us = sql_int(st, 7);
    p->toe_off.us = sql_int(st, 8);
    p->cop_fwd_mm = sql_number(st, 9);
    p->cop_right_mm = sql_number(st, 10);
    p->body_weight_n = sql_number(st, 11);
    out->is_feedback_shown = sql_int(st, 12) != 0;
    out->block = sqlite3_column_type(st, 13) == SQLITE_NULL ? -1 : (int) sql_int(st, 13);
    for (int m = 0; m < METRIC_COUNT; m++) {
        p->value[m] = sql_number(st, N_FIXED + m);
        if (isnan(p->value[m]))
            p->standing[m] = METRIC_MISSING;
        else
            p->standing[m] = names_metric(estimated, (enum metric) m) ? METRIC_ESTIMATED : METRIC_MEASURED;
    }
}

enum err
store_read_steps_of(struct store *s, const struct store_step_table *table, int64_t owner_id,
                    bool (*fn)(void *context, const struct coached_step *step), void *context)
{
    char sql[SQL_MAX] = "";
    struct coached_step step;
    sqlite3_stmt *st;
    enum err err;

    append(sql, "SELECT ", table->owner, FIXED_COLUMNS);
    for (int m = 0; m < METRIC_COUNT; m++)
        append(sql, ", ", metric_info((enum metric) m)->name, "");
    append(sql, " FROM ", table->name, " WHERE ");
    append(sql, "", table->owner, " = ?1 ORDER BY number");
    err = sql_prepare(s, &st, sql, N_("can't read the steps"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, owner_id);
    while ((err = sql_next(s, st, N_("can't read the steps"))) == ERR_OK) {
        read_step(st, &step);
        if (!fn(context, &step))
            break;
    }
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

enum err
store_steps(struct store *s, int64_t visit_id, bool (*fn)(void *context, const struct coached_step *step),
            void *context)
{
    return store_read_steps_of(s, &STORE_STEPS_OF_VISIT, visit_id, fn, context);
}
