/* places.h - where profiles and plans lie: the user's own first, then those that came with the program.
 *
 *      1   $XDG_CONFIG_HOME/underfoot/KIND, else $HOME/.config/underfoot/KIND     the user's own
 *      2   $UNDERFOOT_PROFILES/KIND when set; else profiles/KIND beside the program, or ../share/underfoot/
 *
 * A file of the same name in an earlier place hides the later one.   Errors: enum err, a sentence in why.
 */
#ifndef BASE_PLACES_H
#define BASE_PLACES_H

#include "base/err.h"
#include "base/message.h"

#include <stdbool.h>
#include <stddef.h>

#define PLACES_PATH_MAX 1024
#define PLACES_N 8

/* Finds the file of a name without .ini; a name with a slash or with .ini is a path as it stands. kind: "plans",
 * "sensors". ERR_GONE when there is none: why then names those that there are. */
enum err places_find(const char *kind, const char *name, char *path, size_t cap, struct message *why);

/* The folder of the program's own file. False when it can't be told. */
bool places_program_folder(char *out, size_t cap);

/* The user's own folder of that kind, there or not. ERR_USAGE when no variable tells one. */
enum err places_own(const char *kind, char *out, size_t cap, struct message *why);

/* Every name of that kind once, in no order; fn returns false to stop. is_own: the user's own. */
void places_list(const char *kind, bool (*fn)(void *context, const char *name, const char *path, bool is_own),
                 void *context);

#endif
