#include "link/fdsource.h"
#include "link/port_lock.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

/* Bytes as they are: no echo, no line editing, no translation of newlines. */
static bool
set_raw(int fd)
{
    struct termios t;
    if (tcgetattr(fd, &t) != 0)
        return false;
    t.c_iflag &= (tcflag_t) ~(IGNBRK | BRKINT | PARMRK | ISTRIP | INLCR | IGNCR | ICRNL | IXON);
    t.c_oflag &= (tcflag_t) ~OPOST;
    t.c_lflag &= (tcflag_t) ~(ECHO | ECHONL | ICANON | ISIG | IEXTEN);
    t.c_cflag = (t.c_cflag & (tcflag_t) ~(CSIZE | PARENB)) | CS8 | CREAD | CLOCAL;
    t.c_cc[VMIN] = 1;
    t.c_cc[VTIME] = 0;
    return tcsetattr(fd, TCSANOW, &t) == 0;
}

static enum err
refuse(const char *path, int os_error, struct message *why)
{
    switch (os_error) {
    case ENOENT:
    case ENOTDIR:
    case ENXIO:
        message_tell(why, MESSAGE_SOURCE_NOT_THERE, message_path(path));
        return ERR_GONE;
    case EACCES:
    case EPERM:
        message_tell(why, MESSAGE_SOURCE_NOT_ALLOWED, message_path(path));
        return ERR_OS;
    default:
        message_tell(why, MESSAGE_SOURCE_NOT_OPENED, message_path(path), message_errno(os_error));
        return ERR_OS;
    }
}

enum err
fdsource_open(int *fd, bool *is_file, const char *path, struct message *why)
{
    struct stat st;
    *fd = -1;
    if (stat(path, &st) != 0)
        return refuse(path, errno, why);
    if (S_ISDIR(st.st_mode)) {
        message_tell(why, MESSAGE_SOURCE_IS_FOLDER, message_path(path));
        return ERR_FORMAT;
    }
    if (S_ISBLK(st.st_mode) || S_ISSOCK(st.st_mode)) {
        message_tell(why, S_ISBLK(st.st_mode) ? MESSAGE_SOURCE_IS_DISC : MESSAGE_SOURCE_IS_SOCKET, message_path(path));
        return ERR_FORMAT;
    }
    *is_file = S_ISREG(st.st_mode);
    /* Only terminals are written to; a pipe opened for both would never tell that its writer left. */
    int access_mode = S_ISCHR(st.st_mode) ? O_RDWR : O_RDONLY;
    *fd = open(path, access_mode | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (*fd < 0)
        return refuse(path, errno, why);
    if (!isatty(*fd))
        return ERR_OK;
    enum err err = port_lock_take(*fd, path, why);
    if (err == ERR_OK && !set_raw(*fd))
        err = refuse(path, errno, why);
    if (err != ERR_OK) {
        close(*fd);
        *fd = -1;
    }
    return err;
}

static int
gone(const char *path, struct message *why)
{
    message_tell(why, MESSAGE_SOURCE_WAS_CLOSED, message_path(path));
    return SOURCE_GONE;
}

int
fdsource_read(int fd, bool is_file, const char *path, uint8_t *buf, size_t cap, int timeout_ms,
              struct message *why)
{
    struct pollfd wait = { .fd = fd, .events = POLLIN };
    int n_ready = poll(&wait, 1, timeout_ms);
    if (n_ready == 0 || (n_ready < 0 && errno == EINTR))
        return 0;
    if (n_ready < 0 || (wait.revents & (POLLERR | POLLNVAL)) != 0)
        return gone(path, why);
    /* POLLHUP with POLLIN: bytes that were sent before the other side closed are still there. */
    ssize_t n = read(fd, buf, cap);
    if (n > 0)
        return (int) n;
    if (n < 0 && (errno == EAGAIN || errno == EINTR))
        return 0;
    if (is_file && n == 0)
        return SOURCE_ENDED;
    return gone(path, why);
}

enum err
fdsource_write(int fd, const char *path, const uint8_t *bytes, size_t len, struct message *why)
{
    int mode = fcntl(fd, F_GETFL);
    if (mode < 0 || (mode & O_ACCMODE) == O_RDONLY)
        return ERR_OK;
    /* Nonblocking: a device that does not read must not stop the reader thread. */
    if (write(fd, bytes, len) >= 0 || errno == EAGAIN || errno == EINTR)
        return ERR_OK;
    gone(path, why);
    return ERR_GONE;
}
