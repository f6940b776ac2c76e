/* local_time.h - a stored moment as text, in the zone where it happened.
 *
 * The offset comes from the visit's row, not from this computer's zone: a visit keeps its time of day when it
 * is read elsewhere or after the clocks changed. Gregorian, no leap seconds. */
#ifndef PAPER_LOCAL_TIME_H
#define PAPER_LOCAL_TIME_H

#include <stdint.h>

#define LOCAL_TIME_MAX 32

/* 2026-03-29T14:05:09+02:00 (ISO 8601). Gives out. */
const char *local_time_iso(char out[LOCAL_TIME_MAX], int64_t utc_ms, int zone_offset_min);

/* 2026-03-29 14:05, for people. Gives out. */
const char *local_time_short(char out[LOCAL_TIME_MAX], int64_t utc_ms, int zone_offset_min);

#endif
