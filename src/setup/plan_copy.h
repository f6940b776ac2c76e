/* plan_copy.h - a plan copied under a name of one's own into the user's plans folder, where it can be edited.
 *
 * Never over a file that is there, nor under the name of any plan that there is: it would hide that one.
 * Threads: any.   Errors: ERR_USAGE (a name that is none, or taken), ERR_GONE (no such plan), ERR_OS, with a sentence in why.
 */
#ifndef SETUP_PLAN_COPY_H
#define SETUP_PLAN_COPY_H

#include "base/err.h"
#include "base/message.h"
#include "base/places.h"

#define PLAN_COPY_NAME_MAX 40

/* path: where the copy is. */
enum err plan_copy(const char *plan, const char *name, char path[PLACES_PATH_MAX], struct message *why);

#endif
