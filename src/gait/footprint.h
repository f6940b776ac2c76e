/* footprint.h - reads one contact from a mat's images: belt speed, foot outline, axis, strike index.
 *
 * Belt speed: once the forefoot is down, the front edge of the print rides with the belt until the toes lift,
 *      so a straight line through the edge's place against time has the belt's speed as its (negative) slope.
 *      Lightly loaded toes show too short a print, never too long a one: the line is pulled to the front.
 *      Where the belt moves a whole number of rows between two frames (20 mm at 4 m/s and 200 Hz on 10 mm),
 *      every frame cuts the edge row at the same place and the slope errs by up to 3 %; else by about 1 %.
 * Outline: every frame's edges are carried back to the moment of touchdown at that speed; the print's heel is
 *      the rearmost edge there, its toe the 90th percentile while the edge stands on the belt. A foot that
 *      never puts its heel down shows a print shorter than the foot: then the entered foot length, if any, is
 *      laid back from the toe.
 * Axis: principal axis of the load summed over the whole contact in the belt's frame (second moments).
 * Strike index: COP at first reliable load, in the belt's frame, from heel (0) to toe (100 %) of the print
 *      (Cavanagh & Lafortune 1980, facts A).
 * Whole foot at load: the outline covers at least 80 % of the foot's length at the loading peak.
 * All sums are kept so that the speed need not be known before the contact is over.
 * Memory: the struct; contacts longer than FOOTPRINT_FRAMES frames are not read.  Pure.
 */
#ifndef GAIT_FOOTPRINT_H
#define GAIT_FOOTPRINT_H

#include "sense/frame.h"

#define FOOTPRINT_FRAMES 640      /* the longest running contact (contact.h: 600 ms) at 1000 Hz, with room */
#define FOOTPRINT_MIN_FRAMES 8    /* fewer show no outline that moves. common practice, no source */
#define FOOTPRINT_ROWS 128        /* of the largest mat (sense/frame.h) */
#define FOOTPRINT_MIN_IDLE 3      /* one lost or odd frame is no idle load. common practice, no source */
#define FOOTPRINT_WHOLE_SHARE 0.8 /* of the foot's length. common practice, no source */

struct footprint_edge {
    double time_us;
    float front_mm, rear_mm, cop_fwd_mm, force_n;
};

/* What the mat shows with nobody on it, row by row: a stuck element bears a load in every frame of a flight. */
struct footprint_idle {
    double least_n[FOOTPRINT_ROWS]; /* smallest of the present flight */
    int n;                          /* frames of it */
};

struct footprint {
    double idle_n[FOOTPRINT_ROWS];  /* taken off each row */
    bool has_idle;                  /* a flight has shown it */
    struct footprint_edge edge[FOOTPRINT_FRAMES];
    int n;
    bool is_too_long;
    /* Sums over the contact of load w at (fwd x, right y), at time T after the first frame, s. */
    double w, wx, wy, wt, wxx, wxy, wyy, wxt, wyt, wtt;
};

struct footprint_result {
    bool is_valid;
    double belt_speed_m_s;  /* of this contact alone; NAN when the edge was not seen long enough */
    double heel_fwd_mm, toe_fwd_mm; /* laboratory frame at touchdown; NAN without a speed */
    double length_mm;       /* toe - heel */
    double axis_deg;        /* of the print to the belt, positive = toes to the right; NAN when not known */
};

/* Starts a new contact; the idle loads stay. */
void footprint_reset(struct footprint *p);

void footprint_idle_reset(struct footprint_idle *i);

/* Adds a frame in which nobody touches the mat. Precondition: f->image. */
void footprint_idle_feed(struct footprint_idle *i, const struct frame *f);

/* Uses what a flight showed; does nothing after fewer than FOOTPRINT_MIN_IDLE frames. */
void footprint_set_idle(struct footprint *p, const struct footprint_idle *i);

/* What one frame shows of the foot alone. */
struct footprint_frame {
    double cop_fwd_mm, cop_right_mm; /* NAN: nothing is loaded */
    bool is_at_border;               /* the foot may reach over the mat's edge */
};

/* Adds a frame of the present contact. Precondition: f->image. */
struct footprint_frame footprint_feed(struct footprint *p, const struct frame *f);

/* speed_m_s: to use for the outline; NAN = the contact's own. foot_mm: entered length or NAN. */
struct footprint_result footprint_read(const struct footprint *p, double touchdown_us, double toe_off_us,
                                       double speed_m_s, double foot_mm);

/* Share of foot_mm that the outline covers at a time; NAN when there is no frame near it. */
double footprint_cover(const struct footprint *p, double time_us, double foot_mm);

#endif
