#include "care/keep.h"

#include "base/fileio.h"
#include "store/copies.h"
#include "store/store_parts.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool
is_same_file(const char *a, const char *b)
{
    struct stat x, y;

    return stat(a, &x) == 0 && stat(b, &y) == 0 && x.st_dev == y.st_dev && x.st_ino == y.st_ino;
}

enum err
keep_copy(struct store *s, const char *path)
{
    char aside[STORE_PATH_MAX];
    int n = snprintf(aside, sizeof aside, "%s.aside-%ld", path, (long) getpid());

    if (n < 0 || (size_t) n >= sizeof aside) {
        message_tell(&s->why, MESSAGE_KEEP_PATH_TOO_LONG, message_path(path));
        return ERR_USAGE;
    }
    if (is_same_file(s->path, path)) {
        message_tell(&s->why, MESSAGE_KEEP_IS_ITSELF, message_path(path));
        return ERR_USAGE;
    }
    enum err err = store_copy_to(s, aside);
    if (err == ERR_OK) {
        err = copies_verify(s, aside);
        if (err == ERR_FORMAT)
            message_tell(&s->why, MESSAGE_KEEP_IS_DAMAGED, message_path(s->path));
        if (err != ERR_OK)
            unlink(aside);
    }
    if (err == ERR_OK && rename(aside, path) != 0) {
        err = store_refuse_copy(s, path, errno);
        unlink(aside);
    }
    if (err == ERR_OK)
        fileio_sync_folder_of(path);
    return err;
}
