#define _GNU_SOURCE /* F_OFD_SETLK: a lock of the descriptor, not of the process */
#include "store/running.h"

#include "base/fileio.h"

#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

static int
open_beside(const char *store_path)
{
    char path[FILEIO_PATH_MAX];
    if (snprintf(path, sizeof path, "%s.running", store_path) >= (int) sizeof path)
        return -1;
    return open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
}

static struct flock
byte_of(int64_t visit_id)
{
    return (struct flock){ .l_type = F_WRLCK, .l_whence = SEEK_SET, .l_start = visit_id, .l_len = 1 };
}

int
running_begin(const char *store_path, int64_t visit_id)
{
    struct flock lock = byte_of(visit_id);
    const int fd = open_beside(store_path);
    if (fd >= 0 && fcntl(fd, F_OFD_SETLK, &lock) != 0) {
        close(fd);
        return -1;
    }
    return fd;
}

void
running_end(int fd)
{
    if (fd >= 0)
        close(fd);
}

bool
running_is(const char *store_path, int64_t visit_id)
{
    struct flock lock = byte_of(visit_id);
    const int fd = open_beside(store_path);
    if (fd < 0)
        return false;
    const bool is = fcntl(fd, F_OFD_GETLK, &lock) == 0 && lock.l_type != F_UNLCK;
    close(fd);
    return is;
}

bool
running_any(const char *store_path)
{
    struct flock lock = { .l_type = F_WRLCK, .l_whence = SEEK_SET, .l_start = 0, .l_len = 0 }; /* 0: to the end of all */
    char path[FILEIO_PATH_MAX];
    if (snprintf(path, sizeof path, "%s.running", store_path) >= (int) sizeof path)
        return false;
    const int fd = open(path, O_RDWR | O_CLOEXEC); /* none there: nothing ever ran */
    if (fd < 0)
        return false;
    const bool is = fcntl(fd, F_OFD_GETLK, &lock) == 0 && lock.l_type != F_UNLCK;
    close(fd);
    return is;
}
