/* choices.h - a runner's display choices (runner/show_as.h) put on the screen and the sound of a visit.
 *
 * What the command line says wins over them; what neither says is as shipped.   Threads: main only.
 */
#ifndef RUNNER_CHOICES_H
#define RUNNER_CHOICES_H

#include "base/message.h"
#include "runner/show.h"
#include "runner/show_as.h"

/* Reads what the store keeps. A word that can't be read (of another version, or a language that is not there) is told
 * on stderr once and left out. */
void choices_read(const char *code, const char *text, struct show_as *out);

/* Puts them into c, but for what c->given has. c points into s, which must outlive it. */
void choices_apply(const struct show_as *s, struct show_config *c);

/* A screen that is open changes to c: fonts, words, colours, sizes. canvas: the one it draws into. On refusal the
 * screen is not to be drawn until another call put it right. */
enum err choices_wear(const struct show_config *c, struct canvas *canvas, struct screen *screen, struct message *why);

#endif
