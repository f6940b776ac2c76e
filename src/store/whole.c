#include "store/whole.h"

#include "store/sql.h"

#include <string.h>

enum { STEPS_BETWEEN_ASKING = 20000 }; /* of SQLite's machine: a millisecond or less */

static int
is_to_stop(void *context)
{
    const struct store_stop *stop = context;
    return stop->fn && stop->fn(stop->context);
}

enum err
whole_quick(struct store *s, const struct store_stop *stop, bool *is_whole)
{
    struct store_stop asked = *stop;
    sqlite3_stmt *st;
    *is_whole = false;
    sqlite3_progress_handler(s->db, STEPS_BETWEEN_ASKING, is_to_stop, &asked);
    enum err err = sql_prepare(s, &st, "PRAGMA quick_check(1)", N_("can't check"));
    if (err == ERR_OK)
        err = sql_next(s, st, N_("can't check"));
    const bool was_stopped = err != ERR_OK && sqlite3_errcode(s->db) == SQLITE_INTERRUPT;
    if (err == ERR_OK)
        *is_whole = strcmp(sql_word(st, 0), "ok") == 0;
    sql_end(st);
    sqlite3_progress_handler(s->db, 0, NULL, NULL);
    if (was_stopped)
        return ERR_GONE;
    return err == ERR_FORMAT ? ERR_OK : err; /* what can't be read is not whole */
}
