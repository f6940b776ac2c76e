/* sql.h - inside store/ and care/ only: what their files share about SQLite. Every answer of SQLite becomes an enum err
 * and a sentence for the operator here.
 *
 * A statement is prepared, bound by position from 1, and either run once (sql_run) or walked (sql_next); both
 * end it with sql_end. A failed bind shows at the run.
 */
#ifndef STORE_SQL_H
#define STORE_SQL_H

#include "base/mark.h"
#include "store/store.h"

#include <sqlite3.h>

/* Fills s->why from SQLite's last answer; what it was that failed: N_("can't save the visit"). */
enum err sql_failed(struct store *s, const char *what);
/* The same for a given result code. */
enum err sql_failed_with(struct store *s, const char *what, int code);

/* Runs a text of SQL without values. */
enum err sql_exec(struct store *s, const char *sql, const char *what);

/* *out is NULL after a refusal. */
enum err sql_prepare(struct store *s, sqlite3_stmt **out, const char *sql, const char *what);
/* Runs to its end and ends it. Accepts NULL after a refused prepare: gives that error. */
enum err sql_run(struct store *s, sqlite3_stmt *st, const char *what);
/* ERR_OK: there is a row; ERR_GONE: no more (why not filled); else refused. */
enum err sql_next(struct store *s, sqlite3_stmt *st, const char *what);
void sql_end(sqlite3_stmt *st);

/* First column of the first row. */
enum err sql_get_int(struct store *s, const char *sql, int64_t *out, const char *what);
/* How large the file is by its pages, the log's newest among them. */
enum err sql_file_bytes(struct store *s, int64_t *out);

/* Binds; NAN, "" (sql_bind_word: NULL) and 0 (sql_bind_id) become NULL where the name says so. */
void sql_bind_number(sqlite3_stmt *st, int i, double value); /* NAN -> NULL */
void sql_bind_int(sqlite3_stmt *st, int i, int64_t value);
void sql_bind_id(sqlite3_stmt *st, int i, int64_t id);         /* 0 -> NULL */
void sql_bind_word(sqlite3_stmt *st, int i, const char *word); /* NULL -> NULL; borrowed until the run */

double sql_number(sqlite3_stmt *st, int column);                    /* NULL -> NAN */
int64_t sql_int(sqlite3_stmt *st, int column);                      /* NULL -> 0 */
const char *sql_word(sqlite3_stmt *st, int column);                 /* NULL -> NULL; until the next row */
void sql_copy(sqlite3_stmt *st, int column, char *out, size_t cap); /* NULL -> ""; fit to be seen (base/utf8.h) */

#endif
