/* store_write.c - transactions: every row of a store is written inside one, and each begins with a look at the version. */
#include "store/store.h"

#include "store/schema.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <stdio.h>

/* A newer program may have brought the tables up to date since they were opened here; an older copy may have been put in
 * their place. What we would write then is not what that program expects. */
static enum err
check_version(struct store *s)
{
    int64_t version = 0;
    const enum err err = sql_get_int(s, "PRAGMA user_version", &version, N_("can't read"));

    if (err != ERR_OK || version == SCHEMA_VERSION)
        return err;
    if (version > SCHEMA_VERSION)
        message_tell(&s->why, MESSAGE_STORE_IS_NEWER_NOW, message_path(s->path));
    else
        message_tell(&s->why, MESSAGE_STORE_IS_OLDER_NOW, message_path(s->path));
    return ERR_UNSUPPORTED;
}

enum err
store_begin(struct store *s)
{
    /* IMMEDIATE: waits for the other writer here, where busy_timeout helps, and not in mid-transaction. */
    enum err err = sql_exec(s, "BEGIN IMMEDIATE", N_("can't begin to write"));

    if (err != ERR_OK)
        return err;
    err = check_version(s);
    if (err != ERR_OK)
        store_rollback(s);
    return err;
}

enum err
store_commit(struct store *s)
{
    return sql_exec(s, "COMMIT", N_("can't save"));
}

void
store_rollback(struct store *s)
{
    /* SQLite has done it by itself after some errors: then there is nothing left to undo. */
    if (sqlite3_get_autocommit(s->db) == 0)
        (void) sqlite3_exec(s->db, "ROLLBACK", NULL, NULL, NULL);
}

enum err
store_enter(struct store *s, bool *is_own)
{
    *is_own = sqlite3_get_autocommit(s->db) != 0;
    return *is_own ? store_begin(s) : ERR_OK;
}

enum err
store_leave(struct store *s, bool is_own, enum err err)
{
    if (!is_own)
        return err;
    if (err == ERR_OK)
        err = store_commit(s);
    if (err != ERR_OK)
        store_rollback(s);
    return err;
}

enum err
store_run(struct store *s, sqlite3_stmt *st, const char *what)
{
    bool is_own;
    enum err err = store_enter(s, &is_own);

    if (err != ERR_OK) {
        sql_end(st);
        return err;
    }
    return store_leave(s, is_own, sql_run(s, st, what));
}
