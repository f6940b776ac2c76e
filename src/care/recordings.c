#include "care/recordings.h"

#include "base/fileio.h"
#include "base/places.h"
#include "base/str.h"
#include "care/next_visit.h"
#include "coach/plan_file.h"
#include "store/names.h"
#include "store/running.h"
#include "store/sql.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* ------------------------------------------------------------------ names and places */

void
recordings_name(int64_t visit_id, int64_t started_utc_ms, char out[RECORDINGS_NAME_MAX])
{
    snprintf(out, RECORDINGS_NAME_MAX, "visit-%" PRId64 "-%" PRId64 ".rec", visit_id, started_utc_ms);
}

/* False: none of ours. The name made anew must be the same, so that nothing else is ever taken for one. */
static bool
read_name(const char *name, int64_t *visit_id, int64_t *started_utc_ms)
{
    char again[RECORDINGS_NAME_MAX];
    if (sscanf(name, "visit-%" SCNd64 "-%" SCNd64 ".rec", visit_id, started_utc_ms) != 2)
        return false;
    recordings_name(*visit_id, *started_utc_ms, again);
    return *visit_id > 0 && strcmp(name, again) == 0;
}

static enum err
find_folder(struct store *s, char out[STORE_PATH_MAX])
{
    if (fileio_beside(out, STORE_PATH_MAX - RECORDINGS_NAME_MAX - 1, s->path, RECORDINGS_FOLDER))
        return ERR_OK;
    message_tell(&s->why, MESSAGE_RECORDINGS_PATH_TOO_LONG, message_path(s->path));
    return ERR_USAGE;
}

static enum err
path_of(struct store *s, const struct store_visit *v, char path[STORE_PATH_MAX])
{
    char name[RECORDINGS_NAME_MAX];
    const enum err err = find_folder(s, path);
    recordings_name(v->id, v->started_utc_ms, name);
    if (err != ERR_OK)
        return err;
    str_append(path, STORE_PATH_MAX, "/");
    str_append(path, STORE_PATH_MAX, name);
    return ERR_OK;
}

enum err
recordings_path(struct store *s, const struct store_visit *v, char path[STORE_PATH_MAX])
{
    char folder[STORE_PATH_MAX];
    enum err err = find_folder(s, folder);
    if (err == ERR_OK)
        err = fileio_make_folder(folder, &s->why);
    return err == ERR_OK ? path_of(s, v, path) : err;
}

enum err
recordings_find(struct store *s, const struct store_visit *v, char path[STORE_PATH_MAX], int64_t *n_bytes)
{
    struct stat st;
    const enum err err = path_of(s, v, path);
    if (err != ERR_OK)
        return err;
    if (stat(path, &st) != 0 || !S_ISREG(st.st_mode)) {
        message_init(&s->why, MESSAGE_NONE);
        return ERR_GONE;
    }
    *n_bytes = (int64_t) st.st_size;
    return ERR_OK;
}

int64_t
recordings_free_bytes(const struct store *s)
{
    return fileio_free_bytes(s->path);
}

/* ------------------------------------------------------------------ what there is */

static int
older_first(const void *a, const void *b)
{
    const struct recordings_one *x = a, *y = b;
    if (x->started_utc_ms != y->started_utc_ms)
        return x->started_utc_ms < y->started_utc_ms ? -1 : 1;
    return (x->visit_id > y->visit_id) - (x->visit_id < y->visit_id);
}

static enum err
add_one(struct store *s, struct recordings *r, int *cap, const struct recordings_one *one)
{
    if (r->n == *cap) {
        const int more = *cap < 64 ? 64 : *cap * 2;
        struct recordings_one *grown = realloc(r->one, (size_t) more * sizeof *grown);
        if (!grown) {
            message_init(&s->why, MESSAGE_RECORDINGS_NO_MEMORY);
            return ERR_MEMORY;
        }
        r->one = grown;
        *cap = more;
    }
    r->one[r->n++] = *one;
    r->n_bytes += one->n_bytes;
    return ERR_OK;
}

