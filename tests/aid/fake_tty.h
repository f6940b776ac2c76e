/* fake_tty.h - serial ports /dev/ttyUF0 to 3 for the real libserialport, without root or a device.
 *
 * libserialport opens only names under /dev that the system's tty class knows, and asks for modem lines.
 * So the test's program stands between it and the C library for those names alone: they are said
 * to be in the tty class, opening them opens a pseudo-terminal, and modem lines are answered. Everything
 * else of libserialport runs as it is. Nothing outside this process changes.
 * Include it in one file of a test only, which defines _GNU_SOURCE before anything else.
 */
#ifndef AID_FAKE_TTY_H
#define AID_FAKE_TTY_H

#include <criterion/criterion.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <libserialport.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <termios.h>
#include <unistd.h>

#define N_PORTS 4

/* ------------------------------------------------------------------ standing in for the kernel */

static struct {
    char slave[64]; /* empty: the name is in the tty class, but opening fails with refusal */
    int refusal;
    bool is_there;
} fake[N_PORTS];

/* Index of "/dev/ttyUF2" or "/sys/class/tty/ttyUF2...", -1 for any other path. */
static int
fake_index(const char *path)
{
    const char *name = strstr(path, "/ttyUF");
    bool is_ours =
        name != NULL && (strncmp(path, "/dev/", 5) == 0 || strncmp(path, "/sys/class/tty/", 15) == 0);
    int i = is_ours ? name[6] - '0' : -1;
    return i >= 0 && i < N_PORTS ? i : -1;
}

static int
open_fake(int i, int flags)
{
    if (!fake[i].is_there)
        errno = ENOENT;
    else if (fake[i].refusal != 0)
        errno = fake[i].refusal;
    else
        return (int) syscall(SYS_openat, AT_FDCWD, fake[i].slave, flags, 0);
    return -1;
}

int __open_2(const char *path, int flags);
int __lxstat(int version, const char *path, struct stat *st);

int
open(const char *path, int flags, ...)
{
    va_list ap;
    va_start(ap, flags);
    unsigned mode = (flags & (O_CREAT | O_TMPFILE)) != 0 ? va_arg(ap, unsigned) : 0;
    va_end(ap);
    int i = fake_index(path);
    return i >= 0 ? open_fake(i, flags) : (int) syscall(SYS_openat, AT_FDCWD, path, flags, mode);
}

int
__open_2(const char *path, int flags)
{
    return open(path, flags);
}

int
__lxstat(int version, const char *path, struct stat *st)
{
    (void) version;
    int i = fake_index(path);
    if (i < 0)
        return fstatat(AT_FDCWD, path, st, AT_SYMLINK_NOFOLLOW);
    memset(st, 0, sizeof *st);
    st->st_mode = S_IFLNK | 0777;
    errno = ENOENT;
    return fake[i].is_there ? 0 : -1;
}

ssize_t
readlink(const char *path, char *out, size_t cap)
{
    static const char link[] = "../../devices/platform/ttyUF";
    if (fake_index(path) < 0)
        return syscall(SYS_readlinkat, AT_FDCWD, path, out, cap);
    size_t n = cap < sizeof link - 1 ? cap : sizeof link - 1;
    memcpy(out, link, n);
    return (ssize_t) n;
}

int
access(const char *path, int mode)
{
    int i = fake_index(path);
    if (i < 0)
        return (int) syscall(SYS_faccessat, AT_FDCWD, path, mode);
    errno = ENOENT;
    return fake[i].is_there ? 0 : -1;
}

char *
realpath(const char *restrict path, char *restrict out)
{
    int i = fake_index(path);
    if (i < 0) {
        char *(*next)(const char *restrict, char *restrict);
        *(void **) &next = dlsym(RTLD_NEXT, "realpath");
        return next(path, out);
    }
    errno = ENOENT;
    return fake[i].is_there ? strcpy(out, path) : NULL;
}

/* A pseudo-terminal has no modem lines: both questions about them are answered for it. */
int
ioctl(int fd, unsigned long request, ...)
{
    va_list ap;
    va_start(ap, request);
    void *argument = va_arg(ap, void *);
    va_end(ap);
    long r = syscall(SYS_ioctl, fd, request, argument);
    bool is_modem = request == TIOCMGET || request == TIOCMSET || request == TIOCMBIS || request == TIOCMBIC;
    if (r < 0 && is_modem && (errno == ENOTTY || errno == EINVAL)) {
        if (request == TIOCMGET)
            *(int *) argument = 0;
        return 0;
    }
    return (int) r;
}

/* The computer's ports are the faked ones, and none of the real ones is touched. */
enum sp_return
sp_list_ports(struct sp_port ***list)
{
    int n = 0;
    *list = calloc(N_PORTS + 1, sizeof **list);
    for (int i = 0; i < N_PORTS; i++) {
        char name[32];
        snprintf(name, sizeof name, "/dev/ttyUF%d", i);
        if (fake[i].is_there && sp_get_port_by_name(name, &(*list)[n]) == SP_OK)
            n++;
    }
    return SP_OK;
}

/* Plugs a board in; returns the board's side, which does not block. */
static int
plug(int i)
{
    int fd = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    cr_assert(fd >= 0 && grantpt(fd) == 0 && unlockpt(fd) == 0);
    fake[i].is_there = true;
    fake[i].refusal = 0;
    snprintf(fake[i].slave, sizeof fake[i].slave, "%s", ptsname(fd));
    /* Hold the computer's side raw from the start, as a real line is: no echo of what the board says. */
    int slave = (int) syscall(SYS_openat, AT_FDCWD, fake[i].slave, O_RDWR | O_NOCTTY, 0);
    struct termios t;
    cr_assert(slave >= 0 && tcgetattr(slave, &t) == 0);
    cfmakeraw(&t);
    cr_assert_eq(tcsetattr(slave, TCSANOW, &t), 0);
    close(slave);
    return fd;
}

#endif
