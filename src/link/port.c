#define _GNU_SOURCE /* realpath, TIOCEXCL */
#include "base/str.h"
#include "base/utf8.h"
#include "link/port.h"
#include "link/port_lock.h"

#include <errno.h>
#include <fcntl.h>
#include <libserialport.h>
#include <limits.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

struct port {
    struct sp_port *sp;
    int fd; /* libserialport's own, only to wait on */
    int lock_fd; /* holds the lock that makes the port ours alone (port_lock.h) */
    char path[SOURCE_PATH_MAX];
};

/* The names of the system's consoles, "tty0 ttyS0"; empty when the system does not tell. */
static void
read_consoles(char *out, size_t cap)
{
    out[0] = 0;
    FILE *f = fopen("/sys/class/tty/console/active", "r");
    if (f == NULL)
        return;
    if (fgets(out, (int) cap, f) == NULL)
        out[0] = 0;
    fclose(f);
}

static bool
has_word(const char *words, const char *word)
{
    size_t n = strlen(word);
    for (const char *at = strstr(words, word); at != NULL; at = strstr(at + 1, word))
        if ((at == words || at[-1] == ' ') && (at[n] == 0 || at[n] == ' ' || at[n] == '\n'))
            return true;
    return false;
}

int
port_list(struct port_listed *listed, int max)
{
    struct sp_port **ports;
    char consoles[256];
    int n = 0;
    if (sp_list_ports(&ports) != SP_OK)
        return 0;
    read_consoles(consoles, sizeof consoles);
    for (int i = 0; ports[i] != NULL && n < max; i++) {
        const char *name = sp_get_port_name(ports[i]);
        const char *description = sp_get_port_description(ports[i]);
        if (name == NULL || !str_copy(listed[n].path, sizeof listed[n].path, name))
            continue;
        utf8_show(listed[n].description, sizeof listed[n].description, description != NULL ? description : "");
        const char *base = strrchr(name, '/');
        listed[n].is_console = has_word(consoles, base != NULL ? base + 1 : name);
        n++;
    }
    sp_free_port_list(ports);
    return n;
}

/* The device's own name below /dev, links such as /dev/serial/by-id followed. */
static bool
resolve(const char *path, char out[PATH_MAX])
{
    return realpath(path, out) != NULL && strncmp(out, "/dev/", 5) == 0 && strchr(out + 5, '/') == NULL;
}

bool
port_is_device(const char *path)
{
    char real[PATH_MAX], in_sys[PATH_MAX + 32];
    if (!resolve(path, real))
        return false;
    snprintf(in_sys, sizeof in_sys, "/sys/class/tty/%s/device", real + 5);
    return access(in_sys, F_OK) == 0;
}

static enum err
refuse_open(const char *path, int os_error, struct message *why)
{
    switch (os_error) {
    case EACCES:
    case EPERM:
        message_tell(why, MESSAGE_PORT_NOT_ALLOWED, message_path(path));
        return ERR_OS;
    case EBUSY:
        port_lock_refusal(path, why);
        return ERR_OS;
    case ENOENT:
    case ENODEV:
    case ENXIO:
        message_tell(why, MESSAGE_PORT_NOT_THERE, message_path(path));
        return ERR_GONE;
    default:
        message_tell(why, MESSAGE_PORT_NOT_OPENED, message_path(path), message_errno(os_error));
        return ERR_OS;
    }
}

static bool
set_line(struct sp_port *sp, int baud)
{
    return sp_set_baudrate(sp, baud) == SP_OK && sp_set_bits(sp, 8) == SP_OK &&
           sp_set_parity(sp, SP_PARITY_NONE) == SP_OK && sp_set_stopbits(sp, 1) == SP_OK &&
           sp_set_flowcontrol(sp, SP_FLOWCONTROL_NONE) == SP_OK;
}

