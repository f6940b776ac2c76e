/* store_open.c - opening: is it ours, whole, and not from a newer version; then settings and migrations.
 *
 * The order matters: the file's first 100 bytes are judged before any SQL, since SQLite may write (recovery,
 * checkpoint) with the first statement. Until a store is known to be good, the connection is told not to checkpoint
 * when it closes.
 *
 * No file of a store is ever opened here but by SQLite, not even to read it: closing any descriptor of a file drops
 * all POSIX locks that this process holds on it, SQLite's own among them. Another program then takes itself for the
 * last user and deletes the log that the first one still writes. SQLite's own handles know of each other.
 */
#include "store/store.h"

#include "base/fileio.h"
#include "base/str.h"
#include "store/place.h"
#include "store/schema.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Larger stores skip the page check at opening: it reads all of the file. */
#define CHECK_MAX_BYTES (INT64_C(32) << 20)

#define HEADER_LEN                                                                                           \
    100 /* SQLite file format: magic at 0, user_version at 60, application_id at 68, big-endian */

static enum err
refuse(struct store *s, enum err err, enum message_code code)
{
    message_tell(&s->why, code, message_path(s->path));
    return err;
}

static enum err
refuse_os(struct store *s, enum message_code code, int number)
{
    message_tell(&s->why, code, message_path(s->path), message_errno(number));
    return ERR_OS;
}

static enum err
refuse_damaged(struct store *s)
{
    return refuse(s, ERR_FORMAT, MESSAGE_STORE_IS_NO_STORE);
}

static uint32_t
big_endian_32(const unsigned char *p)
{
    return (uint32_t) p[0] << 24 | (uint32_t) p[1] << 16 | (uint32_t) p[2] << 8 | p[3];
}

/* Makes the empty file under another name and links it to its own: at its own name it is never open but in SQLite, and
 * where somebody else was faster, theirs stays. */
static enum err
make_file(struct store *s)
{
    char aside[STORE_PATH_MAX + 32];

    snprintf(aside, sizeof aside, "%s.new-XXXXXX", s->path);
    int fd = mkstemp(aside); /* mode 0600 */
    if (fd < 0)
        return refuse_os(s, MESSAGE_STORE_NOT_MADE, errno);
    close(fd);
    int code = link(aside, s->path), number = errno;
    unlink(aside);
    return code == 0 || number == EEXIST ? ERR_OK : refuse_os(s, MESSAGE_STORE_NOT_MADE, number);
}

/* Makes folder and empty file when there is nothing yet. */
static enum err
make_place(struct store *s, unsigned flags)
{
    char folder[STORE_PATH_MAX];
    struct stat st;

    if (stat(s->path, &st) == 0)
        return S_ISREG(st.st_mode) ? ERR_OK : refuse(s, ERR_FORMAT, MESSAGE_STORE_IS_NO_FILE);
    /* What may not be looked at is not "not there". ENOTDIR and the like are told better by the attempt to make the
     * folder. */
    if ((flags & (STORE_READ_ONLY | STORE_MUST_EXIST)) != 0)
        return errno == ENOENT ? refuse(s, ERR_GONE, MESSAGE_STORE_IS_NOT_THERE)
                               : refuse_os(s, MESSAGE_STORE_NOT_READ, errno);
    fileio_folder_of(folder, sizeof folder, s->path);
    const enum err err = fileio_make_folder(folder, &s->why);
    return err == ERR_OK ? make_file(s) : err;
}

/* WAL needs two more files beside the store, so the folder must be writable too. */
static bool
folder_is_writable(const struct store *s)
{
    char folder[STORE_PATH_MAX];

    fileio_folder_of(folder, sizeof folder, s->path);
    return access(folder, W_OK) == 0;
}

/* As a URI: a store in a folder that can't be written to has no place for its WAL index, and is read as
 * immutable, which is safe as long as nobody else can write it either. */
