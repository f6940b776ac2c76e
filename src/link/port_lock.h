/* port_lock.h - a serial port or pseudo-terminal is read by one program alone.
 *
 * Two readers of one line each get a part of the bytes, and neither can tell. So whoever opens a line takes the
 * kernel's whole-file lock (flock) on it before any line setting, and a second one is refused with the holder's name.
 *
 * How: flock belongs to the open file, not to the process: closing another descriptor of the same line does not drop it,
 *      as it would a POSIX lock. Of real ports port.c sets the exclusive flag too, against programs that take no lock.
 *      Who holds it stands in the system's list of locks, which every user may read.
 *
 * Memory: none.   Threads: any.   Errors: enum err with a message in why.
 */
#ifndef LINK_PORT_LOCK_H
#define LINK_PORT_LOCK_H

#include "base/err.h"
#include "base/message.h"

#include <stddef.h>

/* Who holds the lock on a line. */
struct port_lock_holder {
    int pid;       /* 0: nobody, or it can't be told */
    char name[41]; /* the program's short name, as the system has it; "" when it can't be told */
};

/* Locks the line open at fd until fd is closed. ERR_OS: another program has it (why names it), or this one already.
 * A line whose file system knows no such lock is taken as free: ERR_OK. */
enum err port_lock_take(int fd, const char *path, struct message *why);

/* The message for a line that is in use, with the holder where the system's list names one. */
void port_lock_refusal(const char *path, struct message *why);

/* Who holds the lock on path, by the list of locks in list_path (NULL: the system's). */
void port_lock_find(const char *path, const char *list_path, struct port_lock_holder *out);

#endif
