#include "store/sql.h"

#include "base/utf8.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Why, as far as the code alone tells; MESSAGE_NONE: it does not. */
static enum message_code
cause_of(int code, enum err *err)
{
    *err = ERR_OS;
    switch (code & 0xff) {
    case SQLITE_FULL:
        return MESSAGE_STORE_DISC_IS_FULL;
    case SQLITE_READONLY:
    case SQLITE_PERM:
        return MESSAGE_STORE_CANT_BE_WRITTEN;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return MESSAGE_STORE_IS_BUSY;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        *err = ERR_FORMAT;
        return MESSAGE_STORE_CANT_BE_READ;
    case SQLITE_NOMEM:
        *err = ERR_MEMORY;
        return MESSAGE_STORE_NO_MEMORY;
    case SQLITE_CONSTRAINT:
        *err = ERR_USAGE;
        return MESSAGE_STORE_DOES_NOT_FIT;
    case SQLITE_ERROR: /* a table or column that is not there: SQLite's own words would be about our statements */
        *err = ERR_FORMAT;
        return MESSAGE_STORE_HAS_OTHER_TABLES;
    case SQLITE_IOERR:
        return MESSAGE_STORE_DISC_REFUSES;
    default:
        return MESSAGE_NONE;
    }
}

enum err
sql_failed_with(struct store *s, const char *what, int code)
{
    struct message cause;
    enum err err;

    s->is_full = (code & 0xff) == SQLITE_FULL;
    s->is_busy = (code & 0xff) == SQLITE_BUSY || (code & 0xff) == SQLITE_LOCKED;
    message_init(&cause, cause_of(code, &err));
    if ((code & 0xff) == SQLITE_IOERR) {
        /* SQLite keeps errno for only some of its ways to fail; a full disc proper is SQLITE_FULL. */
        const int number = s->db != NULL ? sqlite3_system_errno(s->db) : 0;
        s->is_full = number == ENOSPC || number == EDQUOT || number == EFBIG;
        if (number != 0 && !s->is_full)
            message_tell(&cause, MESSAGE_STORE_SYSTEM_REFUSES, message_errno(number));
    }
    if (message_is_none(&cause)) /* a few plain words, never a statement of ours */
        message_tell(&cause, MESSAGE_STORE_SQLITE_REFUSES, sqlite3_errstr(code));
    message_tell(&s->why, MESSAGE_STORE_FAILED, message_word(what), message_path(s->path), message_of(&cause));
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
    enum err err = sql_get_int(s, "PRAGMA page_count", &n_pages, N_("can't read"));

    if (err == ERR_OK)
        err = sql_get_int(s, "PRAGMA page_size", &page_len, N_("can't read"));
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
