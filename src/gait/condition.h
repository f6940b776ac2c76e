/* condition.h - what is done to a force before it is measured: the sensor's zero, and the low-pass.
 *
 * Zero. A force plate or deck drifts; with nobody on it, in every flight phase, it shows its zero. The
 *      median of the middle of each flight is that flight's zero (a median: spikes do not move it); under
 *      a contact the zero is the straight line between the flights on both sides. Contacts themselves are
 *      never fitted. Baseline subtraction: facts G (Cavagna group: the unloaded platform is recorded and
 *      subtracted).
 * Filter. Force-curve metrics (peak, loading rate, transient) are read from a zero-lag low-pass: a
 *      2nd-order Butterworth run forwards and backwards (net 4th order), 50 Hz: "4th-order zero-lag 50 Hz"
 *      is common practice on instrumented treadmills (facts E). Each pass has its -3 dB point at 50 Hz, so
 *      the pair is -6 dB there; the cut-off is not corrected for the second pass, as most of the literature
 *      does not say it is. Contact edges and integrals use the unfiltered force.
 *      What it does to the mean loading rate, measured on simulated curves with known slopes (tests/VALIDITY.md):
 *      with an impact transient it reads 0.93 of the unfiltered rate at 250 Hz, 0.95 at 500 and at 1000 Hz;
 *      without one 0.99, 1.00, 1.00. Compare rates only with others of the same filter.
 *      Below CONDITION_MIN_RATE_HZ there is nothing to filter and the samples are used as they are.
 * Lag: none in the result; the window must reach past toe-off, so it runs when the step is complete.
 */
#ifndef GAIT_CONDITION_H
#define GAIT_CONDITION_H

#include "gait/trace.h"

#include <stdbool.h>

#define CONDITION_CUTOFF_HZ 50.0
#define CONDITION_MIN_RATE_HZ 125.0
#define CONDITION_SCRATCH 2048

struct condition_floor {
    double zero_n;   /* NAN: cannot be told from this window */
    double spread_n; /* half the 16-84 % range: the noise's standard deviation if it is normal */
};

/* Zero of the flight between a toe-off and a touchdown, from its middle (35-85 % of it, at most the last
 * 300 ms): before that the foot's last push fades below the threshold, after that the landing begins.
 * Of a flight shorter than CONDITION_LONG_FLIGHT_US, or one of less than twice that whose middle still falls or rises by
 * more than its noise, NAN: the load has not settled there (a slow runner's 30 ms read 20-40 N too high). NAN with fewer than 4 samples.
 * scratch: CONDITION_SCRATCH doubles, the caller's. */
#define CONDITION_LONG_FLIGHT_US 45000.0
struct condition_floor condition_flight_zero(const struct trace *t, double toe_off_us, double touchdown_us,
                                             double *scratch);

/* The same of the sensor's moments, N mm: cells drift each on its own, so an unloaded deck has a moment too, and it
 * pulls the COP of a light load aside. NAN when unknown. */
double condition_flight_moment(const struct trace *t, double toe_off_us, double touchdown_us, bool is_right,
                               double *scratch);

/* Finds a zero where none is known: a window of some strides of running shows its zero as a floor that it
 * keeps returning to. Refuses (NAN) when the floor is more than CONDITION_FLOOR_SHARE of the mean, since then it
 * may be the valley of a walk, or somebody standing. */
#define CONDITION_FLOOR_SHARE 0.35
struct condition_floor condition_find_floor(const struct trace *t, double from_us, double to_us,
                                            double *scratch);

/* Zero-lag Butterworth low-pass in place over n equally spaced values; see the header. n >= 2. */
void condition_lowpass(double *value, int n, double rate_hz, double cutoff_hz);

/* Samples of the trace, less zero, at n equally spaced times from start_us; lost ones are bridged by a straight
 * line. Returns how many could be filled before the trace ended. */
int condition_resample(const struct trace *t, const struct trace_zero *z, double start_us, double period_us,
                       double *value, int n);

#endif
