/* interval.h - how many frames are missing between two, by their times.
 *
 * In:  microseconds between one frame and the next.   Out: how many frames are missing in between.
 * How: the period starts as the nominal one and follows the real one slowly. More than 1.5 periods is a
 *      gap, or more than 3 where a sequence number says that nothing was lost (a board that stamps its
 *      frames unevenly). INTERVAL_ALIKE long intervals in a row that are alike are no gaps: the board
 *      is slower than it says, and the period becomes theirs.
 *
 * Memory: the struct.  Threads: one at a time.
 */
#ifndef SENSE_INTERVAL_H
#define SENSE_INTERVAL_H

#include <stdbool.h>
#include <stdint.h>

#define INTERVAL_ALIKE 16

struct interval {
    double period_us; /* NAN: not known, nothing is called a gap */
    double alike_us;  /* the long interval that repeats */
    int n_alike;
};

/* rate_hz: nominal, NAN when not known. */
void interval_init(struct interval *v, double rate_hz);

/* The frames missing before this one, 0 for none. is_complete: a sequence says that none was lost. */
uint32_t interval_feed(struct interval *v, int64_t step_us, bool is_complete);

#endif
