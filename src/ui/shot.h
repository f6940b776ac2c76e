/* shot.h - a picture as a PNG file, through cairo.
 *
 * Memory: freed before return.  Errors: ERR_OS with a message in why.
 */
#ifndef UI_SHOT_H
#define UI_SHOT_H

#include <stddef.h>

#include "base/err.h"
#include "base/message.h"
#include "ui/paint.h"

/* Writes p to path, replacing what is there. */
enum err shot_save(const struct paint_picture *p, const char *path, struct message *why);

#endif
