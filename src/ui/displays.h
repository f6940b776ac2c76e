/* displays.h - where the displays are at this moment, and whether the one that a window belongs to is among
 * them.
 *
 * A television is switched off in mid-run and on again: the window system moves what was on it somewhere
 * else, and seldom back. On X11 SDL 2.26 keeps the list of its start, so that the server is asked
 * (RandR 1.5's monitors, from the library that SDL itself loads); elsewhere SDL's list is the newest.
 *
 * Memory: none of its own.   Threads: main only (SDL's rule).   Errors: 0 displays when nothing can be asked.
 */
#ifndef UI_DISPLAYS_H
#define UI_DISPLAYS_H

#include <stdbool.h>

#include "ui/paint.h"

#define DISPLAYS_MAX 16

struct SDL_Window;

/* Leaves out each place that lies within an earlier one or has one within it: two displays that show the same
 * picture are one. Returns how many are left, in their order. Pure. */
int displays_distinct(struct paint_rect *place, int n);

/* Fills at most DISPLAYS_MAX distinct places, in the window's own points; returns how many. A NULL
 * window asks SDL's list. */
int displays_now(struct SDL_Window *window, struct paint_rect *place);

/* The display that a window belongs to. */
struct displays_home {
    struct paint_rect place;
    bool is_away; /* it was missing when last looked */
};

/* One more look at the displays. True when home is there again after it was missing: then the window may go
 * back. None at all (a server between two states) says nothing. Pure. */
bool displays_home_feed(struct displays_home *home, const struct paint_rect *place, int n);

#endif
