/* profile.h - what a sensor is: geometry, rate, gains, from an INI file in profiles/sensors.
 *
 * A gain that the file leaves out is NAN: the sensor then gives forces that hold only against
 * themselves (FRAME_RELATIVE). The keys are listed in profiles/sensors/README.md.
 *
 * Memory: the struct (large: a gain for each mat element).  Threads: a loaded profile is only read.
 * Errors: enum err; a sentence with file and line in why.
 */
#ifndef SENSE_PROFILE_H
#define SENSE_PROFILE_H

#include "base/err.h"
#include "base/mark.h"
#include "base/message.h"
#include "sense/frame.h"
#include "wire/packet.h"

#define PROFILE_NAME_MAX 64
#define PROFILE_NAME_FROM_HELLO N_("as the board says")
#define PROFILE_MAX_DEAD 256
#define PROFILE_CALIBRATION_MAX 64 /* the text that says which calibration is in force in a profile (setup/calib_file.h) */

struct profile_cell {
    double fwd_mm, right_mm; /* where it carries the deck; NAN when not known */
    double gain_n_per_count; /* NAN when not known; negative for a cell wired the other way round */
    double offset_counts;    /* with nobody on */
};

/* Cells that carry a deck lie further apart than this along the belt and across it; metres typed for mm do not. */
#define PROFILE_MIN_SPAN_MM 100.0

struct profile_zone {
    char name[PACKET_ZONE_NAME_MAX];
    bool is_right;
    enum frame_zone zone;
    double offset_counts; /* unloaded reading of an analog zone */
    double full_counts;   /* reading that is load 1 */
    bool has_full_counts; /* given by the file; else the board's full scale */
};

struct sense_profile {
    char name[PROFILE_NAME_MAX]; /* as its file has it; or PROFILE_NAME_FROM_HELLO, which is looked up where it is shown */
    enum frame_kind kind;     /* mat, cells or switches */
    double rate_hz;           /* NAN: as the board's hello says */
    double saturation_counts; /* at or above it an element is at full scale; NAN: as the hello says */
    double noise_counts;      /* mat: at or below it, after the offset, an element is unloaded */

    int n_rows, n_cols; /* mat; row 0 rearmost, column 0 leftmost */
    double pitch_fwd_mm, pitch_right_mm;
    double origin_fwd_mm, origin_right_mm;  /* centre of element (0, 0); NAN: mat centred on 0, 0 */
    double gain_n_per_count, offset_counts; /* mat, of every element */
    int n_dead;
    uint16_t dead[PROFILE_MAX_DEAD];        /* mat: row * n_cols + col of elements to leave out */
    float element_gain[FRAME_MAX_ELEMENTS]; /* mat: 1 unless equalised; multiplies gain_n_per_count */
    float element_offset_counts[FRAME_MAX_ELEMENTS]; /* mat: 0 unless zeroed; on top of offset_counts */

    int n_cells;
    struct profile_cell cell[PACKET_MAX_CELLS];
    double min_cop_n; /* below it the centre of pressure is not known */
    double noise_n;   /* spread of the empty sensor's force that is usual for it, standard deviation; NAN: not
                         known */
    double calibration_days,
        drift_limit_pct; /* a calibration that is older, or off by more, is to be done again */

    int n_zones;
    struct profile_zone zone[FRAME_MAX_ZONES];
    double on_ratio, off_ratio; /* analog zone: down at >= on, up at < off, of full_counts */
};

/* Reads a profile. On refusal why says "file:line: reason" and p is not to be used.
 * ERR_GONE no such file, ERR_OS may not be read, ERR_FORMAT a wrong line or a missing key. */
enum err profile_load(struct sense_profile *p, const char *path, struct message *why);

/* A sensible profile from what the board says of itself: mat centred, elements of 500 kPa full scale;
 * four cells at the corners of a common deck; zones by their names. Gains unknown. False when the
 * hello's kind is unknown or its numbers are out of range. */
bool profile_from_hello(struct sense_profile *p, const struct packet_hello *h);

/* "row:column v v ...", values of elements in row-major order from that one on, into one of the two arrays of
 * elements; each from min to max. False: fault says what is wrong, a code of the line's place and what stands there ("ft"). Needs rows and cols. */
bool profile_read_elements(const struct sense_profile *p, const char *value, double min, double max,
                           float out[FRAME_MAX_ELEMENTS], enum message_code *fault);

/* Fills foot and zone from a zone's name: L or R, then H heel, F forefoot, M midfoot, T toe. */
bool profile_zone_from_name(struct profile_zone *z, const char *name);

#endif
