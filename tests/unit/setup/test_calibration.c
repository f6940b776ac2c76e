/* A profile with its calibration as `calibrate` and the panel use it: loaded, kept, told, taken back, refused. */
#include "base/message_words.h"
#include "setup/calibration.h"
#include "setup/sensor_profile.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static struct calibration c;
static struct calib_entry entry;
static char folder[64], file[160], words[MESSAGE_WORDS_MAX];

static void
make_rig(void)
{
    strcpy(folder, "/tmp/underfoot-calibration-XXXXXX");
    cr_assert(mkdtemp(folder));
    setenv("UNDERFOOT_DATA", folder, 1);
    setenv("UNDERFOOT_PROFILES", "profiles", 1);
    snprintf(file, sizeof file, "%s/calibration/cells-4.ini", folder);
    entry = (struct calib_entry){ .what = CALIB_ZERO, .mass_kg = NAN, .drift_pct = NAN, .moved_n = NAN, .spread_pct = NAN };
}

static void
remove_rig(void)
{
    char command[128];
    snprintf(command, sizeof command, "rm -r %s", folder);
    cr_assert_eq(system(command), 0);
}

TestSuite(calibration, .init = make_rig, .fini = remove_rig);

Test(calibration, what_is_kept_is_in_force_when_loaded_again_until_it_is_taken_back)
{
    struct message told;
    cr_assert_eq(calibration_load(&c, "cells-4"), ERR_OK);
    c.changed.cell[2].offset_counts = 1234;
    cr_assert_eq(calibration_keep(&c, &entry), ERR_OK);
    cr_assert_eq(calibration_load(&c, "cells-4"), ERR_OK);
    cr_expect_eq(c.profile.cell[2].offset_counts, 1234);
    cr_expect_eq(c.history.n, 1);
    cr_expect_not(calibration_tell(&c, &told), "made a moment ago");
    cr_expect_str_eq(message_english(&told), "zeroed less than a day ago");
    cr_assert_eq(calibration_undo(&c, &entry), ERR_OK);
    cr_expect(entry.is_undone);
    cr_assert_eq(calibration_load(&c, "cells-4"), ERR_OK);
    cr_expect_eq(c.profile.cell[2].offset_counts, 0);
    cr_expect_eq(calibration_undo(&c, &entry), ERR_GONE);
    cr_expect_not(entry.is_undone);
    cr_expect_str_eq(message_words(&c.why, NULL, words, sizeof words), "there is no calibration to take back");
}

Test(calibration, a_damaged_history_and_a_profile_that_is_not_there_are_refused_in_words)
{
    struct message said;
    struct calib_state state;
    cr_assert_eq(calibration_load(&c, "cells-4"), ERR_OK);
    cr_assert_eq(calibration_keep(&c, &entry), ERR_OK);
    FILE *f = fopen(file, "a");
    cr_assert(f && fputs("mass = 70\n", f) >= 0 && fclose(f) == 0);
    cr_expect_eq(calibration_load(&c, "cells-4"), ERR_FORMAT);
    cr_expect_not_null(strstr(message_words(&c.why, NULL, words, sizeof words), "cells-4.ini:8: no such key: mass"), "%s", words);
    cr_expect_eq(sensor_profile_load(&c.profile, "cells-4", NULL, &state, &said), ERR_FORMAT);
    cr_expect_not_null(strstr(message_english(&said), "cells-4.ini:8: no such key: mass"), "%s", message_english(&said));
    cr_expect_eq(calibration_load(&c, "nosuch"), ERR_GONE);
    cr_expect_eq(c.why.code, MESSAGE_PLACES_NO_SENSOR);
    cr_expect_not_null(strstr(message_words(&c.why, NULL, words, sizeof words), "nosuch"), "%s", words);
}

Test(calibration, each_figure_of_an_entry_is_told_and_those_that_are_unknown_are_not)
{
    static const struct {
        double mass_kg, drift_pct, moved_n, spread_pct;
        bool is_undone;
        const char *text;
    } rows[] = {
        { NAN, NAN, NAN, NAN, false, "   3  1970-01-02T00:00:00Z  zero     " },
        { 71.5, NAN, NAN, NAN, false, "   3  1970-01-02T00:00:00Z  zero      71.5 kg" },
        { 71.5, -1.24, NAN, NAN, false, "   3  1970-01-02T00:00:00Z  zero      71.5 kg; the gain was off by -1.2 %" },
        { NAN, NAN, 12.06, NAN, false, "   3  1970-01-02T00:00:00Z  zero      took +12.1 N off" },
        { NAN, NAN, NAN, 4, false, "   3  1970-01-02T00:00:00Z  zero      elements were uneven by 4.0 %, 6 left as they are" },
        { NAN, NAN, NAN, NAN, true, "   3  1970-01-02T00:00:00Z  zero       (taken back)" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct calib_entry e = { .number = 3, .what = CALIB_ZERO, .made_utc_ms = 86400000, .n_left = 6,
                                       .mass_kg = rows[i].mass_kg, .drift_pct = rows[i].drift_pct,
                                       .moved_n = rows[i].moved_n, .spread_pct = rows[i].spread_pct,
                                       .is_undone = rows[i].is_undone };
        struct message told;
        calibration_entry_tell(&e, &told);
        cr_expect_str_eq(message_english(&told), rows[i].text, "row %zu: '%s'", i, message_english(&told));
    }
}

Test(calibration, a_gain_beyond_its_limit_and_a_body_taken_off_are_minded)
{
    struct message m;
    cr_assert_eq(calibration_load(&c, "cells-4"), ERR_OK);
    c.profile.drift_limit_pct = 2.5;
    entry.what = CALIB_RUNNING;
    cr_expect_not(calibration_was_off(&c, &entry, &m), "nothing was before");
    entry.drift_pct = -2.5;
    cr_expect_not(calibration_was_off(&c, &entry, &m), "up to the limit");
    entry.drift_pct = -2.51;
    cr_assert(calibration_was_off(&c, &entry, &m));
    cr_expect_eq(m.code, MESSAGE_CALIB_GAIN_WAS_OFF);
    cr_expect_not_null(strstr(message_words(&m, NULL, words, sizeof words), "more than the 2.5 % that"), "%s", words);
    entry.what = CALIB_ZERO;
    entry.drift_pct = NAN;
    entry.moved_n = CALIB_SOMEBODY_N;
    cr_expect_not(calibration_was_off(&c, &entry, &m));
    entry.moved_n = -CALIB_SOMEBODY_N - 0.5;
    cr_assert(calibration_was_off(&c, &entry, &m));
    cr_expect_eq(m.code, MESSAGE_CALIB_SOMEBODY_ON);
}
