#include "base/message.h"
#include "base/places.h"

#include "base/str.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct folders {
    char path[PLACES_N][PLACES_PATH_MAX];
    int n, n_own;
};

static void
add(struct folders *f, const char *head, const char *middle, const char *kind)
{
    struct stat st;
    if (f->n == PLACES_N)
        return;
    const int n = snprintf(f->path[f->n], PLACES_PATH_MAX, "%s%s/%s", head, middle, kind);
    if (n > 0 && n < PLACES_PATH_MAX && stat(f->path[f->n], &st) == 0 && S_ISDIR(st.st_mode))
        f->n++;
}

bool
places_program_folder(char *out, size_t cap)
{
    const ssize_t n = readlink("/proc/self/exe", out, cap - 1);
    if (n <= 0)
        return false;
    out[n] = '\0';
    char *slash = strrchr(out, '/');
    if (slash)
        *slash = '\0';
    return slash != NULL;
}

static void
find_folders(struct folders *f, const char *kind)
{
    /* From the program's folder: build/, build/<flags>/, and deeper for tests; then an installed tree. */
    static const char *const beside[] = { "/../profiles", "/../../profiles", "/../../../profiles",
                                          "/../../../../profiles", "/../share/underfoot/profiles" };
    const char *xdg = getenv("XDG_CONFIG_HOME"), *home = getenv("HOME"), *set = getenv("UNDERFOOT_PROFILES");
    char own[PLACES_PATH_MAX];
    f->n = 0;
    if (xdg && xdg[0] == '/')
        add(f, xdg, "/underfoot", kind);
    else if (home && home[0] == '/')
        add(f, home, "/.config/underfoot", kind);
    f->n_own = f->n;
    if (set && set[0])
        add(f, set, "", kind);
    else if (places_program_folder(own, sizeof own))
        for (size_t i = 0; i < sizeof beside / sizeof *beside && f->n == f->n_own; i++)
            add(f, own, beside[i], kind);
}

static bool
is_there(const char *folder, const char *name, char *path, size_t cap)
{
    const int n = snprintf(path, cap, "%s/%s.ini", folder, name);
    return n > 0 && (size_t) n < cap && access(path, F_OK) == 0;
}

void
places_list(const char *kind, bool (*fn)(void *context, const char *name, const char *path, bool is_own),
            void *context)
{
    struct folders f;
    char path[PLACES_PATH_MAX + 300], hidden[PLACES_PATH_MAX + 300], name[256];
    bool is_going_on = true;
    find_folders(&f, kind);
    for (int i = 0; i < f.n && is_going_on; i++) {
        DIR *d = opendir(f.path[i]);
        const struct dirent *entry;
        while (d && is_going_on && (entry = readdir(d))) {
            if (!str_ends_with(entry->d_name, ".ini") || entry->d_name[0] == '.')
                continue;
            snprintf(name, sizeof name, "%.*s", (int) strlen(entry->d_name) - 4, entry->d_name);
            bool is_hidden = false;
            for (int k = 0; k < i && !is_hidden; k++)
                is_hidden = is_there(f.path[k], name, hidden, sizeof hidden);
            if (!is_hidden && is_there(f.path[i], name, path, sizeof path))
                is_going_on = fn(context, name, path, i < f.n_own);
        }
        if (d)
            closedir(d);
    }
}

enum err
places_own(const char *kind, char *out, size_t cap, struct message *why)
{
    const char *xdg = getenv("XDG_CONFIG_HOME"), *home = getenv("HOME");
    const bool has_xdg = xdg && xdg[0] == '/';
    if (!has_xdg && !(home && home[0] == '/')) {
        message_init(why, MESSAGE_PLACES_NO_OWN);
        return ERR_USAGE;
    }
    const int n = snprintf(out, cap, "%s%s/underfoot/%s", has_xdg ? xdg : home, has_xdg ? "" : "/.config", kind);
    if (n > 0 && (size_t) n < cap)
        return ERR_OK;
    message_init(why, MESSAGE_PLACES_OWN_TOO_LONG);
    return ERR_USAGE;
}

static bool
name_one(void *context, const char *name, const char *path, bool is_own)
{
    char *out = context;
    (void) path;
    (void) is_own;
    return (out[0] == '\0' || str_append(out, 300, ", ")) && str_append(out, 300, name);
}

enum err
places_find(const char *kind, const char *name, char *path, size_t cap, struct message *why)
{
    struct folders f;
    char names[300] = "";
    if (strchr(name, '/') || str_ends_with(name, ".ini")) {
        if (str_copy(path, cap, name))
            return ERR_OK;
        message_tell(why, MESSAGE_PATH_TOO_LONG, message_path(name));
        return ERR_USAGE;
    }
    find_folders(&f, kind);
    for (int i = 0; i < f.n; i++)
        if (is_there(f.path[i], name, path, cap))
            return ERR_OK;
    places_list(kind, name_one, names);
    const bool is_plan = strcmp(kind, "plans") == 0;
    if (names[0])
        message_tell(why, is_plan ? MESSAGE_PLACES_NO_PLAN : MESSAGE_PLACES_NO_SENSOR, name, names);
    else
        message_tell(why, is_plan ? MESSAGE_PLACES_NO_PLANS : MESSAGE_PLACES_NO_SENSORS, name);
    return ERR_GONE;
}
