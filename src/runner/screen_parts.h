/* screen_parts.h - between screen.c (what is shown) and screen_draw.c (how it is inked); nobody else's. */
#ifndef RUNNER_SCREEN_PARTS_H
#define RUNNER_SCREEN_PARTS_H

#include "runner/screen.h"

/* Draws the regions of the scene in force whose content changed; true when any did. Precondition: the
 * layout fits the canvas, and s->drawn is all 0 after a change of scene or layout. */
bool screen_draw_regions(struct screen *s, struct host_time now);

/* The bars' values, seen from now, are no longer live. */
bool screen_is_stale(const struct screen *s, struct host_time now);

/* This bar has a target, so that the stripe may be claimed for it. */
bool screen_has_target(const struct verdict_bar *b);

/* The bar is drawn as two halves, left and right. */
bool screen_is_split(const struct verdict *v, int bar);

/* The sentence for the sensor's state: the verdict's own in English, else the language's. */
const char *screen_sentence(const struct screen *s);

/* Copies words with %s replaced by value. */
void screen_fill_in(char *text, size_t cap, const char *words, const char *value);

#endif
