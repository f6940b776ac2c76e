#define _XOPEN_SOURCE 700 /* realpath */
#include "store/place.h"

#include "base/fileio.h"
#include "base/str.h"
#include "store/schema.h"
#include "store/sql.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* What is at path + ending; all 0 when nothing is, or it can't be looked at. */
static struct store_inode
inode_of(const char *path, const char *ending)
{
    char full[STORE_PATH_MAX + 8];
    struct stat st;
    snprintf(full, sizeof full, "%s%s", path, ending);
    if (stat(full, &st) != 0)
        return (struct store_inode){ 0, 0 };
    return (struct store_inode){ (uint64_t) st.st_dev, (uint64_t) st.st_ino };
}

static struct store_inode
inode_of_folder(const char *path)
{
    char folder[STORE_PATH_MAX];
    fileio_folder_of(folder, sizeof folder, path);
    return inode_of(folder, "");
}

static bool
is_none(struct store_inode a)
{
    return a.device == 0 && a.number == 0;
}

static bool
is_same(struct store_inode a, struct store_inode b)
{
    return a.device == b.device && a.number == b.number;
}

void
place_learn(struct store *s)
{
    char *real = realpath(s->path, NULL);
    str_copy(s->home, sizeof s->home, real ? real : s->path);
    free(real);
    s->log = inode_of(s->path, "-wal");
    s->index = inode_of(s->path, "-shm");
}

/* As long as a store is open nobody who keeps SQLite's rules takes its log away. One that was not there when it was opened
 * (a reader's, before anybody wrote) may come. */
static bool
has_lost(struct store_inode *was, const char *path, const char *ending)
{
    const struct store_inode now = inode_of(path, ending);
    if (is_none(*was))
        *was = now;
    return !is_same(*was, now);
}

static enum place_state
state_of(struct store *s)
{
    int has_moved = 0;
    if (is_none(inode_of_folder(s->path)))
        return PLACE_HAS_NO_FOLDER;
    if (sqlite3_file_control(s->db, "main", SQLITE_FCNTL_HAS_MOVED, &has_moved) != SQLITE_OK || has_moved)
        return is_none(inode_of(s->path, "")) ? PLACE_HAS_NO_FILE : PLACE_HAS_OTHER_FILE;
    if (has_lost(&s->log, s->path, "-wal") || has_lost(&s->index, s->path, "-shm"))
        return PLACE_HAS_NO_LOG;
    return PLACE_IS_OWN;
}

enum place_state
place_look(struct store *s)
{
    static const enum message_code CAUSE[] = {
        [PLACE_HAS_NO_FOLDER] = MESSAGE_STORE_LOST_FOLDER,
        [PLACE_HAS_NO_FILE] = MESSAGE_STORE_LOST_FILE,
        [PLACE_HAS_OTHER_FILE] = MESSAGE_STORE_LOST_TO_OTHER,
        [PLACE_HAS_NO_LOG] = MESSAGE_STORE_LOST_LOG,
    };
    const enum place_state state = state_of(s);
    struct message cause;
    if (state == PLACE_IS_OWN)
        return state;
    message_init(&cause, CAUSE[state]);
    message_tell(&s->why, MESSAGE_STORE_LOST, message_path(s->path), message_of(&cause));
    return state;
}

bool
place_is_current(struct store *s)
{
    int64_t version = 0;
    return sql_get_int(s, "PRAGMA user_version", &version, N_("can't read")) == ERR_OK && version == SCHEMA_VERSION;
}

bool
place_is_idle(const struct store *s)
{
    if (sqlite3_txn_state(s->db, NULL) != SQLITE_TXN_NONE)
        return false;
    for (sqlite3_stmt *st = NULL; (st = sqlite3_next_stmt(s->db, st)) != NULL;)
        if (sqlite3_stmt_busy(st))
            return false;
    return true;
}
