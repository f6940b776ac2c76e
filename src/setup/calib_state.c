/* calib_state.c - which calibrations are in force, in words: for recordings, and for people. */
#include "base/str.h"
#include "setup/calib_file.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define DAY_MS INT64_C(86400000)

bool
calib_state_text(const struct calib_state *s, char *out, size_t cap)
{
    snprintf(out, cap, "%d %d %d", s->number[CALIB_OFFSETS], s->number[CALIB_GAIN],
             s->number[CALIB_ELEMENTS]);
    return s->number[CALIB_OFFSETS] != 0 || s->number[CALIB_GAIN] != 0 || s->number[CALIB_ELEMENTS] != 0;
}

bool
calib_state_from_text(const char *text, int only[CALIB_N_GROUPS])
{
    return sscanf(text, "%7d %7d %7d", &only[CALIB_OFFSETS], &only[CALIB_GAIN], &only[CALIB_ELEMENTS]) == 3;
}

/* The entry whose age counts: the gain's where there is one, since the engine follows the zero by itself. */
static const struct calib_entry *
main_entry(const struct calib_state *s)
{
    static const enum calib_group order[] = { CALIB_GAIN, CALIB_ELEMENTS, CALIB_OFFSETS };
    for (int i = 0; i < CALIB_N_GROUPS; i++)
        if (s->number[order[i]] != 0)
            return &s->in_force[order[i]];
    return NULL;
}

bool
calib_state_tell(const struct calib_state *s, const struct sense_profile *profile, int64_t now_utc_ms, struct message *out)
{
    static const char *const how[CALIB_N_WHATS] = { N_("zeroed"), N_("gain by a standing mass"), N_("gain by running"),
                                                    N_("elements equalised") };
    const struct calib_entry *e = main_entry(s);
    message_init(out, MESSAGE_NONE);
    if (e == NULL)
        return false;
    const int64_t days = (now_utc_ms - e->made_utc_ms) / DAY_MS;
    const bool is_old = (double) days > profile->calibration_days;
    if (days < 0)
        message_tell(out, MESSAGE_CALIB_IN_FUTURE, message_word(how[e->what]));
    else if (days == 0)
        message_tell(out, MESSAGE_CALIB_IS_OF_TODAY, message_word(how[e->what]));
    else
        message_tell(out, MESSAGE_CALIB_IS_OF, message_word(how[e->what]), days);
    if (is_old)
        message_tell(out, MESSAGE_CALIB_IS_OLD, message_of(out), profile->calibration_days);
    return is_old;
}

/* Days from 1970-01-01 of a proleptic Gregorian date, March first so that the leap day comes last. */
static int64_t
day_from_date(int64_t y, int64_t m, int64_t d)
{
    y -= m <= 2;
    const int64_t shifted = m > 2 ? m - 3 : m + 9;
    return 365 * y + y / 4 - y / 100 + y / 400 + (153 * shifted + 2) / 5 + d - 1 - 719468;
}

char *
calib_time_text(int64_t utc_ms, char *out, size_t cap)
{
    const int64_t s = utc_ms / 1000, day = s / 86400, rest = s % 86400;
    int64_t y = 1970 + day / 366, m = 12;
    while (day_from_date(y + 1, 1, 1) <= day)
        y++;
    while (day_from_date(y, m, 1) > day)
        m--;
    snprintf(out, cap, "%04d-%02d-%02dT%02d:%02d:%02dZ", (int) y % 10000, (int) m,
             (int) (day - day_from_date(y, m, 1) + 1) % 100, (int) (rest / 3600), (int) (rest / 60 % 60),
             (int) (rest % 60));
    return out;
}

bool
calib_time_from_text(const char *text, int64_t *utc_ms)
{
    int y, mo, d, h, mi, s, n = 0;
    if (sscanf(text, "%4d-%2d-%2dT%2d:%2d:%2dZ%n", &y, &mo, &d, &h, &mi, &s, &n) != 6 || n != 20 ||
        text[n] != '\0')
        return false;
    if (y < 1970 || mo < 1 || mo > 12 || d < 1 || d > 31 || h < 0 || h > 23 || mi < 0 || mi > 59 || s < 0 ||
        s > 60)
        return false;
    *utc_ms = (((day_from_date(y, mo, d) * 24 + h) * 60 + mi) * 60 + s) * INT64_C(1000);
    return true;
}
