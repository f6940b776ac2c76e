/* sensor_profile.h - the profile that a command is given, with the sensor's own calibration on top.
 *
 * A profile is named (places.h, kind "sensors") or a path. Its calibration lies in the data folder, under
 * calibration/ and the profile's file name: the profile itself is never written to. Two sensors of one make
 * want a copy of the profile each, under names of their own.
 */
#ifndef SETUP_SENSOR_PROFILE_H
#define SETUP_SENSOR_PROFILE_H

#include "base/message.h"
#include "sense/profile.h"
#include "setup/calib_file.h"

/* only: a recording's note of what was in force then (calib_state_text()), "" for nothing; NULL: what is in
 * force now. ERR_GONE, ERR_OS, ERR_FORMAT with a sentence. */
enum err sensor_profile_load(struct sense_profile *p, const char *name, const char *only,
                             struct calib_state *state, struct message *why);

/* Where the calibration of that profile lies. */
enum err sensor_profile_calibration(const char *name, char *out, size_t cap, struct message *why);

/* What a visit keeps: how old the calibration is, and whether it is to be done again. True: tell it now, too.
 */
bool sensor_profile_tell(const struct calib_state *state, const struct sense_profile *p, struct message *out);

#endif
