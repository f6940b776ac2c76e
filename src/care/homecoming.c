#include "care/homecoming.h"

#include "base/fileio.h"
#include "base/log.h"
#include "base/str.h"
#include "care/recordings.h"
#include "care/restore.h"
#include "store/running.h"
#include "store/spill.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct coming {
    void (*tell)(void *context, const struct message *m);
    void *context;
};

static enum err
leave_out(void *context, struct store *home, struct store *spill)
{
    struct message why;
    int n = 0;
    (void) context;
    return restore_leave_out_forgotten(spill, home->path, &n, &why);
}

/* ------------------------------------------------------------------ recordings */

/* Onto another disc: written aside, and given its name once it is there whole. */
static bool
copy_file(const char *from, const char *to)
{
    char aside[FILEIO_PATH_MAX + 8], some[16 * 1024];
    ssize_t n = -1;
    snprintf(aside, sizeof aside, "%s.coming", to);
    unlink(aside);
    const int in = open(from, O_RDONLY | O_CLOEXEC | O_NOFOLLOW), out = open(aside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    while (in >= 0 && out >= 0 && (n = read(in, some, sizeof some)) > 0 && write(out, some, (size_t) n) == n)
        ;
    const bool is_whole = n == 0 && fsync(out) == 0;
    if (in >= 0)
        close(in);
    if (out >= 0)
        close(out);
    if (is_whole && rename(aside, to) == 0 && unlink(from) == 0)
        return true;
    unlink(aside);
    return false;
}

/* One that is there already is the first part of it, up to when it was lost. */
static void
bring(const char *from, const char *to)
{
    struct stat own, there;
    if (lstat(from, &own) != 0 || !S_ISREG(own.st_mode))
        return;
    const bool is_longer = stat(to, &there) != 0 || there.st_size < own.st_size;
    const bool is_done = is_longer ? rename(from, to) == 0 || (errno == EXDEV && copy_file(from, to)) : unlink(from) == 0;
    struct message m;
    message_tell(&m, MESSAGE_RECORDING_NOT_BROUGHT, message_path(from), message_path(to));
    if (!is_done)
        log_tell(&m);
}

/* Not while a visit runs with that store: it may be writing one of them. */
static void
bring_recordings(void *context, struct store *home, const char *spill)
{
    char place[FILEIO_PATH_MAX], from[FILEIO_PATH_MAX], to[FILEIO_PATH_MAX];
    struct message why;
    char folder[FILEIO_PATH_MAX], home_folder[FILEIO_PATH_MAX];
    (void) context;
    to[0] = '\0';
    fileio_folder_of(home_folder, sizeof home_folder, home->path);
    if (running_any(home->path) || fileio_join(folder, sizeof folder, spill, RECORDINGS_FOLDER, &why) != ERR_OK ||
        fileio_join(place, sizeof place, home_folder, RECORDINGS_FOLDER, &why) != ERR_OK || fileio_make_folder(place, &why) != ERR_OK)
        return;
    DIR *d = opendir(folder);
    if (!d)
        return;
    for (const struct dirent *e; (e = readdir(d)) != NULL;)
        if (str_begins_with(e->d_name, "visit-") && fileio_join(from, sizeof from, folder, e->d_name, &why) == ERR_OK &&
            fileio_join(to, sizeof to, place, e->d_name, &why) == ERR_OK)
            bring(from, to);
    closedir(d);
    if (to[0])
        fileio_sync_folder_of(to);
    rmdir(folder);
}

static void
tell_on(void *context, const struct message *m)
{
    const struct coming *c = context;
    c->tell(c->context, m);
}

void
homecoming(struct store *home, void (*tell)(void *context, const struct message *m), void *context)
{
    struct coming c = { tell, context };
    const struct spill_guest guest = { leave_out, bring_recordings, tell_on, &c };
    spill_take_all(home, &guest);
}
