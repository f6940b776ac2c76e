/* line_facts.c - runs in the guest: what a serial port gives before, at and after its unplugging.
 *
 *      line_facts facts PATH BAUD    libserialport and the system calls below it, asked every 20 ms
 *      line_facts port PATH BAUD     this project's own port_read()
 *
 * Prints a line when the port is open and each time that an answer changes, ends after the port has been gone
 * for a while or after GIVE_UP_MS. A line of `facts`: what poll() said (h: hung up, e: error, i: something to
 * read), what read() gave (+ bytes, 0, or the error's name), the same of libserialport's read, of
 * sp_input_waiting(), and of writing one zero byte, which the wire allows between packets.
 */
#include "link/port.h"

#include <errno.h>
#include <libserialport.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define LOOK_MS    20
#define AFTER_MS   300
#define GIVE_UP_MS 30000

static long
now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (long) t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

static const char *
outcome(long n, int error)
{
    if (n > 0)
        return "+";
    if (n == 0)
        return "0";
    switch (error) {
    case EAGAIN:
        return "EAGAIN";
    case EIO:
        return "EIO";
    case ENODEV:
        return "ENODEV";
    case ENOTTY:
        return "ENOTTY";
    case EBADF:
        return "EBADF";
    case ENXIO:
        return "ENXIO";
    default:
        return "other";
    }
}

/* One look at the port, as one line. True when poll() says that it hung up. */
static bool
look(struct sp_port *sp, int fd, char *out, size_t cap)
{
    char buf[4096];
    struct pollfd p = { .fd = fd, .events = POLLIN };
    poll(&p, 1, LOOK_MS);
    errno = 0;
    const long n_waiting = sp_input_waiting(sp);
    const int waiting_error = sp_last_error_code();
    const long n_sp = sp_nonblocking_read(sp, buf, sizeof buf);
    const int sp_error = sp_last_error_code();
    errno = 0;
    const long n_read = read(fd, buf, sizeof buf);
    const int read_error = errno;
    errno = 0;
    const long n_write = write(fd, "", 1);
    snprintf(out, cap, "poll=%s%s%s%s waiting=%s sp_read=%s read=%s write=%s",
             (p.revents & POLLHUP) != 0 ? "h" : "", (p.revents & POLLERR) != 0 ? "e" : "",
             (p.revents & POLLIN) != 0 ? "i" : "", p.revents == 0 ? "-" : "",
             outcome(n_waiting, waiting_error), outcome(n_sp, sp_error), outcome(n_read, read_error),
             outcome(n_write, errno));
    return (p.revents & POLLHUP) != 0;
}

static int
facts(const char *path, int baud)
{
    struct sp_port *sp;
    int fd;
    char line[160], last[160] = "";
    if (sp_get_port_by_name(path, &sp) != SP_OK || sp_open(sp, SP_MODE_READ_WRITE) != SP_OK ||
        sp_set_baudrate(sp, baud) != SP_OK || sp_get_port_handle(sp, &fd) != SP_OK) {
        fprintf(stderr, "line_facts: %s: cannot be opened\n", path);
        return 1;
    }
    printf("open\n");
    long begun_ms = now_ms(), gone_ms = -1;
    while (now_ms() - begun_ms < GIVE_UP_MS && (gone_ms < 0 || now_ms() - gone_ms < AFTER_MS)) {
        const bool is_gone = look(sp, fd, line, sizeof line);
        if (strcmp(line, last) != 0)
            printf("%s %s\n", is_gone ? "gone" : "here", line);
        memcpy(last, line, sizeof last);
        if (is_gone && gone_ms < 0)
            gone_ms = now_ms();
    }
    sp_close(sp);
    sp_free_port(sp);
    return gone_ms < 0;
}

static int
own_port(const char *path, int baud)
{
    struct port *p;
    struct message why = { MESSAGE_NONE };
    uint8_t buf[4096];
    if (port_open(&p, path, baud, &why) != ERR_OK) {
        fprintf(stderr, "line_facts: %s\n", message_english(&why));
        return 1;
    }
    if (port_write(p, (const uint8_t *) "", 1, &why) != ERR_OK)
        fprintf(stderr, "line_facts: %s\n", message_english(&why));
    printf("open\n");
    const long begun_ms = now_ms();
    int n = 0, was = -1;
    while (n >= 0 && now_ms() - begun_ms < GIVE_UP_MS) {
        n = port_read(p, buf, sizeof buf, 1000, &why);
        if (n >= 0 && (n > 0) != was)
            printf("%s\n", n > 0 ? "bytes" : "silent");
        was = n > 0;
    }
    printf("%s\n", n == SOURCE_GONE ? message_english(&why) : "never gone");
    port_close(p);
    return n != SOURCE_GONE;
}

int
main(int argc, char **argv)
{
    setvbuf(stdout, NULL, _IOLBF, 0);
    if (argc != 4) {
        fprintf(stderr, "usage: line_facts facts|port PATH BAUD\n");
        return 2;
    }
    return strcmp(argv[1], "facts") == 0 ? facts(argv[2], atoi(argv[3])) : own_port(argv[2], atoi(argv[3]));
}
