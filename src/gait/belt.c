#include "gait/belt.h"

#include <math.h>
#include <stdbool.h>

/* Contacts that the speed rests on: six strides, so that a belt that changes is followed within three.
 * common practice, no source */
#define BELT_SPAN 12
/* From this many contacts on one of them can be called odd. common practice, no source */
#define BELT_MIN 4
/* One contact's speed errs by up to 3 % (footprint.h); twice that is no error of reading. */
#define BELT_ODD_SHARE 0.06

void
belt_init(struct belt *b, double entered_m_s)
{
    b->entered_m_s = entered_m_s;
    stats_init(&b->seen, BELT_SPAN);
}

double
belt_feed(struct belt *b, double own_m_s)
{
    double usual_m_s = b->seen.n >= BELT_MIN ? stats_median(&b->seen) : (double) NAN;
    stats_feed(&b->seen, own_m_s);
    bool is_odd = fabs(own_m_s - usual_m_s) > BELT_ODD_SHARE * usual_m_s;
    return is_odd ? (double) NAN : own_m_s;
}

double
belt_speed_m_s(const struct belt *b)
{
    return isnan(b->entered_m_s) ? stats_median(&b->seen) : b->entered_m_s;
}
