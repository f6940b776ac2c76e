/* faults.h - all that is wrong with a real sensor, its treadmill, and its cable; seeded.
 *
 * In:  perfect counts, states and bytes.   Out: the same as a real device would give them.
 *
 *      on the deck      belt and deck vibration, the belt's seam passing once a belt length
 *      in the element   noise, baseline drift, dead or stuck elements, saturation
 *      in a switch      chatter for chatter_ms after it changes
 *      in the board     clock that starts anywhere (wrap) or jumps, reset in mid-run
 *      on the cable     lost, repeated, damaged packets
 *
 * A zeroed config with the NANs of faults_config_default() is a perfect sensor.
 * Memory: the struct.  Threads: one at a time.  Errors: none; all faults done are counted.
 */
#ifndef SIM_FAULTS_H
#define SIM_FAULTS_H

#include "sense/frame.h"
#include "sim/random.h"

#include <stddef.h>

#define FAULTS_MAX_STUCK 16
#define FAULTS_MAX_ZONES 8
#define FAULTS_N_NORMALS 1024

struct faults_config {
    uint64_t seed;
    double noise_counts;                               /* standard deviation, each element and sample */
    double drift_counts_per_s;                         /* of the baseline, all elements alike */
    double vibration_n, vibration_hz;                  /* amplitude; its frequency wanders by 5 % */
    double seam_bump_n, belt_length_mm, seam_mm;       /* height, belt's length, length of the bump */
    double lost_share, corrupt_share, duplicate_share; /* of packets, 0..1 */
    double chatter_ms; /* switches: states are random for so long after a change */
    uint32_t clock_start_us;
    double reset_at_s, reset_for_s; /* NAN = never: the board is silent, its clock starts at 0 again */
    double jump_at_s, jump_s;  /* NAN = never: the clock jumps by so much, forwards or back, and goes on */
    int32_t saturation_counts; /* 0 = none: the largest count */
    int n_stuck;
    int stuck_element[FAULTS_MAX_STUCK];
    int32_t stuck_counts[FAULTS_MAX_STUCK]; /* a dead element is stuck at its offset */
};

struct faults {
    struct faults_config config;
    struct random random;
    double drawn[FAULTS_N_NORMALS]; /* normal numbers drawn once: a mat needs 10^6 a second */
    bool was_down[FAULTS_MAX_ZONES];
    double changed_s[FAULTS_MAX_ZONES];
    uint64_t n_lost, n_corrupt, n_duplicates, n_saturated;
};

struct faults_config faults_config_default(void); /* perfect */

void faults_init(struct faults *f, const struct faults_config *c);

/* Load on the deck that nobody's foot makes, N. Pure in t and travel. */
double faults_deck_n(const struct faults *f, double t_s, double belt_travel_mm);

/* The same as a mat under the belt feels it: load_n[r] is what each element of row r gets on top, N. The
 * vibration presses on all elements alike; the seam is a ridge across the belt that runs through the mat from
 * front to rear, seam_mm long, seam_bump_n in all while it is wholly on the mat. Pure in t and travel. */
void faults_mat_rows(const struct faults *f, double t_s, double belt_travel_mm, const struct frame_image *mat,
                     double load_n[]);

/* One element's count, from its perfect one. */
int32_t faults_count(struct faults *f, int element, double counts, double t_s);

/* A switch's state as the board reads it. */
bool faults_switch(struct faults *f, int zone, bool is_down, double t_s);

/* True while the board is restarting. */
bool faults_is_resetting(const struct faults *f, double t_s);

/* The board's clock at t_s, wrapping at 2^32. */
uint32_t faults_clock_us(const struct faults *f, double t_s);

/* How often the packet arrives: 0, 1, 2. Counts what it does. */
int faults_arrivals(struct faults *f);

/* Damages one byte of a packet, or not. True if it did. */
bool faults_damage(struct faults *f, uint8_t *bytes, size_t len);

#endif