static enum err
read_folder(struct store *s, struct recordings *r)
{
    char folder[STORE_PATH_MAX];
    int cap = 0;
    enum err err = find_folder(s, folder);
    DIR *d = err == ERR_OK ? opendir(folder) : NULL;
    if (!d && err == ERR_OK && errno != ENOENT) {
        message_tell(&s->why, MESSAGE_RECORDINGS_NOT_LISTED, message_path(folder), message_errno(errno));
        return ERR_OS;
    }
    for (struct dirent *e; d && err == ERR_OK && (e = readdir(d)) != NULL;) {
        struct recordings_one one = { .n_bytes = 0 };
        struct stat st;
        if (!read_name(e->d_name, &one.visit_id, &one.started_utc_ms) ||
            fstatat(dirfd(d), e->d_name, &st, AT_SYMLINK_NOFOLLOW) != 0 || !S_ISREG(st.st_mode))
            continue;
        str_copy(one.name, sizeof one.name, e->d_name);
        one.n_bytes = (int64_t) st.st_size;
        err = add_one(s, r, &cap, &one);
    }
    if (d)
        closedir(d);
    return err;
}

/* The course that a runner is in: the plan of the newest visit that has one, unless the course is over. A plan that
 * can't be read any more counts as open: rather a recording too many. */
static enum err
is_course_open(struct store *s, int64_t runner_id, const char *plan_id, bool *is_open)
{
    struct plan_file *plan = malloc(sizeof *plan);
    struct next_visit next;
    char path[PLACES_PATH_MAX];
    struct message why;
    enum err err = ERR_OK;
    *is_open = true;
    if (!plan) {
        message_init(&s->why, MESSAGE_RECORDINGS_NO_PLAN_MEMORY);
        return ERR_MEMORY;
    }
    if (places_find("plans", plan_id, path, sizeof path, &why) == ERR_OK && plan_file_load(plan, path, &why) == ERR_OK &&
        (err = next_visit_find(s, runner_id, plan, &next)) == ERR_OK)
        *is_open = next.visit != 0;
    free(plan);
    return err;
}

/* Runner by runner, remembered: a runner has many recordings and one course. */
struct course {
    int64_t runner_id;
    bool is_open;
    char plan[64];
};

static enum err
find_course(struct store *s, int64_t runner_id, struct course *c)
{
    sqlite3_stmt *st;
    if (c->runner_id == runner_id)
        return ERR_OK;
    *c = (struct course){ .runner_id = runner_id };
    enum err err = sql_prepare(s, &st, "SELECT plan FROM visit WHERE runner_id = ?1 AND plan <> '' AND course_visit > 0"
                               " ORDER BY id DESC LIMIT 1", N_("can't read the courses"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, runner_id);
    err = sql_next(s, st, N_("can't read the courses"));
    if (err == ERR_OK)
        sql_copy(st, 0, c->plan, sizeof c->plan);
    sql_end(st);
    if (err == ERR_OK)
        return is_course_open(s, runner_id, c->plan, &c->is_open);
    return err == ERR_GONE ? ERR_OK : err;
}

static enum err
know_one(struct store *s, struct recordings_one *one, struct course *course)
{
    sqlite3_stmt *st;
    char plan[64] = "";
    bool has_baseline = false;
    enum err err = sql_prepare(s, &st, "SELECT runner_id, CASE WHEN course_visit > 0 THEN plan ELSE '' END,"
                               " EXISTS (SELECT 1 FROM block WHERE visit_id = visit.id AND kind = ?3)"
                               " FROM visit WHERE id = ?1 AND started_utc_ms = ?2", N_("can't read the visits"));
    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, one->visit_id);
    sql_bind_int(st, 2, one->started_utc_ms);
    sql_bind_word(st, 3, names_block(VERDICT_BLOCK_BASELINE));
    err = sql_next(s, st, N_("can't read the visits"));
    if (err == ERR_OK) {
        one->has_visit = true;
        one->runner_id = sql_int(st, 0);
        sql_copy(st, 1, plan, sizeof plan);
        has_baseline = sql_int(st, 2) != 0;
    }
    sql_end(st);
    if (err != ERR_OK)
        return err == ERR_GONE ? ERR_OK : err;
    err = find_course(s, one->runner_id, course);
    one->is_kept_last = has_baseline || (course->is_open && plan[0] && strcmp(plan, course->plan) == 0);
    return err;
}

enum err
recordings_read(struct store *s, struct recordings *out)
{
    struct course course = { .runner_id = 0 };
    *out = (struct recordings){ .one = NULL };
    enum err err = read_folder(s, out);
    if (out->n > 0)
        qsort(out->one, (size_t) out->n, sizeof *out->one, older_first);
    for (int i = 0; i < out->n && err == ERR_OK; i++)
        err = know_one(s, &out->one[i], &course);
    if (err != ERR_OK)
        recordings_free(out);
    return err;
}

