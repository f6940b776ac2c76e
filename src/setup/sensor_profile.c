#include "setup/sensor_profile.h"

#include "base/fileio.h"
#include "base/monotime.h"
#include "base/places.h"
#include "base/str.h"

#include <stdio.h>
#include <string.h>

enum err
sensor_profile_calibration(const char *name, char *out, size_t cap, struct message *why)
{
    char folder[FILEIO_PATH_MAX], file[PLACES_PATH_MAX];
    const char *slash = strrchr(name, '/'), *base = slash ? slash + 1 : name;
    const bool has_end = str_ends_with(base, ".ini");
    enum err err = fileio_data_folder(folder, sizeof folder, why);
    if (err != ERR_OK)
        return err;
    if (snprintf(file, sizeof file, "calibration/%s%s", base, has_end ? "" : ".ini") >= (int) sizeof file) {
        message_init(why, MESSAGE_SENSOR_PROFILE_NAME_TOO_LONG);
        return ERR_USAGE;
    }
    return fileio_join(out, cap, folder, file, why);
}

enum err
sensor_profile_load(struct sense_profile *p, const char *name, const char *only, struct calib_state *state,
                    struct message *why)
{
    char path[PLACES_PATH_MAX], calibration[FILEIO_PATH_MAX];
    int numbers[CALIB_N_GROUPS] = { 0 };
    memset(state, 0, sizeof *state);
    enum err err = places_find("sensors", name, path, sizeof path, why);
    if (err == ERR_OK)
        err = profile_load(p, path, why);
    if (err != ERR_OK || (only && !calib_state_from_text(only, numbers)))
        return err;
    err = sensor_profile_calibration(path, calibration, sizeof calibration, why);
    if (err != ERR_OK)
        return only ? err : ERR_OK; /* no data folder on this computer: then no calibration either */
    err = calib_file_load(calibration, only ? numbers : NULL, p, state, NULL, why);
    for (int g = 0; err == ERR_OK && only && g < CALIB_N_GROUPS; g++)
        if (numbers[g] != state->number[g]) {
            message_tell(why, MESSAGE_SENSOR_PROFILE_LACKS_CALIB, message_path(calibration), numbers[g]);
            err = ERR_GONE;
        }
    return err;
}

bool
sensor_profile_tell(const struct calib_state *state, const struct sense_profile *p, struct message *out)
{
    return calib_state_tell(state, p, monotime_wall_us() / 1000, out);
}
