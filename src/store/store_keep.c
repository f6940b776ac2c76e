/* store_keep.c - a consistent copy of the store by SQLite's online backup, written aside. */
#include "store/store.h"

#include "store/sql.h"
#include "store/store_parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { N_PAGES_AT_ONCE = 256, MAX_BUSY_TURNS = 200, BUSY_WAIT_MS = 25 };

enum err
store_refuse_copy(struct store *s, const char *path, int number)
{
    message_tell(&s->why, MESSAGE_COPIES_NOT_WRITTEN, message_path(path), message_errno(number));
    return ERR_OS;
}

/* Page by page; a writer that is faster makes SQLite begin again by itself. */
int
store_copy_pages(sqlite3 *to, sqlite3 *from, const struct store_stop *stop)
{
    sqlite3_backup *b = sqlite3_backup_init(to, "main", from, "main");
    int code = SQLITE_OK;

    if (b == NULL)
        return sqlite3_errcode(to);
    for (int turns = 0; turns < MAX_BUSY_TURNS;) {
        code = stop && stop->fn && stop->fn(stop->context) ? SQLITE_INTERRUPT : sqlite3_backup_step(b, N_PAGES_AT_ONCE);
        if (code != SQLITE_OK && code != SQLITE_BUSY && code != SQLITE_LOCKED)
            break;
        if (code != SQLITE_OK) {
            turns++;
            sqlite3_sleep(BUSY_WAIT_MS);
        }
    }
    int end = sqlite3_backup_finish(b);
    return code == SQLITE_DONE ? end : code;
}

/* One file alone: no log beside it that would have to come along. */
static enum err
copy_pages_to(struct store *s, const char *aside, const struct store_stop *stop)
{
    sqlite3 *to = NULL;
    int code = sqlite3_open_v2(aside, &to, SQLITE_OPEN_READWRITE, NULL);

    if (code == SQLITE_OK)
        code = store_copy_pages(to, s->db, stop);
    if (code == SQLITE_OK)
        code = sqlite3_exec(to, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    sqlite3_close(to);
    if (code == SQLITE_INTERRUPT)
        return ERR_GONE;
    return code == SQLITE_OK ? ERR_OK : sql_failed_with(s, N_("can't keep a copy of what is"), code);
}

enum err
store_copy_to(struct store *s, const char *path)
{
    return store_copy_until(s, path, NULL);
}

enum err
store_copy_until(struct store *s, const char *path, const struct store_stop *stop)
{
    unlink(path);
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0)
        return store_refuse_copy(s, path, errno);
    enum err err = copy_pages_to(s, path, stop);
    if (err == ERR_OK && fsync(fd) != 0)
        err = store_refuse_copy(s, path, errno);
    close(fd);
    if (err != ERR_OK)
        unlink(path);
    return err;
}
