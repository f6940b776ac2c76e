/* spill_place.c - the folders of spills. */
#include "store/spill_parts.h"

#include "base/fileio.h"
#include "base/str.h"

#include <dirent.h>
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PREFIX "spill-"
#define NOTE "home"

static void
set_base(char out[STORE_PATH_MAX], const char *root, const char *inside, bool is_shared)
{
    char name[64] = "underfoot";
    out[0] = '\0';
    if (!root || root[0] != '/')
        return;
    if (is_shared)
        snprintf(name, sizeof name, "underfoot-%lu", (unsigned long) getuid());
    if (snprintf(out, STORE_PATH_MAX, "%s%s/%s", root, inside, name) >= STORE_PATH_MAX)
        out[0] = '\0';
}

void
spill_base(int i, char out[STORE_PATH_MAX])
{
    const char *state = getenv("XDG_STATE_HOME");
    switch (i) {
    case 0:
        if (state && state[0] == '/')
            set_base(out, state, "", false);
        else
            set_base(out, getenv("HOME"), "/.local/state", false);
        break;
    case 1:
        set_base(out, getenv("XDG_RUNTIME_DIR"), "", false);
        break;
    case 2:
        set_base(out, getenv("TMPDIR"), "", true);
        break;
    case 3:
        set_base(out, "/tmp", "", true);
        break;
    default:
        set_base(out, "/dev/shm", "", true);
        break;
    }
}

/* In a folder that all may write to, somebody else may have been there first. */
static bool
is_ours_alone(const char *folder)
{
    struct stat st;
    return lstat(folder, &st) == 0 && S_ISDIR(st.st_mode) && st.st_uid == getuid() && (st.st_mode & 077) == 0;
}

enum err
spill_make_folder(int i, char out[STORE_PATH_MAX], struct message *why)
{
    char base[STORE_PATH_MAX];
    spill_base(i, base);
    if (!base[0]) {
        message_init(why, MESSAGE_SPILL_NAMES_NO_FOLDER);
        return ERR_GONE;
    }
    enum err err = fileio_make_folder(base, why);
    if (err != ERR_OK)
        return err;
    if (!is_ours_alone(base)) {
        message_tell(why, MESSAGE_SPILL_FOLDER_IS_SHARED, message_path(base));
        return ERR_OS;
    }
    err = fileio_join(out, STORE_PATH_MAX, base, PREFIX "XXXXXX", why);
    if (err == ERR_OK && mkdtemp(out) == NULL) {
        message_tell(why, MESSAGE_SPILL_NO_FOLDER, message_path(base), message_errno(errno));
        err = ERR_OS;
    }
    return err;
}

void
spill_store_path(const char *folder, char out[STORE_PATH_MAX])
{
    str_copy(out, STORE_PATH_MAX, folder);
    str_append(out, STORE_PATH_MAX, "/" STORE_FILE_NAME);
}

enum err
spill_write_note(const char *folder, const struct spill_note *note, struct message *why)
{
    struct fileio_aside file;
    char path[STORE_PATH_MAX];
    enum err err = fileio_join(path, sizeof path, folder, NOTE, why);
    if (err == ERR_OK)
        err = fileio_aside_open(&file, path, 0600, why);
    if (err != ERR_OK)
        return err;
    fprintf(file.f, "made %" PRId64 "\nfirst %" PRId64 "\nwhole %d\ntaken %d\n%s", note->made_utc_ms, note->first_visit,
            note->is_whole, note->is_taken, note->home);
    return fileio_aside_commit(&file, why);
}

bool
spill_read_note(const char *folder, struct spill_note *note)
{
    char path[STORE_PATH_MAX];
    struct message why;
    int is_whole = 0, is_taken = 0;
    struct stat st;
    memset(note, 0, sizeof *note);
    if (fileio_join(path, sizeof path, folder, NOTE, &why) != ERR_OK || lstat(path, &st) != 0 || !S_ISREG(st.st_mode))
        return false;
    FILE *f = fopen(path, "r");
    if (!f)
        return false;
    const bool is = fscanf(f, "made %" SCNd64 "\nfirst %" SCNd64 "\nwhole %d\ntaken %d", &note->made_utc_ms,
                           &note->first_visit, &is_whole, &is_taken) == 4 && fgetc(f) == '\n';
    /* The path goes to the end: a line end may be part of it. */
    note->home[is ? fread(note->home, 1, sizeof note->home - 1, f) : 0] = '\0';
    fclose(f);
    note->is_whole = is_whole != 0;
    note->is_taken = is_taken != 0;
    return is && note->home[0] == '/';
}

/* False: fn said to stop. */
static bool
each_in(const char *base, const char *home, bool (*fn)(void *context, const char *folder, const struct spill_note *note),
        void *context)
{
    char folder[STORE_PATH_MAX];
    struct message why;
    struct spill_note note;
    bool is_going_on = true;
    DIR *d = base[0] && is_ours_alone(base) ? opendir(base) : NULL;
    if (!d)
        return true;
    for (const struct dirent *e; is_going_on && (e = readdir(d)) != NULL;)
        if (str_begins_with(e->d_name, PREFIX) && fileio_join(folder, sizeof folder, base, e->d_name, &why) == ERR_OK &&
            is_ours_alone(folder) && spill_read_note(folder, &note) && strcmp(note.home, home) == 0)
            is_going_on = fn(context, folder, &note);
    closedir(d);
    return is_going_on;
}

void
spill_each(const char *home, bool (*fn)(void *context, const char *folder, const struct spill_note *note), void *context)
{
    char base[SPILL_N_BASES][STORE_PATH_MAX];
    for (int i = 0; i < SPILL_N_BASES; i++) {
        bool is_new = true;
        spill_base(i, base[i]);
        for (int j = 0; j < i; j++)
            is_new = is_new && strcmp(base[i], base[j]) != 0;
        if (is_new && !each_in(base[i], home, fn, context))
            return;
    }
}

bool
spill_has_folder(const char *folder)
{
    char path[STORE_PATH_MAX];
    struct message why;
    bool has = false;
    struct stat st;
    DIR *d = opendir(folder);
    if (!d)
        return false;
    for (const struct dirent *e; !has && (e = readdir(d)) != NULL;)
        has = e->d_name[0] != '.' && fileio_join(path, sizeof path, folder, e->d_name, &why) == ERR_OK && lstat(path, &st) == 0 &&
              S_ISDIR(st.st_mode);
    closedir(d);
    return has;
}

void
spill_remove(const char *folder)
{
    char path[STORE_PATH_MAX];
    struct message why;
    DIR *d = opendir(folder);
    if (!d)
        return;
    for (const struct dirent *e; (e = readdir(d)) != NULL;) {
        if (strcmp(e->d_name, ".") == 0 || strcmp(e->d_name, "..") == 0 ||
            fileio_join(path, sizeof path, folder, e->d_name, &why) != ERR_OK)
            continue;
        unlink(path);
    }
    closedir(d);
    rmdir(folder);
}
