#include "store/sql.h"

#include "base/utf8.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum err
sql_failed_with(struct store *s, const char *what, int code)
{
    const char *why = NULL;
    enum err err = ERR_OS;

    s->is_full = (code & 0xff) == SQLITE_FULL;
    s->is_busy = (code & 0xff) == SQLITE_BUSY || (code & 0xff) == SQLITE_LOCKED;
    switch (code & 0xff) {
    case SQLITE_FULL:
        why = "the disc is full: make room on it";
        break;
    case SQLITE_READONLY:
    case SQLITE_PERM:
        why =
            "it is read-only: make the file and its folder writable, or set UNDERFOOT_DATA to another folder";
        break;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        why = "another program keeps it busy: try again, or close the other one";
        break;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        err = ERR_FORMAT;
        why = "it is damaged: `underfoot repair` saves what can be read, `underfoot restore` puts a kept copy in its place";
        break;
    case SQLITE_NOMEM:
        err = ERR_MEMORY;
        why = "out of memory";
        break;
    case SQLITE_CONSTRAINT:
        err = ERR_USAGE;
        why = "what is to be saved does not go with what is there";
        break;
    case SQLITE_ERROR: /* a table or column that is not there: SQLite's own words would be about our statements */
        err = ERR_FORMAT;
        why = "its tables are not as this program makes them, it is damaged or was changed by hand: put a kept copy in its "
              "place";
        break;
    case SQLITE_IOERR: {
        /* SQLite keeps errno for only some of its ways to fail; a full disc proper is SQLITE_FULL. */
        int number = s->db != NULL ? sqlite3_system_errno(s->db) : 0;
        s->is_full = number == ENOSPC || number == EDQUOT || number == EFBIG;
        why = number != 0 && !s->is_full
                  ? strerror(number)
                  : "the disc refuses, it may be full or failing: make room on it, or change it";
        break;
    }
    default:
        break;
    }
    if (why == NULL)
        why = sqlite3_errstr(code); /* a few plain words, never a statement of ours */
    message_sayf(&s->why, "%s in the store %.250s: %.150s", what, s->path, why);
    return err;
}

enum err
sql_failed(struct store *s, const char *what)
{
    return sql_failed_with(s, what, s->db != NULL ? sqlite3_extended_errcode(s->db) : SQLITE_ERROR);
}

enum err
sql_exec(struct store *s, const char *sql, const char *what)
{
    return sqlite3_exec(s->db, sql, NULL, NULL, NULL) == SQLITE_OK ? ERR_OK : sql_failed(s, what);
}

enum err
sql_prepare(struct store *s, sqlite3_stmt **out, const char *sql, const char *what)
{
    *out = NULL;
    return sqlite3_prepare_v2(s->db, sql, -1, out, NULL) == SQLITE_OK ? ERR_OK : sql_failed(s, what);
}

enum err
sql_next(struct store *s, sqlite3_stmt *st, const char *what)
{
    int code = sqlite3_step(st);

    if (code == SQLITE_ROW)
        return ERR_OK;
    return code == SQLITE_DONE ? ERR_GONE : sql_failed(s, what);
}

enum err
sql_run(struct store *s, sqlite3_stmt *st, const char *what)
{
    enum err err;

    do
        err = sql_next(s, st, what);
    while (err == ERR_OK);
    sqlite3_finalize(st);
    return err == ERR_GONE ? ERR_OK : err;
}

void
sql_end(sqlite3_stmt *st)
{
    sqlite3_finalize(st);
}

enum err
sql_get_int(struct store *s, const char *sql, int64_t *out, const char *what)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, sql, what);

    if (err != ERR_OK)
        return err;
    err = sql_next(s, st, what);
    if (err == ERR_OK)
        *out = sqlite3_column_int64(st, 0);
    sql_end(st);
    return err;
}

enum err
sql_file_bytes(struct store *s, int64_t *out)
{
    int64_t n_pages = 0, page_len = 0;
    enum err err = sql_get_int(s, "PRAGMA page_count", &n_pages, "can't read");

    if (err == ERR_OK)
        err = sql_get_int(s, "PRAGMA page_size", &page_len, "can't read");
    *out = n_pages * page_len;
    return err;
}

void
sql_bind_number(sqlite3_stmt *st, int i, double value)
{
    if (isnan(value))
        sqlite3_bind_null(st, i);
    else
        sqlite3_bind_double(st, i, value);
}

void
sql_bind_int(sqlite3_stmt *st, int i, int64_t value)
{
    sqlite3_bind_int64(st, i, value);
}

void
sql_bind_id(sqlite3_stmt *st, int i, int64_t id)
{
    if (id == 0)
        sqlite3_bind_null(st, i);
    else
        sqlite3_bind_int64(st, i, id);
}

void
sql_bind_word(sqlite3_stmt *st, int i, const char *word)
{
    sqlite3_bind_text(st, i, word, -1, SQLITE_STATIC);
}

double
sql_number(sqlite3_stmt *st, int column)
{
    if (sqlite3_column_type(st, column) == SQLITE_NULL)
        return NAN;
    return sqlite3_column_double(st, column);
}

int64_t
sql_int(sqlite3_stmt *st, int column)
{
    return sqlite3_column_int64(st, column);
}

const char *
sql_word(sqlite3_stmt *st, int column)
{
    return (const char *) sqlite3_column_text(st, column);
}

void
sql_copy(sqlite3_stmt *st, int column, char *out, size_t cap)
{
    const char *text = sql_word(st, column);

    utf8_show(out, cap, text == NULL ? "" : text);
}
