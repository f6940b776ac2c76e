/* homecoming.h - what was kept elsewhere while a store could not be written comes into it (store/spill.h), but for whom was
 * forgotten meanwhile: a spill that could not be reached then (a disc that was not there) brings nobody back, and is cleaned
 * too. Recordings that went there come along, once no visit runs that may be writing one.
 *
 * Errors: told, each; the spill stays as it is.   Threads: as the store's.   Memory: none that stays.
 */
#ifndef CARE_HOMECOMING_H
#define CARE_HOMECOMING_H

#include "base/message.h"
#include "store/store.h"

/* Of every spill of that store which no program uses. */
void homecoming(struct store *home, void (*tell)(void *context, const struct message *m), void *context);

#endif
