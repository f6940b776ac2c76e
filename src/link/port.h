/* port.h - a real serial port. port.c is the only file that includes libserialport.h.
 *
 * 8 data bits, no parity, 1 stop bit, no flow control. libserialport opens only devices of the system's
 * tty class: pseudo-terminals go through fdsource.
 *
 * Memory: taken in open, given back in close.  Threads: one at a time per port.
 * Errors: enum err or a number below 0; a sentence in why.
 */
#ifndef LINK_PORT_H
#define LINK_PORT_H

#include "base/err.h"
#include "base/message.h"
#include "link/source.h"

struct port;

/* One port of this computer, as the system lists it. */
struct port_listed {
    char path[SOURCE_PATH_MAX];
    char description[128];
    bool is_console; /* the system's own console: never asked for anything */
};

/* Fills listed with at most max ports, returns how many. */
int port_list(struct port_listed *listed, int max);

/* True when path (links followed) is a device that libserialport can open. */
bool port_is_device(const char *path);

/* Opens at baud. On refusal *out is NULL and why says what to do. */
enum err port_open(struct port **out, const char *path, int baud, struct message *why);

/* > 0 bytes; 0 none within timeout_ms, or a signal came; SOURCE_GONE: unplugged, why says so. */
int port_read(struct port *p, uint8_t *buf, size_t cap, int timeout_ms, struct message *why);

/* Sends what the port takes at once. ERR_GONE when unplugged. */
enum err port_write(struct port *p, const uint8_t *bytes, size_t len, struct message *why);

void port_close(struct port *p); /* NULL is allowed */

#endif
