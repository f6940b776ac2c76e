/* devclock.h - the board's 32-bit microsecond counter made into one time line that never goes back.
 *
 * In:  t_us as sent, in order of arrival, with arrival times.   Out: dev_time, and what was seen.
 *
 *      case 1   a little later               normal                        (test: in_order)
 *      case 2   wrapped past 2^32            unwrapped                     (test: wrap)
 *      case 3   the same again               repeated: to be dropped       (test: repeated)
 *      case 4   a little earlier             late: to be dropped           (test: late)
 *      case 5   far earlier; more than 10 s  the board restarted or its    (test: restart)
 *               off what the host's clock    clock jumped: the time line goes on from the last
 *               says; or DEVCLOCK_MAX_LATE   instant, plus what the host's clock says went by
 *               late ones in a row
 *
 * "A little" is DEVCLOCK_LATE_US. The 10 s leave room for a computer that was too busy to read. Where
 * all arrivals are 0 (a plain file), the host's clock plays no part, and a forward jump of more than
 * DEVCLOCK_JUMP_US is a restart.
 *
 * Memory: the struct.  Threads: one at a time.  Errors: none; counted.
 */
#ifndef SENSE_DEVCLOCK_H
#define SENSE_DEVCLOCK_H

#include "base/units.h"

#define DEVCLOCK_LATE_US        INT64_C(2000000)
#define DEVCLOCK_JUMP_US        INT64_C(600000000)
#define DEVCLOCK_HOST_SLACK_US  INT64_C(10000000)
#define DEVCLOCK_RESTART_MIN_US INT64_C(1000) /* the time line never stands still */
#define DEVCLOCK_MAX_LATE       8

enum devclock_seen {
    DEVCLOCK_FIRST,
    DEVCLOCK_IN_ORDER,
    DEVCLOCK_REPEATED, /* drop it */
    DEVCLOCK_LATE,     /* drop it */
    DEVCLOCK_RESTARTED,
};

struct devclock {
    bool has_last;
    uint32_t last_t_us;
    struct dev_time last;
    struct host_time last_arrived;
    int n_wraps, n_repeated, n_late, n_restarts;
    int n_late_in_a_row;
};

void devclock_init(struct devclock *c);

/* Places t_us on the time line. *out is valid unless the answer is REPEATED or LATE. */
enum devclock_seen devclock_feed(struct devclock *c, uint32_t t_us, struct host_time arrived,
                                 struct dev_time *out);

#endif
