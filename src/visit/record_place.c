#include "visit/record_place.h"

#include "base/str.h"
#include "care/recordings.h"

#include <dirent.h>
#include <errno.h>
#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define MAX_OPENED 100 /* of one program at a time */

static enum err
find_place(const char *store_path, char place[FILEIO_PATH_MAX], char folder[FILEIO_PATH_MAX], struct message *why)
{
    enum err err = ERR_OK;
    if (store_path)
        fileio_folder_of(place, FILEIO_PATH_MAX, store_path);
    else
        err = fileio_data_folder(place, FILEIO_PATH_MAX, why);
    return err == ERR_OK ? fileio_join(folder, FILEIO_PATH_MAX, place, RECORDINGS_FOLDER, why) : err;
}

/* Names of programs that are no more: killed before their visit began. */
static void
sweep(const char *folder)
{
    char path[FILEIO_PATH_MAX];
    struct message why;
    DIR *dir = opendir(folder);
    if (!dir)
        return;
    for (const struct dirent *e; (e = readdir(dir));) {
        long pid;
        int n, end = 0;
        if (sscanf(e->d_name, "opened-%ld-%d.rec%n", &pid, &n, &end) != 2 || end == 0 || e->d_name[end] || pid <= 0)
            continue;
        if (kill((pid_t) pid, 0) != 0 && errno == ESRCH &&
            fileio_join(path, sizeof path, folder, e->d_name, &why) == ERR_OK)
            unlink(path);
    }
    closedir(dir);
}

enum err
record_place_open(const char *store_path, char out[FILEIO_PATH_MAX], bool *is_place_new, struct message *why)
{
    char place[FILEIO_PATH_MAX], folder[FILEIO_PATH_MAX], name[64];
    enum err err = find_place(store_path, place, folder, why);
    if (err != ERR_OK)
        return err;
    *is_place_new = access(place, F_OK) != 0;
    err = fileio_make_folder(folder, why);
    if (err != ERR_OK)
        return err;
    sweep(folder);
    for (int i = 1; i <= MAX_OPENED; i++) {
        snprintf(name, sizeof name, "opened-%ld-%d.rec", (long) getpid(), i);
        err = fileio_join(out, FILEIO_PATH_MAX, folder, name, why);
        if (err != ERR_OK || access(out, F_OK) != 0)
            return err;
    }
    message_tell(why, MESSAGE_RECORDINGS_TOO_MANY_OPEN, message_path(folder));
    return ERR_OS;
}

enum err
record_place_name(const char *path, int64_t visit_id, int64_t started_utc_ms, char out[FILEIO_PATH_MAX],
                  struct message *why)
{
    char folder[FILEIO_PATH_MAX], from[FILEIO_PATH_MAX], name[RECORDINGS_NAME_MAX];
    str_copy(from, sizeof from, path);
    fileio_folder_of(folder, FILEIO_PATH_MAX, from);
    recordings_name(visit_id, started_utc_ms, name);
    const enum err err = fileio_join(out, FILEIO_PATH_MAX, folder, name, why);
    if (err == ERR_OK && link(from, out) == 0) { /* never over another one */
        unlink(from);
        fileio_sync_folder_of(out); /* else a power cut in mid-visit leaves a recording that belongs to no visit */
        return ERR_OK;
    }
    if (err == ERR_OK && errno != EEXIST && access(out, F_OK) != 0 && rename(from, out) == 0) { /* a disc without links */
        fileio_sync_folder_of(out);
        return ERR_OK;
    }
    if (err == ERR_OK)
        message_tell(why, MESSAGE_RECORDING_NOT_NAMED, message_path(out), message_errno(errno));
    str_copy(out, FILEIO_PATH_MAX, from);
    return ERR_OS;
}

void
record_place_tidy(const char *store_path, struct message *says)
{
    struct store s;
    struct settings rule;
    struct recordings_told told = { .n = 0 };
    message_init(says, MESSAGE_NONE);
    enum err err = store_open(&s, store_path, STORE_MUST_EXIST | STORE_UNCHECKED);
    if (err == ERR_OK)
        err = settings_load(s.path, &rule, &s.why);
    if (err == ERR_OK)
        err = recordings_tidy(&s, &rule, &told);
    if (told.n > 0)
        message_tell(says, MESSAGE_RECORDINGS_OLD_WENT, told.n, told.oldest, told.newest,
                     message_real((double) told.n_bytes / 1e6, 1, MESSAGE_UNIT_MB));
    else if (err != ERR_OK)
        message_tell(says, MESSAGE_RECORDINGS_OLD_STAY, message_of(&s.why));
    store_close(&s);
}

void
record_place_drop(const char *path, bool is_place_new)
{
    char folder[FILEIO_PATH_MAX], place[FILEIO_PATH_MAX];
    unlink(path);
    fileio_folder_of(folder, FILEIO_PATH_MAX, path);
    fileio_folder_of(place, FILEIO_PATH_MAX, folder);
    if (rmdir(folder) == 0 && is_place_new)
        rmdir(place);
}
