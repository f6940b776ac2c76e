#include "care/forgotten.h"

#include "base/fileio.h"
#include "base/str.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#define LINE_MAX_LEN 320

static const char *const WORDS[] = { "random", "sealed", "unfinished" };
enum { N_KINDS = 3 };

static enum err
refuse(struct message *why, const char *path)
{
    message_tell(why, MESSAGE_FORGOTTEN_NOT_WRITTEN, message_path(path));
    return ERR_MEMORY;
}

static enum err
refuse_os(struct message *why, const char *path, int number)
{
    message_tell(why, MESSAGE_FORGOTTEN_NOT_READ, message_path(path), message_errno(number));
    return ERR_OS;
}

static bool
add(struct forgotten *f, enum forgotten_kind kind, const char *what, const char *day)
{
    struct forgotten_one *more = realloc(f->one, ((size_t) f->n + 1) * sizeof *more);
    if (!more)
        return false;
    f->one = more;
    f->one[f->n] = (struct forgotten_one){ .kind = kind };
    str_copy(f->one[f->n].what, sizeof f->one->what, what);
    str_copy(f->one[f->n].day, sizeof f->one->day, day);
    f->n++;
    return true;
}

/* False: the line is none of the list's. */
static bool
read_line(struct forgotten *f, const char *line)
{
    char word[16], what[IDENTITY_SALT_MAX], day[FORGOTTEN_DAY_MAX] = "";
    const int n = sscanf(line, "%15s %191s %15s", word, what, day);
    if (n < 1 || line[0] == '#')
        return true;
    if (n == 2 && strcmp(word, "salt") == 0)
        return str_copy(f->salt, sizeof f->salt, what);
    for (int k = 0; n == 3 && k < N_KINDS; k++)
        if (strcmp(word, WORDS[k]) == 0)
            return strlen(what) < IDENTITY_SEAL_MAX && (k == FORGOTTEN_IS_SEALED || identity_is_valid(what)) &&
                   add(f, (enum forgotten_kind) k, what, day);
    return false;
}

enum err
forgotten_load(const char *store_path, struct forgotten *f, struct message *why)
{
    char line[LINE_MAX_LEN];
    *f = (struct forgotten){ .n = 0 };
    if (!fileio_beside(f->path, sizeof f->path, store_path, FORGOTTEN_FILE_NAME))
        return refuse_os(why, store_path, ENAMETOOLONG);
    FILE *in = fopen(f->path, "re");
    if (!in)
        return errno == ENOENT ? ERR_OK : refuse_os(why, f->path, errno);
    enum err err = ERR_OK;
    for (int number = 1; err == ERR_OK && fgets(line, sizeof line, in); number++)
        if (!read_line(f, line)) {
            message_tell(why, MESSAGE_FORGOTTEN_IS_NO_LINE, message_place(f->path, number));
            err = ERR_FORMAT;
        }
    if (err == ERR_OK && ferror(in))
        err = refuse_os(why, f->path, EIO);
    fclose(in);
    if (err != ERR_OK)
        forgotten_free(f);
    return err;
}

enum err
forgotten_save(const struct forgotten *f, struct message *why)
{
    struct fileio_aside a;
    enum err err = fileio_aside_open(&a, f->path, 0600, why);
    if (err == ERR_OK) {
        fprintf(a.f, "# Runners who were forgotten here: no restore and no import brings them back. Nothing here says who they were.\n");
        if (f->salt[0])
            fprintf(a.f, "salt %s\n", f->salt);
        for (int i = 0; i < f->n; i++)
            fprintf(a.f, "%s %s %s\n", WORDS[f->one[i].kind], f->one[i].what, f->one[i].day);
        err = fileio_aside_commit(&a, why);
    }
    return err;
}

void
forgotten_free(struct forgotten *f)
{
    free(f->one);
    f->one = NULL;
    f->n = 0;
}

/* The place of an entry; -1: none. */
static int
find(const struct forgotten *f, enum forgotten_kind kind, const char *what)
{
    for (int i = 0; i < f->n; i++)
        if (f->one[i].kind == kind && strcmp(f->one[i].what, what) == 0)
            return i;
    return -1;
}

/* What stays of an identifier: itself, or its seal. */
static enum err
mark_of(const struct forgotten *f, const char *uuid, enum forgotten_kind *kind, char out[IDENTITY_SEAL_MAX], struct message *why)
{
    *kind = identity_is_random(uuid) ? FORGOTTEN_IS_RANDOM : FORGOTTEN_IS_SEALED;
    str_copy(out, IDENTITY_SEAL_MAX, uuid);
    return *kind == FORGOTTEN_IS_RANDOM || identity_seal(uuid, f->salt, out) ? ERR_OK
                                                                            : refuse(why, f->path);
}

enum err
forgotten_knows(const struct forgotten *f, const char *uuid, bool *is, struct message *why)
{
    char mark[IDENTITY_SEAL_MAX];
    enum forgotten_kind kind;
    bool has_sealed = false;
    for (int i = 0; i < f->n && !has_sealed; i++)
        has_sealed = f->one[i].kind == FORGOTTEN_IS_SEALED;
    *is = find(f, FORGOTTEN_IS_UNFINISHED, uuid) >= 0;
    if (*is || (!identity_is_random(uuid) && !has_sealed))
        return ERR_OK; /* the seal takes its time */
    const enum err err = mark_of(f, uuid, &kind, mark, why);
    *is = err == ERR_OK && find(f, kind, mark) >= 0;
    return err;
}

enum err
forgotten_begin(struct forgotten *f, const char *uuid, const char *day, struct message *why)
{
    if (find(f, FORGOTTEN_IS_UNFINISHED, uuid) >= 0)
        return ERR_OK;
    return add(f, FORGOTTEN_IS_UNFINISHED, uuid, day) ? forgotten_save(f, why) : refuse(why, f->path);
}

static void
drop(struct forgotten *f, int i)
{
    if (i >= 0)
        f->one[i] = f->one[--f->n];
}

enum err
forgotten_finish(struct forgotten *f, const char *uuid, const char *day, struct message *why)
{
    char mark[IDENTITY_SEAL_MAX];
    enum forgotten_kind kind;
    if (!identity_is_random(uuid) && f->salt[0] == '\0' && !identity_salt(f->salt))
        return refuse(why, f->path);
    const enum err err = mark_of(f, uuid, &kind, mark, why);
    if (err != ERR_OK)
        return err;
    drop(f, find(f, FORGOTTEN_IS_UNFINISHED, uuid));
    if (find(f, kind, mark) < 0 && !add(f, kind, mark, day))
        return refuse(why, f->path);
    return forgotten_save(f, why);
}

enum err
forgotten_undo(struct forgotten *f, const char *uuid, const char *day, struct message *why)
{
    (void) day;
    drop(f, find(f, FORGOTTEN_IS_UNFINISHED, uuid));
    return forgotten_save(f, why);
}
