/* away.h - a sensor that was lost and stays away: what to do about it, and its search under another name.
 *
 * In:  when it was lost, and the ports that were there then.   Out: a sentence; the board, open, where it is now.
 * How: after after_ms the sentence says which port, what to check, and which ports are there now. From then on a port
 *      that was not there at the loss is asked once for its hello, and taken when nobody else holds it and it alone says
 *      what the lost board said. A port that was there before may be another board of the same kind: never asked.
 *
 * Threads: the reader's.   Memory: the struct; a search takes some and gives it back.   Errors: none.
 */
#ifndef VISIT_AWAY_H
#define VISIT_AWAY_H

#include "coach/verdict.h"
#include "link/source.h"

#define AWAY_AFTER_MS 3000  /* a board that restarts is back before */
#define AWAY_LISTEN_MS 2500 /* so long a port may take to its hello: opening it restarts some boards */

struct away {
    int after_ms;
    struct host_time since;
    struct source_there before;     /* at the loss; then also those that were asked */
    struct message says;        /* MESSAGE_NONE: nothing yet */
};

void away_init(struct away *a); /* nothing is lost; after AWAY_AFTER_MS */

/* The sensor was lost now. */
void away_begin(struct away *a, struct host_time now);

bool away_is_long(const struct away *a, struct host_time now);

/* True when there is something new to be told: it is in a->says then. path: the lost port's. */
bool away_has_news(struct away *a, const char *path, struct host_time now);

#endif
