/* store_trust.c - is what a store's schema holds what this program puts there, and nothing that would act by itself?
 *
 * A file that says it is ours may come from anywhere. A trigger or a view in it would run with our statements: there is
 * none of ours, so any is refused. Virtual tables are too, as they name code. What is left (checks, defaults, indexes) may
 * call no function that does more than compute: trusted_schema is off, and the connection is defensive.
 */
#include "store/store_parts.h"

#include "base/fileio.h"
#include "base/log.h"
#include "base/message.h"
#include "base/str.h"
#include "store/schema.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#define CREATE_TABLE "CREATE TABLE "

static enum err
refuse(struct store *s, enum message_code code, const char *kind, const char *name)
{
    message_init(&s->why, code);
    message_add(&s->why, message_path(s->path));
    if (kind != NULL)
        message_add(&s->why, message_word(kind));
    message_add(&s->why, message_text(name));
    return ERR_FORMAT;
}

/* SQLite's word for what was found, as one that is looked up. */
static const char *
word_for(const char *kind)
{
    static const char *const KIND[] = { N_("trigger"), N_("view"), N_("virtual table") };

    for (size_t i = 0; i < sizeof KIND / sizeof *KIND; i++)
        if (strcmp(kind, KIND[i]) == 0)
            return KIND[i];
    return kind;
}

/* Nothing that acts by itself. */
static enum err
check_foreign(struct store *s)
{
    char kind[16], name[STORE_TEXT_MAX];
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st,
                               "SELECT CASE WHEN type = 'table' THEN 'virtual table' ELSE type END, name FROM sqlite_schema"
                               " WHERE type NOT IN ('table', 'index') OR sql LIKE 'CREATE VIRTUAL%' LIMIT 1",
                               N_("can't read"));

    if (err != ERR_OK)
        return err;
    err = sql_next(s, st, N_("can't read"));
    if (err == ERR_OK) {
        sql_copy(st, 0, kind, sizeof kind);
        sql_copy(st, 1, name, sizeof name);
        err = refuse(s, MESSAGE_STORE_HAS_FOREIGN, word_for(kind), name);
    }
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

static enum err
check_table(struct store *s, const char *name)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = ?1", N_("can't read"));

    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, name);
    err = sql_next(s, st, N_("can't read"));
    if (err == ERR_GONE)
        err = refuse(s, MESSAGE_STORE_LACKS_TABLE, NULL, name);
    sql_end(st);
    return err;
}

enum err
store_trust(struct store *s, int64_t version)
{
    char name[64];
    enum err err = sql_exec(s, "PRAGMA trusted_schema = OFF", N_("can't set up"));

    sqlite3_db_config(s->db, SQLITE_DBCONFIG_DEFENSIVE, 1, (int *) NULL);
    if (err == ERR_OK)
        err = check_foreign(s);
    for (int64_t i = 0; i < version && err == ERR_OK; i++)
        for (const char *const *p = SCHEMA_MIGRATION[i]; *p != NULL && err == ERR_OK; p++) {
            if (!str_begins_with(*p, CREATE_TABLE))
                continue;
            const char *at = *p + strlen(CREATE_TABLE);
            snprintf(name, sizeof name, "%.*s", (int) strcspn(at, " ("), at);
            err = check_table(s, name);
        }
    return err;
}

void
store_warn_folder(const struct store *s)
{
    char folder[STORE_PATH_MAX];
    struct message m;
    struct stat st;

    fileio_folder_of(folder, sizeof folder, s->path);
    if (stat(folder, &st) != 0 || (st.st_mode & (S_IWGRP | S_IWOTH)) == 0)
        return;
    message_tell(&m, MESSAGE_STORE_FOLDER_IS_OPEN, message_path(folder), message_path(folder));
    log_tell(&m);
}