static enum err
connect_db(struct store *s, unsigned flags)
{
    char uri[3 * STORE_PATH_MAX + 32] = "file:";
    bool is_immutable = (flags & STORE_READ_ONLY) != 0 && !folder_is_writable(s);
    size_t n = strlen(uri);

    for (const char *p = s->path; *p != '\0'; p++) {
        if (strchr("%?#", *p) != NULL)
            n += (size_t) snprintf(uri + n, sizeof uri - n, "%%%02X", (unsigned) (unsigned char) *p);
        else
            uri[n++] = *p;
    }
    uri[n] = '\0';
    str_append(uri, sizeof uri, is_immutable ? "?immutable=1" : "");
    int code =
        sqlite3_open_v2(uri, &s->db,
                        ((flags & STORE_READ_ONLY) != 0 ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE) |
                            SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX,
                        NULL);
    if (code != SQLITE_OK)
        return sql_failed_with(s, N_("can't open"), code);
    sqlite3_extended_result_codes(s->db, 1);
    sqlite3_busy_timeout(s->db, STORE_BUSY_MS);
    sqlite3_db_config(s->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, (int *) NULL);
    if ((flags & STORE_READ_ONLY) == 0 && (sqlite3_db_readonly(s->db, "main") == 1 || !folder_is_writable(s)))
        return refuse(s, ERR_OS, MESSAGE_STORE_IS_READ_ONLY);
    return ERR_OK;
}

/* What a power cut broke off, SQLite takes back as it first reads: until then the file's own bytes say nothing, not even in a
 * store that was just being made. */
static bool
is_broken_off(const struct store *s)
{
    char journal[STORE_PATH_MAX + 16];

    snprintf(journal, sizeof journal, "%s-journal", s->path);
    return access(journal, F_OK) == 0;
}

/* Judges by the first bytes, read through SQLite's own handle of the file. ERR_OK also for an empty file, one whose
 * last write was broken off, and where a fresh store's header may still be in the write-ahead log (both numbers 0): SQLite is asked again later. */
static enum err
judge_header(struct store *s, int64_t *size)
{
    unsigned char header[HEADER_LEN];
    sqlite3_file *file = NULL;
    sqlite3_int64 n_bytes = 0;

    int code = sqlite3_file_control(s->db, "main", SQLITE_FCNTL_FILE_POINTER, &file);
    if (code == SQLITE_OK && (file == NULL || file->pMethods == NULL))
        code = SQLITE_CANTOPEN;
    if (code == SQLITE_OK)
        code = file->pMethods->xFileSize(file, &n_bytes);
    *size = (int64_t) n_bytes;
    if (code == SQLITE_OK && is_broken_off(s))
        return ERR_OK;
    if (code == SQLITE_OK && n_bytes > 0 && n_bytes < HEADER_LEN)
        return refuse_damaged(s);
    if (code == SQLITE_OK && n_bytes > 0)
        code = file->pMethods->xRead(file, header, HEADER_LEN, 0);
    if (code != SQLITE_OK)
        return sql_failed_with(s, N_("can't read"), code);
    if (n_bytes == 0)
        return ERR_OK;
    if (memcmp(header, "SQLite format 3", 16) != 0)
        return refuse_damaged(s);
    uint32_t id = big_endian_32(header + 68);
    if (id != 0 && id != SCHEMA_APPLICATION_ID)
        return refuse(s, ERR_FORMAT, MESSAGE_STORE_IS_ANOTHERS);
    if (id == SCHEMA_APPLICATION_ID && big_endian_32(header + 60) > SCHEMA_VERSION)
        return refuse(s, ERR_UNSUPPORTED, MESSAGE_STORE_IS_NEWER);
    return ERR_OK;
}

