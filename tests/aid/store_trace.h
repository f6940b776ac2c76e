/* store_trace.h - sees every statement that a store runs from here on, in this process: which texts, and which plan SQLite
 * makes of them. With Criterion and sqlite3; each test is a process of its own. */
#ifndef AID_STORE_TRACE_H
#define AID_STORE_TRACE_H

#include <criterion/criterion.h>
#include <sqlite3.h>
#include <string.h>

/* Called with each statement's text before it runs. */
static void (*store_trace_fn)(const char *sql);

static inline int
store_trace_one(unsigned what, void *context, void *statement, void *text)
{
    (void) what;
    (void) context;
    const char *sql = text;
    if (strncmp(sql, "--", 2) != 0 && store_trace_fn) /* a trigger's own */
        store_trace_fn(sqlite3_sql(statement));
    return 0;
}

static inline int
store_trace_attach(sqlite3 *db, char **message, const struct sqlite3_api_routines *api)
{
    (void) message;
    (void) api;
    return sqlite3_trace_v2(db, SQLITE_TRACE_STMT, store_trace_one, NULL);
}

/* Every connection that is opened from here on is watched. */
static inline void
store_trace_begin(void (*fn)(const char *sql))
{
    store_trace_fn = fn;
    cr_assert_eq(sqlite3_auto_extension((void (*)(void)) store_trace_attach), SQLITE_OK);
}

/* The plan of a statement, its lines joined by "; ". */
static inline void
store_trace_plan(const char *path, const char *sql, char out[2048])
{
    char explain[8192 + 32];
    sqlite3 *db;
    sqlite3_stmt *st;

    out[0] = '\0';
    store_trace_fn = NULL;
    snprintf(explain, sizeof explain, "EXPLAIN QUERY PLAN %s", sql);
    cr_assert_eq(sqlite3_open(path, &db), SQLITE_OK);
    cr_assert_eq(sqlite3_prepare_v2(db, explain, -1, &st, NULL), SQLITE_OK, "%s: %s", sql, sqlite3_errmsg(db));
    while (sqlite3_step(st) == SQLITE_ROW)
        snprintf(out + strlen(out), 2048 - strlen(out), "%s%s", out[0] ? "; " : "", (const char *) sqlite3_column_text(st, 3));
    sqlite3_finalize(st);
    cr_assert_eq(sqlite3_close(db), SQLITE_OK);
}

#endif
