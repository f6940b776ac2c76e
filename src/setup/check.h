/* check.h - is the sensor fit for use? What a few seconds with nobody on it show, and a few with a load.
 *
 * In:  each data packet with the frame that sense made of it, in order, first of an empty sensor, then, if
 *      wanted, while somebody loads all of it; what the caller knows of the line.
 * Out: a report: for each item a figure, a grade, a sentence, and what to do; the elements by number.
 * How: one pass, sums only. Elements are judged by their raw counts, the whole by the calibrated force.
 *
 *      rate       frames a second of device time, against the nominal
 *      jitter     standard deviation of the frame intervals that are no gaps
 *      clock      device time against this computer's over the whole check; restarts
 *      lost       frames that are missing, of those that should have come
 *      line       bytes that could not be read; what the board says of itself
 *      noise      spread of the empty sensor's force; elements that show a load now and then
 *      offset     mean force of the empty sensor; elements that show a load all the time
 *      drift      its slope over time, where it is more than four standard errors; untested where the time was too short
 *                 for that to tell a drift that matters
 *                 noise with a swing of 50 N, or a zone that goes down and up, means that the sensor was not empty: then
 *                 offset and drift are not judged, and the advice is to get off and check again
 *      stuck      elements that read the same loaded value, or full scale, all the time
 *      dead       mat: never loaded, though in CHECK_DEAD_FRAMES frames a neighbour on either side was;
 *                 cells: takes under 1 % of the load; switches: never down       (needs the loaded part)
 *      saturated  loaded elements at full scale                                  (needs the loaded part)
 *      crosstalk  mat: load on the far parts of the row and column of a pressed spot, as a share of it;
 *                 the median along the line; only frames that show one spot count (needs the loaded part)
 *
 * Limits. Force: the contact threshold is 50 N, so 5 standard deviations of noise must stay well below it.
 * Cross-talk: arrays that hold their idle lines at the same potential stay under 3.6 % (Castro F et al. 2018,
 * IEEE Sensors J 18:382-389), arrays that do not reach 30 % (Hidalgo-Lopez JA et al. 2018, J Sensors
 * 9735741). The others are ours, in check_limits.c.
 *
 * Memory: the struct (about 700 kB), nothing else.  Threads: one at a time.  Errors: none.
 */
#ifndef SETUP_CHECK_H
#define SETUP_CHECK_H

#include "base/message.h"
#include "sense/frame.h"
#include "sense/profile.h"
#include "wire/packet.h"

#include <stddef.h>

#define CHECK_MAX_NAMED   24 /* elements that a finding can name */
#define CHECK_AT_MAX      96
#define CHECK_MIN_FRAMES  50 /* fewer tell nothing */
#define CHECK_DEAD_FRAMES 5
#define CHECK_SPOT_MM     50.0 /* half width of a pressed spot: a thumb, a heel, a small weight */

enum check_grade {
    CHECK_UNTESTED = 0, /* does not apply to this sensor, or its part was not done */
    CHECK_GOOD,
    CHECK_MIND, /* usable, with the said consequence */
    CHECK_BAD,
};

enum check_item {
    CHECK_RATE = 0,
    CHECK_JITTER,
    CHECK_CLOCK,
    CHECK_LOST,
    CHECK_LINE,
    CHECK_NOISE,
    CHECK_OFFSET,
    CHECK_DRIFT,
    CHECK_STUCK,
    CHECK_DEAD,
    CHECK_SATURATED,
    CHECK_CROSSTALK,
    CHECK_N_ITEMS,
};

struct check_finding {
    enum check_grade grade;
    double value;                      /* NAN when untested */
    struct message says;
    const char *todo;                  /* "" when there is nothing to do; English in static storage, looked up where it is shown */
    int n_elements;                    /* that are concerned; the first CHECK_MAX_NAMED by number: */
    uint16_t element[CHECK_MAX_NAMED]; /* mat row * n_cols + col, cell or zone from 0 */
    struct message at;                 /* the first of them: "3:17 3:18 and 4 more"; MESSAGE_NONE */
};

