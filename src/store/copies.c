/* copies.c - names, verifying, making and keeping of copies. */
#include "store/copies.h"

#include "base/fileio.h"
#include "base/str.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { MAX_COPIES_A_DAY = 1000 };

/* Left to the computer itself. */
#define SPARE_BYTES (INT64_C(64) << 20)

static const struct {
    const char *word;
    enum copies_kind kind;
} WORDS[] = {
    { "kept-", COPIES_KEPT },           { "before-", COPIES_BEFORE },     { "damaged-", COPIES_DAMAGED },
    { "copying", COPIES_HALF_MADE },    { "forgetting", COPIES_HALF_MADE }, { "restoring", COPIES_HALF_MADE },
    { "repairing", COPIES_HALF_MADE },  { "keeping", COPIES_HALF_MADE },
};

static bool
is_day(const char *text)
{
    return isdigit((unsigned char) text[0]) && text[strspn(text, "0123456789-")] == '\0';
}

enum copies_kind
copies_kind_of(const char *entry, const char *store_name)
{
    if (!str_begins_with(entry, store_name) || entry[strlen(store_name)] != '.')
        return COPIES_NONE;
    const char *rest = entry + strlen(store_name) + 1;
    /* A name with a log's ending goes with the one that it belongs to. */
    for (size_t i = 0; i < sizeof WORDS / sizeof *WORDS; i++)
        if (str_begins_with(rest, WORDS[i].word) && (WORDS[i].kind >= COPIES_DAMAGED || is_day(rest + strlen(WORDS[i].word))))
            return WORDS[i].kind;
    return rest[0] == 'v' && is_day(rest + 1) ? COPIES_OF_VERSION : COPIES_NONE;
}

enum err
copies_each(struct store *s, enum err (*fn)(void *context, enum copies_kind kind, const char *path), void *context)
{
    char folder[STORE_PATH_MAX], path[STORE_PATH_MAX + 256];
    enum err err = ERR_OK;
    const char *slash = strrchr(s->path, '/');
    fileio_folder_of(folder, sizeof folder, s->path);
    DIR *d = opendir(folder);
    if (!d) {
        message_tell(&s->why, MESSAGE_COPIES_NOT_LOOKED_FOR, message_path(folder), message_errno(errno));
        return ERR_OS;
    }
    for (struct dirent *e; err == ERR_OK && (e = readdir(d)) != NULL;) {
        const enum copies_kind kind = copies_kind_of(e->d_name, slash ? slash + 1 : s->path);
        snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
        if (kind != COPIES_NONE)
            err = fn(context, kind, path);
    }
    closedir(d);
    return err;
}

enum err
copies_today(struct store *s, char day[16])
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT date('now', 'localtime')", N_("can't read"));
    if (err == ERR_OK)
        err = sql_next(s, st, N_("can't read"));
    if (err == ERR_OK)
        sql_copy(st, 0, day, 16);
    sql_end(st);
    return err;
}

enum err
copies_path(struct store *s, const char *word, char path[STORE_PATH_MAX])
{
    char again[8] = "", day[16];
    enum err err = copies_today(s, day);
    if (err != ERR_OK)
        return err;
    for (int i = 1; i < MAX_COPIES_A_DAY; i++) {
        if (i > 1)
            snprintf(again, sizeof again, "-%d", i);
        const int len = snprintf(path, STORE_PATH_MAX, "%s.%s-%s%s", s->path, word, day, again);
        if (len < 0 || len >= STORE_PATH_MAX) {
            message_tell(&s->why, MESSAGE_COPIES_PATH_TOO_LONG, message_path(s->path));
            return ERR_USAGE;
        }
        if (access(path, F_OK) != 0 && errno == ENOENT)
            return ERR_OK;
    }
    message_tell(&s->why, MESSAGE_COPIES_TOO_MANY, MAX_COPIES_A_DAY, message_path(s->path));
    return ERR_OS;
}

