/* simulated_run.h - force-plate recordings of simulated runners, hard in the ways recorded ones are, with the truth.
 *
 * Each kind is one runner of sim/, seen by a plate: offset, noise and belt vibration as measured on recorded runs
 * (5 to 10 N sd in flight at 300 Hz), a centre of pressure that scatters as 3 N m over the force. Then what makes the
 * kind hard is done to it:
 *
 *      rear, mid, fore   where the foot lands, nothing else
 *      spikes            the text form of recorded runs: below 30 N set to 0, but lone samples of 30-80 N in the
 *                        flights, and single zeros inside rising edges; no centre of pressure
 *      drift             the zero wanders by 150 N within the run
 *      slope_down        force alone, normal to a belt of -10 degrees, 500 Hz, low-passed at 30 Hz so that it rings
 *                        below zero before a touchdown; starts in mid-stance; hard on the heel
 *      slope_up          the same of +10 degrees, landing on the forefoot
 *      holes             2 % of the rows lost, eight bursts of 5 rows, and once a whole second
 *      walking           no flight: no running step in it
 *
 * Truth is the simulator's own: touchdown and toe-off where the clean force passes 50 N. Same seed, same bytes.
 * `make simulated-recordings` writes them all as files, `KIND.csv` and `KIND_truth.csv`.
 */
#ifndef AID_SIMULATED_RUN_H
#define AID_SIMULATED_RUN_H

#include <stdbool.h>
#include <stddef.h>

struct simulated_run {
    const char *name;
    double rate_hz, seconds, strike_index_pct, speed_m_s, slope_deg;
    double hole_from_s, hole_to_s; /* no row between; equal: none */
    bool has_cop, is_walking;
};

/* Kind k, or NULL past the last. */
const struct simulated_run *simulated_run_at(int k);

/* Writes FOLDER/NAME.csv and FOLDER/NAME_truth.csv; false when it can't. */
bool simulated_run_write(const struct simulated_run *run, const char *folder);

/* The options of `underfoot steps` for it, file and all, as a user would type them. */
void simulated_run_words(const struct simulated_run *run, const char *folder, char *out, size_t cap);

#endif
