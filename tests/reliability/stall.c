/* stall.c - a disc that hangs: preloaded into a program (LD_PRELOAD), it makes each write and sync of a plain file wait
 * while the file that UNDERFOOT_STALL names is there. Pipes, sockets, terminals and the two standard outputs go on.
 */
#define _GNU_SOURCE
#include <stdlib.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <time.h>
#include <unistd.h>

#define WAIT_NS 5000000

static void
wait_for_disc(int fd)
{
    const char *path = getenv("UNDERFOOT_STALL");
    struct stat st;
    const struct timespec pause = { 0, WAIT_NS };
    if (path == NULL || fd <= 2 || fstat(fd, &st) != 0 || !S_ISREG(st.st_mode))
        return;
    while (access(path, F_OK) == 0)
        nanosleep(&pause, NULL);
}

ssize_t
write(int fd, const void *bytes, size_t len)
{
    wait_for_disc(fd);
    return syscall(SYS_write, fd, bytes, len);
}

ssize_t
pwrite64(int fd, const void *bytes, size_t len, off64_t at)
{
    wait_for_disc(fd);
    return syscall(SYS_pwrite64, fd, bytes, len, at);
}

ssize_t
pwrite(int fd, const void *bytes, size_t len, off_t at)
{
    return pwrite64(fd, bytes, len, at);
}

int
fsync(int fd)
{
    wait_for_disc(fd);
    return (int) syscall(SYS_fsync, fd);
}

int
fdatasync(int fd)
{
    wait_for_disc(fd);
    return (int) syscall(SYS_fdatasync, fd);
}
