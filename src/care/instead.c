#define _GNU_SOURCE /* F_OFD_GETLK */
#include "care/instead.h"

#include "base/fileio.h"
#include "base/str.h"
#include "store/copies.h"
#include "store/running.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* SQLite's file format: the bytes that its locks lie on, whatever the file's length. */
enum { LOCK_BYTES_AT = 0x40000000, N_LOCK_BYTES = 512, BUSY_MS = 1000 };

static enum err
refuse(struct message *why, enum message_code code, const char *path, int number)
{
    message_init(why, code);
    message_add(why, message_path(path));
    if (code == MESSAGE_RESTORE_NOT_MOVED)
        message_add(why, message_errno(number));
    return code == MESSAGE_RESTORE_IN_USE ? ERR_USAGE : ERR_OS;
}

bool
instead_is_in_use(const char *path)
{
    struct flock lock = { .l_type = F_WRLCK, .l_whence = SEEK_SET, .l_start = LOCK_BYTES_AT, .l_len = N_LOCK_BYTES };
    if (running_any(path))
        return true;
    const int fd = open(path, O_RDWR | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0)
        return false;
    const bool is = fcntl(fd, F_OFD_GETLK, &lock) == 0 && lock.l_type != F_UNLCK;
    close(fd); /* this process has no connection to it, and so no lock to lose */
    return is;
}

void
instead_drop(const char *aside)
{
    static const char *const ENDINGS[] = { "", "-wal", "-shm", "-journal" };
    char path[STORE_PATH_MAX + 32];
    for (size_t i = 0; i < sizeof ENDINGS / sizeof *ENDINGS; i++) {
        snprintf(path, sizeof path, "%s%s", aside, ENDINGS[i]);
        unlink(path);
    }
    fileio_sync_folder_of(aside);
}

enum err
instead_said(struct message *why, const struct store *s, enum err err)
{
    if (err != ERR_OK)
        *why = s->why;
    return err;
}

static bool
is_alone(sqlite3 *db)
{
    sqlite3_stmt *st = NULL;
    bool is = false;
    /* Leaving the log needs to be alone: every other connection holds a lock as long as it is open. */
    if (sqlite3_prepare_v2(db, "PRAGMA journal_mode = DELETE", -1, &st, NULL) == SQLITE_OK && sqlite3_step(st) == SQLITE_ROW)
        is = strcmp((const char *) sqlite3_column_text(st, 0), "delete") == 0;
    sqlite3_finalize(st);
    return is;
}

enum err
instead_write_into(struct store *s, const char *aside, struct message *why)
{
    sqlite3 *from = NULL, *to = NULL;
    if (running_any(s->path))
        return refuse(why, MESSAGE_RESTORE_IN_USE, s->path, 0);
    int code = sqlite3_open_v2(aside, &from, SQLITE_OPEN_READONLY, NULL);
    if (code == SQLITE_OK)
        code = sqlite3_open_v2(s->path, &to, SQLITE_OPEN_READWRITE, NULL);
    bool is_free = true;
    if (code == SQLITE_OK) {
        sqlite3_busy_timeout(to, BUSY_MS);
        is_free = is_alone(to);
    }
    if (code == SQLITE_OK && is_free)
        code = sqlite3_exec(to, "PRAGMA synchronous = FULL; PRAGMA secure_delete = ON", NULL, NULL, NULL);
    if (code == SQLITE_OK && is_free)
        code = store_copy_pages(to, from, NULL);
    sqlite3_close(from);
    sqlite3_close(to);
    if (!is_free || code == SQLITE_BUSY)
        return refuse(why, MESSAGE_RESTORE_IN_USE, s->path, 0);
    enum err err = code == SQLITE_OK ? copies_verify(s, s->path) : sql_failed_with(s, N_("can't write the copy"), code);
    if (err == ERR_OK)
        err = copies_sync(s, s->path);
    return instead_said(why, s, err);
}

/* A log that stayed beside another file would be read into it. Its index is nothing but an index. */
static enum err
move_log(struct store *s, const char *kept, struct message *why)
{
    char from[STORE_PATH_MAX + 8], to[STORE_PATH_MAX + 8];
    snprintf(from, sizeof from, "%s-wal", s->path);
    snprintf(to, sizeof to, "%s-wal", kept);
    if (rename(from, to) != 0 && errno != ENOENT)
        return refuse(why, MESSAGE_RESTORE_NOT_MOVED, from, errno);
    snprintf(from, sizeof from, "%s-shm", s->path);
    unlink(from);
    snprintf(from, sizeof from, "%s-journal", s->path); /* a half write of the damaged one */
    snprintf(to, sizeof to, "%s-journal", kept);
    if (rename(from, to) != 0 && errno != ENOENT)
        return refuse(why, MESSAGE_RESTORE_NOT_MOVED, from, errno);
    return ERR_OK;
}

enum err
instead_rename(struct store *s, const char *aside, char kept[STORE_PATH_MAX], struct message *why)
{
    struct store clock = { .db = NULL }; /* for the day: s itself is closed */
    const bool is_there = access(s->path, F_OK) == 0;
    kept[0] = '\0';
    if (is_there && instead_is_in_use(s->path))
        return refuse(why, MESSAGE_RESTORE_IN_USE, s->path, 0);
    str_copy(clock.path, sizeof clock.path, s->path);
    const int code = sqlite3_open(":memory:", &clock.db);
    enum err err = code == SQLITE_OK ? copies_path(&clock, "damaged", kept) : sql_failed_with(&clock, N_("can't read"), code);
    sqlite3_close(clock.db);
    if (err != ERR_OK)
        return instead_said(why, &clock, err);
    /* The second name first: whatever happens from here on, the damaged one has a name. */
    if (is_there && link(s->path, kept) != 0)
        return refuse(why, MESSAGE_RESTORE_NOT_MOVED, s->path, errno);
    err = move_log(s, kept, why);
    if (err != ERR_OK)
        return err;
    if (rename(aside, s->path) != 0)
        return refuse(why, MESSAGE_RESTORE_NOT_MOVED, s->path, errno);
    if (!is_there)
        kept[0] = '\0';
    return instead_said(why, s, copies_sync(s, s->path));
}
