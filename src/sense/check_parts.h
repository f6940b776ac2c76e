/* check_parts.h - what check.c, check_judge.c and check_limits.c share. */
#ifndef SENSE_CHECK_PARTS_H
#define SENSE_CHECK_PARTS_H

#include "sense/check.h"

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

/* Mean counts of the empty part. */
double check_element_mean(const struct check *c, int element);

#endif
