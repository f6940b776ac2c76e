/* store_watch.h - asks the running visit's writer, a few times a second, whether what is run is also kept.
 *
 *      case 1   the last try failed (disc full, store locked for long)   said until one works again; nothing is lost yet
 *      case 2   records wait for STORE_WATCH_STALL_US and none is kept   likewise: the disc hangs
 *      case 3   records are lost (their ring was full, the visit is gone) said, with how many
 *      case 4   the visit goes on in a fresh place (store/spill.h)        said, with where; nothing is lost
 *
 * Threads: one a watch, between the begin and the end of the visit.   Memory: the struct.   Errors: none.
 */
#ifndef VISIT_STORE_WATCH_H
#define VISIT_STORE_WATCH_H

#include "base/units.h"
#include "visit/visit.h"

#define STORE_WATCH_EVERY_US (250 * UNITS_US_PER_MS)
#define STORE_WATCH_STALL_US (2 * UNITS_US_PER_S)

struct store_watch {
    struct host_time looked, kept; /* us 0 = never */
    uint64_t n_written, n_dropped;
    bool is_bad;
    bool is_aside;       /* bad, but kept elsewhere */
    struct message says; /* MESSAGE_NONE: all is kept */
};

/* What goes to another thread by a mailbox. */
struct store_told {
    bool is_bad, is_aside; /* as in store_watch */
    struct message says;
};

/* True when says changed from well to bad, back, or to more that is lost. A visit that is not open is well. */
bool store_watch_look(struct store_watch *w, struct visit *v, struct host_time now);

/* The same from a status; for tests. */
bool store_watch_judge(struct store_watch *w, const struct writer_status *s, struct host_time now);

#endif
