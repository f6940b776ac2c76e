/* xseat.h - a display of one test's own, and hands at it: Xvfb, xdotool, pictures by import.
 *
 * Xvfb takes a free number itself, by a socket that the kernel gives to one alone: tests side by side share none. It is
 * told not to begin anew when its last guest leaves (-noreset): else a short guest (xdotool) that leaves while the
 * program comes throws the program out too, and SDL goes on with a driver that shows nothing.
 */
#ifndef AID_XSEAT_H
#define AID_XSEAT_H

#include "aid/process.h"

#include <stdbool.h>

#define XSEAT_WIDTH_PX  1280
#define XSEAT_HEIGHT_PX 720

struct xseat {
    struct process screen;
    const char *folder; /* borrowed: for what the tools write */
    char env[64];       /* "DISPLAY=:3" */
};

/* The full path of a tool of this computer; NULL: it is not here. Of the last four found. */
const char *xseat_find(const char *name);

/* Xvfb and xdotool are here. */
bool xseat_is_possible(void);

/* False when Xvfb did not start. */
bool xseat_open(struct xseat *s, const char *folder, int timeout_ms);
void xseat_close(struct xseat *s);

/* One call of xdotool, its words separated by blanks. False when it failed. */
bool xseat_do(const struct xseat *s, const char *words);

/* A tool of the display with up to four words, the first NULL ends them. False when it failed or is not here. */
bool xseat_run(const struct xseat *s, const char *tool, const char *a, const char *b, const char *c, const char *d);

/* All of the display as a PNG; false when it can't be made. */
bool xseat_picture(const struct xseat *s, const char *path);

/* The titles of all windows, each in quotes. Returns out. */
char *xseat_titles(const struct xseat *s, char *out, size_t cap);

#endif
