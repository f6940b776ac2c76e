#include "store/reserve.h"

#include "base/fileio.h"
#include "base/str.h"

#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static bool
path_of(const char *store_path, char out[FILEIO_PATH_MAX])
{
    return snprintf(out, FILEIO_PATH_MAX, "%s.reserve", store_path) < FILEIO_PATH_MAX;
}

static bool
has_room(const char *store_path)
{
    return fileio_free_bytes(store_path) >= RESERVE_MIN_FREE_BYTES;
}

void
reserve_make(const char *store_path)
{
    char path[FILEIO_PATH_MAX];
    if (!path_of(store_path, path) || access(path, F_OK) == 0 || !has_room(store_path))
        return;
    const int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0)
        return;
    const bool is_kept = posix_fallocate(fd, 0, RESERVE_BYTES) == 0;
    close(fd);
    if (!is_kept)
        unlink(path);
}

bool
reserve_give_up(const char *store_path)
{
    char path[FILEIO_PATH_MAX];
    return path_of(store_path, path) && unlink(path) == 0;
}
