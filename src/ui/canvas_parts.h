/* canvas_parts.h - what the canvas's events need of its window; nobody else includes it. canvas_event.c calls canvas.c, never
 * the other way round. */
#ifndef UI_CANVAS_PARTS_H
#define UI_CANVAS_PARTS_H

#include "ui/canvas.h"

/* Makes the picture as large as the window is now: RESIZED when it was not, QUIT when that can't be done, else NONE. */
enum canvas_event_kind canvas_follow_size(struct canvas *c);

#endif
