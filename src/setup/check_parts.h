/* check_parts.h - what the files of check.h share. */
#ifndef SETUP_CHECK_PARTS_H
#define SETUP_CHECK_PARTS_H

#include "setup/check.h"

#define CHECK_FEW_ELEMENTS 32 /* that may be broken; more at once have another cause */

/* Counts of an element that carries nothing, by the profile. */
double check_offset_counts(const struct sense_profile *p, int element);

/* Counts above the offset up to which a mat's element shows no load; at least 1. */
double check_floor_counts(const struct sense_profile *p);

struct check_limits {
    const char *name, *unit, *unit_switches;
    double mind, bad, mind_switches, bad_switches;
    const char *todo;
};

/* Static storage. */
const struct check_limits *check_limits(enum check_item item);

/* What to do about a finding that is to be minded or bad. has_elements: some are named. is_occupied: the sensor was
 * not empty while it should have been. Static storage. */
const char *check_todo(enum check_item item, enum frame_kind kind, bool has_elements, bool is_occupied);

struct check_judging {
    const struct check *c;
    const struct sense_profile *p;
    struct check_report *out;
    bool is_switches;
    bool is_occupied; /* somebody was on it while it should have been empty */
};

/* A finding's grade: value is shown, by is what the limits are of. */
struct check_finding *check_grade(struct check_judging *j, enum check_item item, double value, double by);
void check_name(struct check_finding *f, int element); /* one more element that is concerned */
void check_at_least(struct check_finding *f, enum check_grade g);

/* Left out by the profile. */
bool check_is_dead(const struct sense_profile *p, int element);

/* Precondition: CHECK_MIN_FRAMES of the loaded part. */
void check_judge_loaded(struct check_judging *j);

/* Mean counts of the empty part. */
double check_element_mean(const struct check *c, int element);

#endif
