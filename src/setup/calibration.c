#include "setup/calibration.h"

#include "base/monotime.h"
#include "setup/sensor_profile.h"

#include <math.h>
#include <stdio.h>

enum err
calibration_load(struct calibration *c, const char *name)
{
    struct calib_state state;
    enum err err = sensor_profile_load(&c->profile, name, NULL, &c->state, &c->why);
    if (err == ERR_OK)
        err = sensor_profile_calibration(name, c->path, sizeof c->path, &c->why);
    if (err != ERR_OK) {
        message_say(&c->why, message_english(&c->why));
        return err;
    }
    /* The history is read by itself: the profile has all of it in force already. */
    c->changed = c->profile;
    return calib_file_load(c->path, NULL, &c->changed, &state, &c->history, &c->why);
}

enum err
calibration_keep(struct calibration *c, struct calib_entry *entry)
{
    entry->made_utc_ms = monotime_wall_us() / 1000;
    return calib_file_append(c->path, &c->history, &c->changed, entry, &c->why);
}

enum err
calibration_undo(struct calibration *c, struct calib_entry *undone)
{
    const enum err err = calib_file_undo(c->path, &c->history, undone, &c->why);
    undone->is_undone = err == ERR_OK;
    return err;
}

/* Where the next words go, after n more (snprintf's answer) at len. */
static size_t
after(size_t cap, size_t len, int n)
{
    return n > 0 && len + (size_t) n < cap ? len + (size_t) n : cap - 1;
}

char *
calibration_entry_text(const struct calib_entry *e, char *out, size_t cap)
{
    char made[32];
    size_t len = after(cap, 0,
                     snprintf(out, cap, "%4d  %s  %-9s", e->number, calib_time_text(e->made_utc_ms, made, sizeof made),
                              calib_what_name(e->what)));
    if (!isnan(e->mass_kg))
        len = after(cap, len, snprintf(out + len, cap - len, " %.1f kg", e->mass_kg));
    if (!isnan(e->drift_pct))
        len = after(cap, len, snprintf(out + len, cap - len, "; the gain was off by %+.1f %%", e->drift_pct));
    if (!isnan(e->moved_n))
        len = after(cap, len, snprintf(out + len, cap - len, " took %+.1f N off", e->moved_n));
    if (!isnan(e->spread_pct))
        len = after(cap, len,
                  snprintf(out + len, cap - len, " elements were uneven by %.1f %%, %d left as they are", e->spread_pct,
                           e->n_left));
    if (e->is_undone)
        snprintf(out + len, cap - len, "  (taken back)");
    return out;
}

bool
calibration_says(const struct calibration *c, char *out, size_t cap)
{
    return sensor_profile_says(&c->state, &c->profile, out, cap);
}

bool
calibration_was_off(const struct calibration *c, const struct calib_entry *e, struct message *out)
{
    if (e->what == CALIB_ZERO && fabs(e->moved_n) > CALIB_SOMEBODY_N) { /* false for NAN */
        message_init(out, MESSAGE_CALIB_SOMEBODY_ON);
        message_add(out, message_real(e->moved_n, 0, MESSAGE_UNIT_NEWTON));
        return true;
    }
    if (isnan(e->drift_pct) || fabs(e->drift_pct) <= c->profile.drift_limit_pct)
        return false;
    message_init(out, MESSAGE_CALIB_GAIN_WAS_OFF);
    message_add(out, message_real(c->profile.drift_limit_pct, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_PCT));
    return true;
}

double
calibration_seconds(enum calib_what what)
{
    return what == CALIB_ZERO || what == CALIB_MASS ? 5 : 30;
}
