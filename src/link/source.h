/* source.h - gives bytes with their arrival time, whatever they come from.
 *
 * A real port through libserialport (port.c), a pseudo-terminal, pipe or plain file through a file
 * descriptor (fdsource.c), or a recording (replay.c). source_open() picks by looking at the path:
 *
 *      "auto"                                 every port listed is asked for a hello; first one wins
 *      a device under /sys/class/tty          real port
 *      a file that begins as a recording      recording
 *      any other terminal, pipe or file       file descriptor; terminals are set raw
 *
 * Memory: taken in open, given back in close.  Threads: one at a time per source.
 * Errors: open answers an enum err, read a number below 0; why[] says it in one sentence.
 */
#ifndef LINK_SOURCE_H
#define LINK_SOURCE_H

#include "base/err.h"
#include "base/message.h"
#include "base/units.h"
#include "wire/packet.h"

#include <stddef.h>

#define SOURCE_PATH_MAX 256

/* What source_read() answers below 0. */
enum {
    SOURCE_ENDED = -1, /* a recording or file is at its end */
    SOURCE_GONE = -2,  /* unplugged, the other side closed */
};

enum source_kind {
    SOURCE_NONE = 0,
    SOURCE_PORT,
    SOURCE_FD,
    SOURCE_REPLAY,
};

struct source_config {
    int baud;          /* real ports and terminals */
    double pace_ratio; /* recordings: 1 as it was, 2 twice as fast, 0 as fast as possible */
    int hello_wait_ms; /* "auto": how long all ports together may take to say hello */
};
struct source_config source_config_default(void); /* 115200, as fast as possible, 3000 ms */

struct source {
    enum source_kind kind;
    char path[SOURCE_PATH_MAX]; /* what was opened; with "auto" the port that answered */
    struct message why;      /* after a refusal or SOURCE_GONE; also a note on what of a recording is lost */
    struct port *port;          /* one of these three, by kind */
    int fd;
    bool is_file; /* fd: a plain file, which ends and cannot be written to */
    struct replay *replay;
};

/* Opens path, or finds a board with "auto", and asks a live device for its hello and to start. On failure the
 * source is closed, why[] says what, which and what to do. ERR_GONE: no such port or file. ERR_OS: may not be
 * opened. ERR_FORMAT: not what it should be. */
enum err source_open(struct source *s, const char *path, const struct source_config *c);

/* Waits up to timeout_ms for bytes. > 0: that many bytes in buf; 0: nothing came within the time;
 * SOURCE_ENDED or SOURCE_GONE. arrived: this computer's clock; of a recording played as fast as
 * possible, the recorded time since its start. */
int source_read(struct source *s, uint8_t *buf, size_t cap, int timeout_ms, struct host_time *arrived);

/* Sends to the device. Recordings and files take it and do nothing. ERR_GONE when unplugged. */
enum err source_write(struct source *s, const uint8_t *bytes, size_t len);

/* True while reading cannot run out of order with the clock: a live device, or a paced recording. */
bool source_is_live(const struct source *s);

/* True once when bytes are known to be missing before those of the last source_read(): a damaged recording. */
bool source_take_gap(struct source *s);

/* True when a recording was damaged or cut, as far as it was read; why[] tells at its end. */
bool source_has_lost(const struct source *s);

void source_close(struct source *s); /* twice is allowed; keeps why[] */

struct wire_health;

/* Why a source that is open gives no packets, by what its decoder has seen: silent, or garbage (a wrong
 * baud rate, another device). One sentence into why; false, and an empty why, when packets came. */
bool source_complaint(const struct source *s, const struct wire_health *seen, struct message *why);

/* One serial port of this computer and what it said when asked. */
struct source_found {
    char path[SOURCE_PATH_MAX];
    char description[128]; /* as the system names it; may be empty */
    bool has_hello;
    struct packet_hello hello; /* valid when has_hello */
    struct message why;     /* why there is no hello: may not be opened, silent, garbage */
};
#define SOURCE_FOUND_MAX 32

/* Lists the real ports and asks all of them at the same time for a hello, for at most
 * c->hello_wait_ms. Returns how many ports are in found (at most max). */
int source_probe(struct source_found *found, int max, const struct source_config *c);

/* Real ports by name, without the system's console: what could be a sensor. */
struct source_there {
    char path[SOURCE_FOUND_MAX][SOURCE_PATH_MAX];
    int n;
};

/* Those that are there now; nothing is opened. */
void source_list(struct source_there *there);

/* Their names, "/dev/ttyACM0, /dev/ttyUSB1", as many as out holds; how many more there are. Empty without any. */
int source_names(const struct source_there *there, char *out, size_t cap);

/* After ERR_GONE of a path below /dev: adds to why which ports are there now. Any other path: nothing. */
void source_tell_there(const char *path, struct message *why);

/* A board that is looked for by what it says of itself. */
struct source_wish {
    struct source_there *but; /* not asked; whatever is opened to be asked is added. NULL: all are asked */
    bool (*is_it)(void *context, const struct packet_hello *hello);
    bool (*should_stop)(void *context); /* ends the listening */
    void *context;
};

/* Asks the ports for at most c->hello_wait_ms and opens the one that is it. ERR_GONE: none, or more than one. A port
 * that another program holds is not asked. */
enum err source_find(struct source *s, const struct source_wish *wish, const struct source_config *c);

#endif
