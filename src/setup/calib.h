/* calib.h - works a calibration out from frames: zero, standing mass, running, equalised elements. Pure.
 *
 * In:  packets with their frames, as sense made them by the profile in force.
 * Out: a profile with the new values, and an entry for the history (calib_file.h).
 *
 *      zero      nobody on: the mean counts become the offsets. Refused when the load changes meanwhile, when a foot zone
 *                is pressed, and when what would be taken off looks like somebody: on a mat, elements that stand out of
 *                the rest by CALIB_SOMEBODY_N together; on cells that were zeroed before, so much more or less than
 *                then. A deck's own weight, at the first zero of cells, can't be told from a person: how much was taken
 *                off is in the entry. The caller may say that nobody is on (is_surely_empty), and it is taken.
 *      mass      somebody of known mass stands still: gain = gain x m g / mean force.
 *      running   somebody of known mass runs: over whole strides the mean vertical force is body weight
 * (momentum balance: impulse = change of momentum, none over a stride), so gain = gain x m g / that mean.
 *      equalise  mat: a roller, or a weight that is larger than an element, goes over all of it. Each element
 * sees the same load at its peak; its gain is the median peak over its own peak. A peak counts when two
 * frames in a row show it. The median stays where it was, so the whole's gain does too.
 *
 * Drift: the gain error that mass or running found, in percent, before it was taken off.
 * Memory: the struct (about 130 kB).  Threads: one at a time.  Errors: enum err with a sentence in why.
 */
#ifndef SETUP_CALIB_H
#define SETUP_CALIB_H

#include "base/err.h"
#include "base/message.h"
#include "sense/frame.h"
#include "sense/profile.h"
#include "wire/packet.h"

#include <stddef.h>

#define CALIB_MIN_FRAMES  50
#define CALIB_STILL_N     25.0 /* zero: the force may spread by so much (standard deviation), */
#define CALIB_STILL_ZONE  0.05  /* zero: a zone's reading likewise, of its full scale */
#define CALIB_SOMEBODY_N  100.0 /* zero: a child standing weighs more */
#define CALIB_STILL_RATIO 0.04 /* mass: by this share of its mean */
#define CALIB_GAIN_MIN    0.5  /* an element that differs by more is broken, not uneven */
#define CALIB_GAIN_MAX    2.0
#define CALIB_COVER_RATIO 0.9 /* of the elements that the roller must have gone over */
#define CALIB_FAR_RATIO   5.0 /* a calibrated sensor is not off by so much: the mass is wrong */

enum calib_what {
    CALIB_ZERO = 0,
    CALIB_MASS,
    CALIB_RUNNING,
    CALIB_EQUALISE,
    CALIB_N_WHATS,
};

struct calib_entry {
    int number; /* 1, 2, 3 ... in its file; 0 = not kept yet */
    enum calib_what what;
    int64_t made_utc_ms;
    double mass_kg;    /* NAN unless mass or running */
    double drift_pct;  /* NAN unless mass or running of a sensor that had a gain */
    double moved_n;    /* zero: what was taken off, by the gain; NAN without one, and once it is kept */
    double spread_pct; /* equalise: how uneven the elements were (standard deviation); else NAN */
    int n_left;        /* equalise: elements left as they were */
    bool is_undone;
};

struct calib {
    const struct sense_profile *profile;
    enum calib_what what;
    bool is_surely_empty; /* zero: the caller's, after calib_init() */
    uint64_t n_frames, n_full, n_edge;
    double force_first, force_sum, force_sum_sq;
    double sum[FRAME_MAX_ELEMENTS]; /* counts */
    double zone_sum_sq[PACKET_MAX_ZONES];
    int32_t last[FRAME_MAX_ELEMENTS], peak[FRAME_MAX_ELEMENTS];
};

/* profile must outlive it; it is the one that the frames are made with. */
void calib_init(struct calib *c, const struct sense_profile *profile, enum calib_what what);

/* Precondition: the packet fits the profile. */
void calib_feed(struct calib *c, const struct packet *p, const struct frame *f);

/* The new profile and its entry. mass_kg: for CALIB_MASS. ERR_FORMAT: what was fed can't be used, why says
 * it. */
enum err calib_finish(const struct calib *c, double mass_kg, struct sense_profile *out,
                      struct calib_entry *entry, struct message *why);

/* The same from a weight that was measured elsewhere: CALIB_RUNNING by the engine's momentum balance. */
enum err calib_by_weight(const struct sense_profile *profile, enum calib_what what, double measured_n,
                         double mass_kg, struct sense_profile *out, struct calib_entry *entry,
                         struct message *why);

/* Gain error, percent: measured weight over m g. NAN when either is not known. */
double calib_drift_pct(double measured_n, double mass_kg);

/* "zero", "mass", "running", "equalise"; false when word is none of them. */
const char *calib_what_name(enum calib_what what);
bool calib_what_from_name(const char *word, enum calib_what *out);

/* What is asked of people meanwhile: "nobody on the sensor, the belt stopped, please". Static storage. */
const char *calib_please(enum calib_what what);

#endif