enum err
copies_aside(struct store *s, const char *word, char path[STORE_PATH_MAX + 16])
{
    const int len = snprintf(path, STORE_PATH_MAX + 16, "%s.%s", s->path, word);
    if (len > 0 && len < STORE_PATH_MAX)
        return ERR_OK;
    message_tell(&s->why, MESSAGE_COPIES_PATH_TOO_LONG, message_path(s->path));
    return ERR_USAGE;
}

static enum err
first_row_is(struct store *copy, const char *sql, const char *ok, bool *is)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(copy, &st, sql, N_("can't check the copy"));
    if (err != ERR_OK)
        return err;
    err = sql_next(copy, st, N_("can't check the copy"));
    *is = err == ERR_GONE ? ok == NULL : err == ERR_OK && ok != NULL && strcmp(sql_word(st, 0), ok) == 0;
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

/* With references: as well that nothing refers to what is not there. */
static enum err
check_all(struct store *s, const char *path, bool with_references)
{
    struct store copy = { .db = NULL };
    bool is_whole = false, refers = true;
    str_copy(copy.path, sizeof copy.path, path);
    const int code = sqlite3_open_v2(path, &copy.db, SQLITE_OPEN_READONLY, NULL);
    enum err err = code == SQLITE_OK ? ERR_OK : sql_failed_with(&copy, N_("can't read again the copy"), code);
    if (err == ERR_OK)
        err = first_row_is(&copy, "PRAGMA integrity_check(1)", "ok", &is_whole);
    if (err == ERR_OK && with_references)
        err = first_row_is(&copy, "PRAGMA foreign_key_check", NULL, &refers);
    sqlite3_close(copy.db);
    if (err == ERR_OK && is_whole && refers)
        return ERR_OK;
    if (err == ERR_OK)
        message_tell(&copy.why, MESSAGE_COPIES_NOT_WHOLE, message_path(path));
    s->why = copy.why;
    return err == ERR_OK ? ERR_FORMAT : err;
}

enum err
copies_verify(struct store *s, const char *path)
{
    return check_all(s, path, false);
}

enum err
copies_verify_references(struct store *s, const char *path)
{
    return check_all(s, path, true);
}

enum err
copies_sync(struct store *s, const char *path)
{
    const int fd = open(path, O_RDONLY | O_CLOEXEC);
    const bool is_synced = fd >= 0 && fsync(fd) == 0;
    const int number = errno;
    if (fd >= 0)
        close(fd);
    fileio_sync_folder_of(path);
    if (is_synced)
        return ERR_OK;
    message_tell(&s->why, MESSAGE_COPIES_NOT_ON_DISC, message_path(path), message_errno(number));
    return ERR_OS;
}

/* By a second connection: a backup refuses to read through one that holds the write lock. */
enum err
copies_make(struct store *s, const char *path)
{
    struct store reading = { .db = NULL };
    char aside[STORE_PATH_MAX + 16];
    enum err err = copies_aside(s, "copying", aside);
    if (err != ERR_OK)
        return err;
    str_copy(reading.path, sizeof reading.path, s->path);
    const int code = sqlite3_open_v2(s->path, &reading.db, SQLITE_OPEN_READONLY, NULL);
    err = code == SQLITE_OK ? store_copy_to(&reading, aside) : sql_failed_with(&reading, N_("can't copy"), code);
    sqlite3_close(reading.db);
    if (err != ERR_OK)
        s->why = reading.why;
    if (err == ERR_OK)
        err = copies_verify(s, aside);
    if (err == ERR_OK && link(aside, path) != 0) { /* never over what is there */
        message_tell(&s->why, MESSAGE_COPIES_NOT_NAMED, message_path(path), message_errno(errno));
        err = ERR_OS;
    }
    unlink(aside);
    return err == ERR_OK ? copies_sync(s, path) : err;
}

/* ------------------------------------------------------------------ kept after visits */

struct kept {
    char *path[MAX_COPIES_A_DAY];
    int64_t n_bytes[MAX_COPIES_A_DAY];
    int n;
};