/* Asks SQLite itself what the store is. */
static enum err
judge_content(struct store *s, unsigned flags, int64_t size, int64_t *version)
{
    int64_t id = 0, n_tables = 0;
    enum err err = sql_get_int(s, "PRAGMA application_id", &id, N_("can't read"));

    if (err == ERR_OK)
        err = sql_get_int(s, "PRAGMA user_version", version, N_("can't read"));
    if (err == ERR_OK)
        err = sql_get_int(s, "SELECT count(*) FROM sqlite_schema", &n_tables, N_("can't read"));
    if (err == ERR_FORMAT)
        return refuse_damaged(s);
    if (err != ERR_OK)
        return err;
    if (id != SCHEMA_APPLICATION_ID && (id != 0 || *version != 0 || n_tables != 0))
        return refuse(s, ERR_FORMAT, MESSAGE_STORE_IS_ANOTHERS);
    if (*version > SCHEMA_VERSION)
        return refuse(s, ERR_UNSUPPORTED, MESSAGE_STORE_IS_NEWER);
    if (*version < SCHEMA_VERSION && (flags & STORE_READ_ONLY) != 0)
        return refuse(s, ERR_UNSUPPORTED, MESSAGE_STORE_IS_OLDER);
    err = store_trust(s, *version);
    if (err != ERR_OK || (flags & STORE_UNCHECKED) != 0 || size > CHECK_MAX_BYTES)
        return err;
    sqlite3_stmt *st;
    err = sql_prepare(s, &st, "PRAGMA quick_check(1)", N_("can't check"));
    if (err == ERR_OK) {
        err = sql_next(s, st, N_("can't check"));
        if (err == ERR_OK && strcmp(sql_word(st, 0), "ok") != 0)
            err = ERR_FORMAT;
        sql_end(st);
    }
    return err == ERR_FORMAT ? refuse_damaged(s) : err;
}

static enum err
set_up(struct store *s, unsigned flags, int64_t version)
{
    bool is_current;
    enum err err = sql_exec(
        s, "PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON; PRAGMA synchronous = FULL", N_("can't set up"));

    if (err != ERR_OK || (flags & STORE_READ_ONLY) != 0)
        return err;
    err = sql_exec(s, "PRAGMA journal_mode = WAL", N_("can't set up"));
    if (err == ERR_OK)
        err = store_is_up_to_date(s, version, &is_current);
    if (err == ERR_OK && !is_current)
        err = store_migrate(s, version, (flags & STORE_IS_A_COPY) != 0);
    if (err != ERR_OK)
        return err;
    sqlite3_db_config(s->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 0, (int *) NULL);
    /* Whatever mode a copied file came with. Not ours to change? Then its owner has decided. */
    (void) chmod(s->path, 0600);
    return ERR_OK;
}

enum err
store_find_path(struct store *s, const char *path)
{
    char folder[STORE_PATH_MAX];
    enum err err;

    if (path != NULL) {
        if (str_copy(s->path, sizeof s->path, path))
            return ERR_OK;
        message_tell(&s->why, MESSAGE_STORE_PATH_TOO_LONG, message_path(path));
        return ERR_USAGE;
    }
    err = fileio_data_folder(folder, sizeof folder, &s->why);
    return err != ERR_OK ? err : fileio_join(s->path, sizeof s->path, folder, STORE_FILE_NAME, &s->why);
}

enum err
store_open(struct store *s, const char *path, unsigned flags)
{
    int64_t size = 0, version = 0;
    enum err err;

    memset(s, 0, sizeof *s);
    err = store_find_path(s, path);
    if (err == ERR_OK)
        err = make_place(s, flags);
    if (err == ERR_OK)
        err = connect_db(s, flags);
    if (err == ERR_OK)
        err = judge_header(s, &size);
    if (err == ERR_OK)
        err = judge_content(s, flags, size, &version);
    if (err == ERR_OK)
        err = set_up(s, flags, version);
    if (err == ERR_OK && (flags & STORE_UNCHECKED) == 0)
        store_warn_folder(s);
    if (err != ERR_OK)
        store_close(s);
    else
        place_learn(s);
    return err;
}

void
store_close(struct store *s)
{
    sqlite3_finalize(s->put_step);
    sqlite3_finalize(s->put_measured_step);
    s->put_step = s->put_measured_step = NULL;
    /* Every other statement is ended where it was made. */
    int code = sqlite3_close(s->db);
    assert(code == SQLITE_OK);
    (void) code;
    s->db = NULL;
}