/* The lock comes first: libserialport sets the line as it opens it, which would disturb whoever reads it. Then the
 * exclusive flag, which keeps out programs that take no lock; the second opening is libserialport's own, so not before. */
static enum err
open_alone(struct port *p, const char *real, struct message *why)
{
    p->lock_fd = open(real, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (p->lock_fd < 0)
        return refuse_open(p->path, errno, why);
    const enum err err = port_lock_take(p->lock_fd, real, why);
    if (err != ERR_OK)
        return err;
    if (sp_open(p->sp, SP_MODE_READ_WRITE) != SP_OK)
        return refuse_open(p->path, sp_last_error_code(), why);
    (void) ioctl(p->lock_fd, TIOCEXCL); /* a line that knows no such flag has the lock */
    return ERR_OK;
}

enum err
port_open(struct port **out, const char *path, int baud, struct message *why)
{
    char real[PATH_MAX];
    enum err err = ERR_OS;
    *out = NULL;
    struct port *p = calloc(1, sizeof *p);
    if (p == NULL) {
        message_tell(why, MESSAGE_SOURCE_NO_MEMORY, message_path(path));
        return ERR_MEMORY;
    }
    p->lock_fd = -1;
    str_copy(p->path, sizeof p->path, path);
    if (!resolve(path, real)) {
        err = refuse_open(path, errno != 0 ? errno : ENOENT, why);
        goto free_port;
    }
    if (sp_get_port_by_name(real, &p->sp) != SP_OK) {
        err = refuse_open(path, ENOENT, why);
        goto free_port;
    }
    err = open_alone(p, real, why);
    if (err != ERR_OK)
        goto free_sp;
    err = ERR_OS;
    if (!set_line(p->sp, baud)) {
        message_tell(why, MESSAGE_PORT_REFUSES_RATE, message_path(path), baud);
        goto close_sp;
    }
    if (sp_get_port_handle(p->sp, &p->fd) != SP_OK) {
        err = refuse_open(path, EIO, why);
        goto close_sp;
    }
    *out = p;
    return ERR_OK;
close_sp:
    (void) ioctl(p->lock_fd, TIOCNXCL);
    sp_close(p->sp);
free_sp:
    sp_free_port(p->sp);
    if (p->lock_fd >= 0)
        close(p->lock_fd);
free_port:
    free(p);
    return err;
}

static int
gone(const struct port *p, struct message *why)
{
    message_tell(why, MESSAGE_PORT_IS_GONE, message_path(p->path));
    return SOURCE_GONE;
}

int
port_read(struct port *p, uint8_t *buf, size_t cap, int timeout_ms, struct message *why)
{
    struct pollfd wait = { .fd = p->fd, .events = POLLIN };
    int n_ready = poll(&wait, 1, timeout_ms);
    if (n_ready < 0)
        return errno == EINTR ? 0 : gone(p, why);
    int n = sp_nonblocking_read(p->sp, buf, cap > INT_MAX ? INT_MAX : cap);
    if (n > 0)
        return n;
    /* A read of 0 is also what an unplugged port gives: only the question below tells them apart. */
    if (n < 0 || sp_input_waiting(p->sp) < 0 || (n_ready > 0 && (wait.revents & (POLLHUP | POLLNVAL)) != 0))
        return gone(p, why);
    return 0;
}

enum err
port_write(struct port *p, const uint8_t *bytes, size_t len, struct message *why)
{
    /* libserialport 0.1.1 gives the error of a full line, which is none (measured); later ones give 0 bytes. */
    if (sp_nonblocking_write(p->sp, bytes, len) >= 0 || sp_last_error_code() == EAGAIN)
        return ERR_OK;
    gone(p, why);
    return ERR_GONE;
}

void
port_close(struct port *p)
{
    if (p == NULL)
        return;
    (void) ioctl(p->lock_fd, TIOCNXCL);
    sp_close(p->sp);
    sp_free_port(p->sp);
    close(p->lock_fd);
    free(p);
}