struct check_report {
    enum check_grade grade; /* the worst */
    double seconds_empty, seconds_loaded;
    bool is_relative; /* forces are in the uncalibrated sensor's own newton */
    bool is_occupied; /* somebody was on it while it should have been empty */
    struct check_finding finding[CHECK_N_ITEMS];
};

/* What the check can't see in packets. */
struct check_line {
    uint64_t n_bytes;
    uint64_t n_damaged;     /* units that could not be read */
    uint64_t n_repeated;    /* packets that came twice or late, and were dropped */
    const char *board_says; /* a fault that the board reports of itself, in English, looked up where it is shown; NULL: none */
};

struct check_element {
    int32_t base;      /* first count: sums are of the difference from it */
    int32_t low, high; /* empty */
    int32_t loaded_low, loaded_high;
    double sum, sum_sq, sum_tx;
    uint32_t n_above;   /* empty frames in which it showed a load */
    uint32_t n_full;    /* loaded frames in which it was at full scale */
    uint32_t n_between; /* loaded frames in which it showed nothing between two loaded neighbours */
    bool was_loaded;
};

/* Sums of one number over time, of the difference from the first value. */
struct check_trend {
    double first, sum, sum_sq, sum_tx;
};

struct check {
    const struct sense_profile *profile;
    double nominal_hz;
    int n_elements;
    bool is_loaded; /* which part runs */
    bool is_relative;
    bool has_last;
    struct dev_time last;
    int64_t last_arrived_us, first_arrived_us, first_us;
    struct dev_time phase_start; /* of the part that runs; valid when has_phase */
    bool has_phase;
    uint64_t n_empty, n_loaded, n_lost, n_restarts, n_intervals;
    double interval_sum_us, interval_sum_sq, interval_max_us;
    double seconds_empty, seconds_loaded;
    double sum_t, sum_tt; /* of the empty part */
    struct check_trend force;
    double force_peak_n; /* loaded */
    uint64_t n_frames_full;
    double ghost_row, ghost_col; /* sums of shares */
    uint64_t n_ghost_row, n_ghost_col;
    double line_ghost[2]
                     [PACKET_MAX_ROWS > PACKET_MAX_COLS ? PACKET_MAX_ROWS : PACKET_MAX_COLS]; /* rows, cols */
    uint32_t n_line_ghost[2][PACKET_MAX_ROWS > PACKET_MAX_COLS ? PACKET_MAX_ROWS : PACKET_MAX_COLS];
    struct check_element element[FRAME_MAX_ELEMENTS];
};

/* profile must outlive the check. nominal_hz: NAN when not known. The empty part begins. */
void check_init(struct check *c, const struct sense_profile *profile, double nominal_hz);

/* From now on somebody loads the sensor. */
void check_begin_loaded(struct check *c);

/* One data packet and its frame. Precondition: the packet fits the profile, as sense saw to. */
void check_feed(struct check *c, const struct packet *p, const struct frame *f);

/* Takes the empty part back to what it was at a moment before (a copy of c): somebody stepped on since. What is known
 * of time and line stays. */
void check_forget_since(struct check *c, const struct check *before);

/* Judges what was fed so far. */
void check_judge(const struct check *c, const struct check_line *line, struct check_report *out);

/* "rate", "noise" ... and "good", "mind", "bad", "untested"; the unit of an item's figure for this kind of
 * sensor. Static storage. */
const char *check_item_name(enum check_item item);
const char *check_grade_name(enum check_grade grade);
const char *check_item_unit(enum check_item item, enum frame_kind kind);

/* An element in words: "3:17" (row:column), "cell 2", "LH". Returns out. */
char *check_element_name(const struct sense_profile *p, int element, char *out, size_t cap);

#endif
