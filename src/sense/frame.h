/* frame.h - contract of sense: one instant of one sensor, calibrated. Knows nothing of gait.
 *
 * Axes, everywhere in the program: fwd_mm along the belt, forward positive (the way the runner faces);
 * right_mm across the belt, to the runner's right; force up positive.
 */
#ifndef SENSE_FRAME_H
#define SENSE_FRAME_H

#include "base/units.h"

#define FRAME_MAX_ELEMENTS (128 * 64)
#define FRAME_MAX_ZONES 8

enum frame_kind {
    FRAME_KIND_FORCE = 0, /* a force trace from a plate, with or without COP */
    FRAME_KIND_CELLS,
    FRAME_KIND_MAT,
    FRAME_KIND_SWITCHES,
};

/* Quality, one bit each. */
enum frame_flag {
    FRAME_GAP_BEFORE = 1 << 0,  /* packets are missing just before this frame */
    FRAME_SATURATED = 1 << 1,   /* at least one loaded element is at full scale */
    FRAME_AT_EDGE = 1 << 2,     /* mat: a foot on the outermost elements: part of it may be outside */
    FRAME_RELATIVE = 1 << 3,    /* force is proportional to newton, gain not calibrated */
    FRAME_CLOCK_RESET = 1 << 4, /* the board restarted: nothing before joins this frame */
    FRAME_DEAD_ELEMENT = 1 << 5,/* a known dead or stuck element was left out */
};

/* Foot zones of a switch sensor. */
enum frame_zone {
    FRAME_ZONE_HEEL = 0,
    FRAME_ZONE_FORE,  /* forefoot */
    FRAME_ZONE_MID,
    FRAME_ZONE_TOE,
};

/* A mat's image: element (r, c) has its centre at fwd = origin_fwd_mm + r * pitch_fwd_mm,
 * right = origin_right_mm + c * pitch_right_mm. Row 0 is the rearmost, column 0 the leftmost. */
struct frame_image {
    int n_rows, n_cols;
    double pitch_fwd_mm, pitch_right_mm;
    double origin_fwd_mm, origin_right_mm;
    float load_n[FRAME_MAX_ELEMENTS]; /* row-major; >= 0, noise floor already cut */
};

struct frame_switches {
    int n_zones;
    bool is_right[FRAME_MAX_ZONES];
    enum frame_zone zone[FRAME_MAX_ZONES];
    bool is_down[FRAME_MAX_ZONES];
    double load[FRAME_MAX_ZONES]; /* 0..1 of full scale; 0 or 1 for a binary switch */
};

struct frame {
    struct dev_time time;
    struct host_time arrived; /* of the bytes that made it; 0 when from a file */
    enum frame_kind kind;
    uint32_t flags;           /* enum frame_flag bits */
    uint32_t n_lost_before;   /* valid with FRAME_GAP_BEFORE */
    double force_n;           /* NAN for switches */
    double cop_fwd_mm;        /* NAN when unknown or too lightly loaded */
    double cop_right_mm;
    bool has_moment;          /* the moments are known whatever the load, so that a drift can be taken off */
    double moment_fwd_n_mm;   /* sum of load * fwd; valid when has_moment */
    double moment_right_n_mm; /* sum of load * right; valid when has_moment */
    const struct frame_image *image;       /* mat only, else NULL; borrowed until the next frame */
    const struct frame_switches *switches; /* switches only, else NULL; borrowed likewise */
};

#endif