void
recordings_free(struct recordings *r)
{
    free(r->one);
    *r = (struct recordings){ .one = NULL };
}

/* ------------------------------------------------------------------ taking away */

/* A folder that keeps a name which is gone would bring the file back after a power cut. */
static enum err
remove_from(struct store *s, int folder_fd, const char *name)
{
    if (unlinkat(folder_fd, name, 0) == 0 || errno == ENOENT)
        return ERR_OK;
    message_tell(&s->why, MESSAGE_RECORDINGS_NOT_REMOVED, name, message_path(s->path), message_errno(errno));
    return ERR_OS;
}

static enum err
open_folder(struct store *s, int *fd)
{
    char folder[STORE_PATH_MAX];
    const enum err err = find_folder(s, folder);
    *fd = err == ERR_OK ? open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC) : -1;
    if (err != ERR_OK || *fd >= 0 || errno == ENOENT)
        return err;
    message_tell(&s->why, MESSAGE_RECORDINGS_NOT_OPENED, message_path(folder), message_errno(errno));
    return ERR_OS;
}

static void
close_synced(int fd)
{
    if (fd < 0)
        return;
    (void) fsync(fd); /* not every file system can */
    close(fd);
}

enum err
recordings_of(struct store *s, const struct recordings_visit *visit, int n_visits, bool is_removed, int *n, int64_t *n_bytes)
{
    char name[RECORDINGS_NAME_MAX];
    struct stat st;
    int fd;
    enum err err = open_folder(s, &fd);
    *n = 0;
    *n_bytes = 0;
    for (int i = 0; i < n_visits && fd >= 0 && err == ERR_OK; i++) {
        recordings_name(visit[i].id, visit[i].started_utc_ms, name);
        if (fstatat(fd, name, &st, AT_SYMLINK_NOFOLLOW) != 0)
            continue;
        if (is_removed)
            err = remove_from(s, fd, name);
        *n += err == ERR_OK;
        *n_bytes += err == ERR_OK ? (int64_t) st.st_size : 0;
    }
    close_synced(fd);
    return err;
}

/* What of this store is left, and goes while it is too much. */
struct left {
    int64_t n, n_bytes;
};

static bool
is_too_much(const struct left *l, const struct settings *rule)
{
    return l->n > rule->keep_visits || (double) l->n_bytes > rule->keep_gb * 1e9;
}

static enum err
tidy_class(struct store *s, struct recordings *r, const struct settings *rule, struct left *left, bool is_kept_last,
           struct recordings_told *told)
{
    int fd;
    enum err err = open_folder(s, &fd);
    for (int i = 0; i < r->n && fd >= 0 && err == ERR_OK && is_too_much(left, rule); i++) {
        const struct recordings_one *one = &r->one[i];
        if (!one->has_visit || one->is_kept_last != is_kept_last || running_is(s->path, one->visit_id))
            continue;
        err = remove_from(s, fd, one->name);
        if (err != ERR_OK)
            break;
        left->n--;
        left->n_bytes -= one->n_bytes;
        told->oldest = told->n == 0 || one->visit_id < told->oldest ? one->visit_id : told->oldest;
        told->newest = told->n == 0 || one->visit_id > told->newest ? one->visit_id : told->newest;
        told->n++;
        told->n_kept_last += is_kept_last;
        told->n_bytes += one->n_bytes;
    }
    close_synced(fd);
    return err;
}

enum err
recordings_tidy(struct store *s, const struct settings *rule, struct recordings_told *told)
{
    struct recordings r;
    struct left left = { 0, 0 };
    *told = (struct recordings_told){ .n = 0 };
    enum err err = recordings_read(s, &r);
    if (err != ERR_OK)
        return err;
    for (int i = 0; i < r.n; i++) {
        left.n += r.one[i].has_visit;
        left.n_bytes += r.one[i].has_visit ? r.one[i].n_bytes : 0;
    }
    for (int is_kept_last = 0; is_kept_last < 2 && err == ERR_OK && is_too_much(&left, rule); is_kept_last++)
        err = tidy_class(s, &r, rule, &left, is_kept_last, told);
    recordings_free(&r);
    return err;
}
