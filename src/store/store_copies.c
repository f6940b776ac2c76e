/* store_copies.c - the copies of a store that the program made of its own accord, before it brought the tables up to date:
 * what they are called, and that a runner is forgotten in them too.
 *
 *      underfoot.sqlite.v5-2026-11-28        as it was on that day, of version 5; -2, -3 ... when there is one already
 *      underfoot.sqlite.copying              one that was being made when the program was killed
 *
 * A copy that a person made with `underfoot keep` is theirs, and left alone.
 */
#include "store/store.h"

#include "base/str.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { MAX_COPIES_A_DAY = 1000 };

enum err
store_copies_path(struct store *s, int64_t version, char path[STORE_PATH_MAX])
{
    char again[8] = "", day[16] = "";
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT date('now', 'localtime')", "can't read");
    if (err == ERR_OK)
        err = sql_next(s, st, "can't read");
    if (err == ERR_OK)
        sql_copy(st, 0, day, sizeof day);
    sql_end(st);
    if (err != ERR_OK)
        return err;
    for (int i = 1; i < MAX_COPIES_A_DAY; i++) {
        if (i > 1)
            snprintf(again, sizeof again, "-%d", i);
        const int len = snprintf(path, STORE_PATH_MAX, "%s.v%lld-%s%s", s->path, (long long) version, day, again);
        if (len < 0 || len >= STORE_PATH_MAX) {
            snprintf(s->why, sizeof s->why, "the path of a copy beside %.250s... is too long", s->path);
            return ERR_USAGE;
        }
        if (access(path, F_OK) != 0 && errno == ENOENT)
            return ERR_OK;
    }
    snprintf(s->why, sizeof s->why, "there are %d copies of the store from today beside %.250s: move them away",
             MAX_COPIES_A_DAY, s->path);
    return ERR_OS;
}

/* "underfoot.sqlite.v5-..." for the store "underfoot.sqlite"; not what SQLite keeps beside a copy that is open. */
static bool
is_copy(const char *entry, const char *store_name)
{
    if (!str_begins_with(entry, store_name))
        return false;
    const char *rest = entry + strlen(store_name);
    return rest[0] == '.' && rest[1] == 'v' && isdigit((unsigned char) rest[2]) && !str_ends_with(entry, "-journal") &&
           !str_ends_with(entry, "-wal") && !str_ends_with(entry, "-shm");
}

/* Ids are never changed, so the runner has the same one there, or is not there yet. */
static enum err
forget_in(struct store *s, const char *path, int64_t runner_id)
{
    struct store copy = { .db = NULL };
    char sql[256];
    str_copy(copy.path, sizeof copy.path, path);
    snprintf(sql, sizeof sql,
             "PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON; BEGIN IMMEDIATE;"
             " DELETE FROM visit WHERE runner_id = %lld; DELETE FROM runner WHERE id = %lld; COMMIT; VACUUM",
             (long long) runner_id, (long long) runner_id);
    const int code = sqlite3_open_v2(path, &copy.db, SQLITE_OPEN_READWRITE, NULL);
    const enum err err = code == SQLITE_OK ? sql_exec(&copy, sql, "can't forget the runner")
                                           : sql_failed_with(&copy, "can't forget the runner", code);
    sqlite3_close(copy.db);
    if (err != ERR_OK)
        str_copy(s->why, sizeof s->why, copy.why);
    return err;
}

enum err
store_copies_forget(struct store *s, int64_t runner_id)
{
    char folder[STORE_PATH_MAX], path[STORE_PATH_MAX + 256];
    enum err err = ERR_OK;
    str_copy(folder, sizeof folder, s->path);
    char *slash = strrchr(folder, '/');
    const char *name = slash ? s->path + (slash - folder) + 1 : s->path;
    str_copy(slash ? slash + 1 : folder, 3, slash ? "" : "./");
    snprintf(path, sizeof path, "%s" STORE_COPY_ASIDE, s->path);
    unlink(path);
    DIR *d = opendir(folder);
    if (!d) {
        snprintf(s->why, sizeof s->why, "can't look for copies of the store in %.250s: %s", folder, strerror(errno));
        return ERR_OS;
    }
    for (struct dirent *e; err == ERR_OK && (e = readdir(d)) != NULL;)
        if (is_copy(e->d_name, name)) {
            snprintf(path, sizeof path, "%s%s", folder, e->d_name);
            err = forget_in(s, path, runner_id);
        }
    closedir(d);
    return err;
}
