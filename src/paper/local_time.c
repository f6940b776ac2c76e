#include "paper/local_time.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static struct tm
local_parts(int64_t utc_ms, int zone_offset_min)
{
    int64_t ms = utc_ms + zone_offset_min * INT64_C(60000);
    time_t at = (time_t) (ms >= 0 ? ms / 1000 : (ms - 999) / 1000);
    struct tm t;

    memset(&t, 0, sizeof t);
    (void) gmtime_r(&at, &t);
    return t;
}

const char *
local_time_iso(char out[LOCAL_TIME_MAX], int64_t utc_ms, int zone_offset_min)
{
    struct tm t = local_parts(utc_ms, zone_offset_min);
    size_t n = strftime(out, LOCAL_TIME_MAX, "%Y-%m-%dT%H:%M:%S", &t);
    int minutes = abs(zone_offset_min);

    snprintf(out + n, LOCAL_TIME_MAX - n, "%c%02d:%02d", zone_offset_min < 0 ? '-' : '+', minutes / 60 % 100,
             minutes % 60);
    return out;
}

const char *
local_time_short(char out[LOCAL_TIME_MAX], int64_t utc_ms, int zone_offset_min)
{
    struct tm t = local_parts(utc_ms, zone_offset_min);

    strftime(out, LOCAL_TIME_MAX, "%Y-%m-%d %H:%M", &t);
    return out;
}
