/* calibration.c - a sensor's history of calibrations: the first byte says of which shipped profile. It is read, one
 * entry is added, one taken back, and it is read again. */
#include "base/places.h"
#include "fuzz.h"
#include "setup/calib_file.h"

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const names[] = { "cells-4", "mat-16x8", "switches-4", "cells-4-amp" };
    static struct sense_profile shipped[4], profile;
    static bool is_loaded;
    static struct calib_history history;
    static struct calib_state state;
    char path[FUZZ_PATH_MAX], found[PLACES_PATH_MAX], text[256];
    struct message why;
    if (!is_loaded) {
        fuzz_folder();
        for (int i = 0; i < 4; i++)
            fuzz_must(places_find("sensors", names[i], found, sizeof found, &why) == ERR_OK &&
                          profile_load(&shipped[i], found, &why) == ERR_OK, "UNDERFOOT_PROFILES must lead to the shipped profiles");
        is_loaded = true;
    }
    if (size == 0)
        return 0;
    fuzz_file(path, "calibration.ini", data + 1, size - 1);
    profile = shipped[data[0] % 4];
    if (calib_file_load(path, NULL, &profile, &state, &history, &why) != ERR_OK)
        return 0;
    calib_state_text(&state, text, sizeof text);
    int only[CALIB_N_GROUPS];
    calib_state_from_text(text, only);
    struct message told;
    calib_state_tell(&state, &profile, INT64_C(1767225600000), &told);
    struct calib_entry entry = { .what = CALIB_ZERO, .made_utc_ms = INT64_C(1767225600000) }, undone;
    entry.mass_kg = 70;
    if (calib_file_append(path, &history, &profile, &entry, &why) != ERR_OK)
        return 0;
    profile = shipped[data[0] % 4];
    fuzz_must(calib_file_load(path, NULL, &profile, &state, &history, &why) == ERR_OK, "a history of our own is not read again");
    fuzz_must(calib_file_undo(path, &history, &undone, &why) == ERR_OK, "an entry of our own can't be taken back");
    return 0;
}