static enum err
add_kept(void *context, enum copies_kind kind, const char *path)
{
    struct kept *k = context;
    struct stat st;
    if (kind != COPIES_KEPT || k->n == MAX_COPIES_A_DAY || stat(path, &st) != 0)
        return ERR_OK;
    k->n_bytes[k->n] = (int64_t) st.st_size;
    k->path[k->n] = strdup(path);
    k->n += k->path[k->n] != NULL;
    return ERR_OK;
}

/* The newest day, by name, is never taken. */
static enum err
tidy(struct store *s, const struct settings *rule, int *n_gone)
{
    struct kept k = { .n = 0 };
    int64_t n_bytes = 0;
    enum err err = copies_each(s, add_kept, &k);
    for (int i = 0; i < k.n; i++)
        n_bytes += k.n_bytes[i];
    for (int left = k.n; err == ERR_OK && left > 1 && (left > rule->keep_copies || (double) n_bytes > rule->copies_gb * 1e9); left--) {
        int oldest = -1;
        for (int i = 0; i < k.n; i++)
            if (k.path[i] && (oldest < 0 || strcmp(k.path[i], k.path[oldest]) < 0))
                oldest = i;
        if (oldest < 0)
            break;
        if (unlink(k.path[oldest]) != 0 && errno != ENOENT) {
            message_tell(&s->why, MESSAGE_COPIES_OLD_STAYS, message_path(k.path[oldest]), message_errno(errno));
            err = ERR_OS;
        }
        n_bytes -= k.n_bytes[oldest];
        free(k.path[oldest]);
        k.path[oldest] = NULL;
        (*n_gone)++;
    }
    for (int i = 0; i < k.n; i++)
        free(k.path[i]);
    return err;
}

/* Whether a copy may be made at all: within the rule, and with room on the disc. */
static bool
has_room(struct store *s, const struct settings *rule, struct message *told)
{
    char folder[STORE_PATH_MAX];
    int64_t n_bytes = 0;
    fileio_folder_of(folder, sizeof folder, s->path);
    const int64_t n_free = fileio_free_bytes(folder);
    if (sql_file_bytes(s, &n_bytes) != ERR_OK || n_free < 0)
        return true; /* the attempt tells */
    const bool is_within = (double) n_bytes <= rule->copies_gb * 1e9;
    if (is_within && n_free >= n_bytes + SPARE_BYTES)
        return true;
    if (is_within)
        message_init(told, MESSAGE_COPIES_NO_ROOM);
    else
        message_init(told, MESSAGE_COPIES_TOO_LARGE);
    message_add(told, message_real((double) n_bytes / 1e6, 0, MESSAGE_UNIT_NONE));
    message_add(told, message_real(is_within ? (double) n_free / 1e6 : rule->copies_gb * 1e3, 0, MESSAGE_UNIT_NONE));
    return false;
}

enum err
copies_keep(struct store *s, const struct settings *rule, const struct store_stop *stop, struct message *told)
{
    char aside[STORE_PATH_MAX + 16], path[STORE_PATH_MAX + 32], day[16];
    int n_gone = 0;
    message_init(told, MESSAGE_NONE);
    if (rule->keep_copies == 0 || !has_room(s, rule, told))
        return ERR_OK;
    enum err err = copies_today(s, day);
    if (err == ERR_OK)
        err = copies_aside(s, "keeping", aside);
    snprintf(path, sizeof path, "%s.kept-%s", s->path, day);
    if (err == ERR_OK)
        err = store_copy_until(s, aside, stop);
    if (err == ERR_OK)
        err = copies_verify(s, aside);
    if (err == ERR_OK && rename(aside, path) != 0) {
        message_tell(&s->why, MESSAGE_COPIES_NOT_NAMED, message_path(path), message_errno(errno));
        err = ERR_OS;
    }
    if (err == ERR_OK)
        err = copies_sync(s, path);
    if (err != ERR_OK)
        unlink(aside);
    else
        err = tidy(s, rule, &n_gone);
    if (err == ERR_OK && n_gone > 0) {
        message_init(told, MESSAGE_COPIES_OLD_WENT);
        message_add(told, message_integer(n_gone));
        message_add(told, message_path(path));
    }
    return err;
}
