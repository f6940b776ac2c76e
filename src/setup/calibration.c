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
    if (err != ERR_OK)
        return err;
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

void
calibration_entry_tell(const struct calib_entry *e, struct message *out)
{
    char made[32], row[80];
    snprintf(row, sizeof row, "%4d  %s  %-9s", e->number, calib_time_text(e->made_utc_ms, made, sizeof made),
             calib_what_name(e->what));
    message_tell(out, MESSAGE_CALIB_ENTRY, row);
    if (!isnan(e->mass_kg))
        message_tell(out, MESSAGE_CALIB_ENTRY_MASS, message_of(out), message_real(e->mass_kg, 1, MESSAGE_UNIT_KG));
    if (!isnan(e->drift_pct))
        message_tell(out, MESSAGE_CALIB_ENTRY_GAIN, message_of(out), message_signed(e->drift_pct, 1, MESSAGE_UNIT_PCT));
    if (!isnan(e->moved_n))
        message_tell(out, MESSAGE_CALIB_ENTRY_MOVED, message_of(out), message_signed(e->moved_n, 1, MESSAGE_UNIT_NEWTON));
    if (!isnan(e->spread_pct))
        message_tell(out, MESSAGE_CALIB_ENTRY_SPREAD, message_of(out), message_real(e->spread_pct, 1, MESSAGE_UNIT_PCT), e->n_left);
    if (e->is_undone)
        message_tell(out, MESSAGE_CALIB_ENTRY_UNDONE, message_of(out));
}

bool
calibration_tell(const struct calibration *c, struct message *out)
{
    return sensor_profile_tell(&c->state, &c->profile, out);
}

bool
calibration_was_off(const struct calibration *c, const struct calib_entry *e, struct message *out)
{
    if (e->what == CALIB_ZERO && fabs(e->moved_n) > CALIB_SOMEBODY_N) { /* false for NAN */
        message_tell(out, MESSAGE_CALIB_SOMEBODY_ON, message_real(e->moved_n, 0, MESSAGE_UNIT_NEWTON));
        return true;
    }
    if (isnan(e->drift_pct) || fabs(e->drift_pct) <= c->profile.drift_limit_pct)
        return false;
    message_tell(out, MESSAGE_CALIB_GAIN_WAS_OFF,
                 message_real(c->profile.drift_limit_pct, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_PCT));
    return true;
}

double
calibration_seconds(enum calib_what what)
{
    return what == CALIB_ZERO || what == CALIB_MASS ? 5 : 30;
}
