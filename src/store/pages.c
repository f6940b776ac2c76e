#include "store/pages.h"

#include "base/fileio.h"
#include "base/str.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define NAME_MAX_LEN 64

static void
name_of(int64_t visit_id, const char *code, char out[NAME_MAX_LEN])
{
    if (visit_id != 0)
        snprintf(out, NAME_MAX_LEN, "visit-%lld.pdf", (long long) visit_id);
    else
        snprintf(out, NAME_MAX_LEN, "course-%.*s.pdf", STORE_CODE_MAX, code);
}

static bool
find_folder(const struct store *s, char out[STORE_PATH_MAX])
{
    return fileio_beside(out, STORE_PATH_MAX, s->path, "pages");
}

static enum err
join(const struct store *s, const char *name, char path[STORE_PATH_MAX])
{
    return find_folder(s, path) && str_append(path, STORE_PATH_MAX, "/") && str_append(path, STORE_PATH_MAX, name) ? ERR_OK
                                                                                                                 : ERR_USAGE;
}

enum err
pages_path(struct store *s, int64_t visit_id, const char *code, char path[STORE_PATH_MAX])
{
    char folder[STORE_PATH_MAX], name[NAME_MAX_LEN];
    name_of(visit_id, code, name);
    if (!find_folder(s, folder) || join(s, name, path) != ERR_OK) {
        message_tell(&s->why, MESSAGE_PAGES_PATH_TOO_LONG, message_path(s->path));
        return ERR_USAGE;
    }
    return fileio_make_folder(folder, &s->why);
}

/* Also of one that was never finished. */
static bool
is_page(const char *entry, const char *name)
{
    const size_t len = strlen(name);
    return strcmp(entry, name) == 0 || (entry[0] == '.' && strncmp(entry + 1, name, len) == 0 &&
                                        str_begins_with(entry + 1 + len, ".aside-"));
}

static bool
is_owned(const char *entry, const struct pages_owner *o)
{
    char name[NAME_MAX_LEN];
    name_of(0, o->code, name);
    bool is_theirs = is_page(entry, name);
    for (int i = 0; i < o->n_visits && !is_theirs; i++) {
        name_of(o->visit_id[i], "", name);
        is_theirs = is_page(entry, name);
    }
    return is_theirs;
}

enum err
pages_of(struct store *s, const struct pages_owner *owner, bool is_removed, int *n)
{
    char folder[STORE_PATH_MAX];
    enum err err = ERR_OK;
    *n = 0;
    DIR *d = find_folder(s, folder) ? opendir(folder) : NULL;
    if (!d)
        return ERR_OK; /* nothing was ever printed */
    for (struct dirent *e; err == ERR_OK && (e = readdir(d)) != NULL;) {
        if (!is_owned(e->d_name, owner))
            continue;
        if (is_removed && unlinkat(dirfd(d), e->d_name, 0) != 0 && errno != ENOENT) {
            message_tell(&s->why, MESSAGE_PAGES_NOT_REMOVED, e->d_name, message_path(folder), message_errno(errno));
            err = ERR_OS;
        }
        *n += e->d_name[0] != '.'; /* half a page is none to a person */
    }
    if (is_removed)
        (void) fsync(dirfd(d)); /* else a power cut brings them back */
    closedir(d);
    return err;
}

void
pages_follow(const struct store *s, const char *from, const char *to)
{
    char old_name[NAME_MAX_LEN], new_name[NAME_MAX_LEN], old_path[STORE_PATH_MAX], new_path[STORE_PATH_MAX];
    name_of(0, from, old_name);
    name_of(0, to, new_name);
    if (join(s, old_name, old_path) == ERR_OK && join(s, new_name, new_path) == ERR_OK)
        (void) rename(old_path, new_path); /* it is printed anew at any time */
}
