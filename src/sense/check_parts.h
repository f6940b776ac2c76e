/* check_parts.h - what check.c and check_judge.c share. */
#ifndef SENSE_CHECK_PARTS_H
#define SENSE_CHECK_PARTS_H

#include "sense/check.h"

/* Counts of an element that carries nothing, by the profile. */
double check_offset_counts(const struct sense_profile *p, int element);

/* Counts above the offset up to which a mat's element shows no load; at least 1. */
double check_floor_counts(const struct sense_profile *p);

/* Mean counts of the empty part. */
double check_element_mean(const struct check *c, int element);

#endif
