/* loading.h - how fast and how high the vertical force rises in one contact.
 *
 * In:  the contact's force, low-passed (condition.h), equally spaced, with touchdown and toe-off on it.
 * Out: active peak, impact transient, loading rates.
 *
 * Transient: a local maximum before the active peak, within the first 35 % of the contact, after which the
 *      force really dips: by at least 2 % of the active peak. (facts B: in running it comes 10-30 ms after
 *      touchdown and forefoot landings show none. The 2 % is ours: less is filter ripple.)
 * Rate: mean slope from 20 % to 80 % of the point of interest, read by FORCE share, from the first crossing of
 *      20 % to the first crossing of 80 % (Milner et al. 2006; Crowell & Davis 2011: facts B). Some
 *      laboratories read 20-80 % of the time instead; by force is used because it does not depend on where
 *      exactly the threshold put the touchdown. The point of interest is the transient's peak; where there is
 *      none, the force at 13 % of the contact (Willy, Pohl & Davis 2008: facts B).
 *      The maximum is the steepest slope between successive samples in the same window.
 * Memory: none.  Errors: what can't be read is NAN.
 */
#ifndef GAIT_LOADING_H
#define GAIT_LOADING_H

#include <stdbool.h>

#define LOADING_TRANSIENT_BEFORE 0.35 /* of the contact */
#define LOADING_DIP_SHARE 0.02        /* of the active peak */
#define LOADING_NO_PEAK_SHARE 0.13    /* of the contact: point of interest without a transient */
#define LOADING_ACTIVE_AFTER 0.25     /* of the contact: the active peak lies after this */

struct loading {
    double peak_n, peak_us;           /* active peak; time since touchdown */
    bool has_transient;
    double transient_n, transient_us; /* NAN without a transient; time since touchdown */
    double rate_n_s, rate_max_n_s;
};

/* force_n[n]: values at start_us + i * period_us. Times on the same clock as touchdown_us and toe_off_us. */
struct loading loading_measure(const double *force_n, int n, double start_us, double period_us,
                               double touchdown_us, double toe_off_us);

#endif
