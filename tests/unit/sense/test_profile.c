/* Profiles: the shipped ones load as they say, and each kind of wrong line is refused with its number. */
#include "sense/profile.h"

#include "base/message.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct sense_profile p;
static struct message why;

static enum err
load_text(const char *text, size_t len)
{
    char path[] = "/tmp/underfoot_profile_XXXXXX";
    int fd = mkstemp(path);
    cr_assert(fd >= 0);
    cr_assert_eq(write(fd, text, len), (ssize_t) len);
    close(fd);
    enum err err = profile_load(&p, path, &why);
    unlink(path);
    return err;
}

Test(profile, shipped_mat_loads)
{
    cr_assert_eq(profile_load(&p, "profiles/sensors/mat-128x32.ini", &why), ERR_OK, "%s", message_english(&why));
    cr_expect(p.kind == FRAME_KIND_MAT && p.n_rows == 128 && p.n_cols == 32);
    cr_expect_float_eq(p.pitch_fwd_mm, 10, 0);
    cr_expect_float_eq(p.pitch_right_mm, 10, 0);
    cr_expect_float_eq(p.rate_hz, 250, 0);
    cr_expect_float_eq(p.noise_counts, 12, 0);
    cr_expect_float_eq(p.gain_n_per_count * 4095, 50, 1e-6);
    cr_expect(isnan(p.origin_fwd_mm));
    cr_expect_float_eq((double) p.element_gain[4095], 1, 0);
    cr_assert_eq(profile_load(&p, "profiles/sensors/mat-64x32.ini", &why), ERR_OK, "%s", message_english(&why));
    cr_expect(p.n_rows == 64 && p.n_cols == 32);
}

Test(profile, shipped_home_made_mat_has_no_gain)
{
    cr_assert_eq(profile_load(&p, "profiles/sensors/mat-16x8.ini", &why), ERR_OK, "%s", message_english(&why));
    cr_expect(p.n_rows == 16 && p.n_cols == 8 && isnan(p.gain_n_per_count));
}

Test(profile, shipped_cells_stand_at_the_corners)
{
    cr_assert_eq(profile_load(&p, "profiles/sensors/cells-4.ini", &why), ERR_OK, "%s", message_english(&why));
    cr_expect(p.kind == FRAME_KIND_CELLS && p.n_cells == 4);
    for (int i = 0; i < 4; i++) {
        cr_expect_float_eq(p.cell[i].fwd_mm, i < 2 ? -600 : 600, 0);
        cr_expect_float_eq(p.cell[i].right_mm, i % 2 == 0 ? -300 : 300, 0);
        cr_expect_float_eq(p.cell[i].gain_n_per_count * 4194304, 2000, 1e-9);
    }
    cr_expect_float_eq(p.min_cop_n, 20, 0);
}

/* hardware/load-cells.md: 5 V, cells of 2 mV/V for 5 kN, amplified 500 times, the sum of 4 readings. */
Test(profile, shipped_amplified_cells_have_the_guide_s_arithmetic)
{
    const double volts_per_n = 500 * 2e-3 * 5 / 5000, volts_per_count = 5.0 / 4096;
    cr_assert_eq(profile_load(&p, "profiles/sensors/cells-4-amp.ini", &why), ERR_OK, "%s", message_english(&why));
    cr_expect(p.kind == FRAME_KIND_CELLS && p.n_cells == 4);
    cr_expect_float_eq(p.rate_hz, 500, 0);
    for (int i = 0; i < 4; i++) {
        cr_expect_float_eq(p.cell[i].fwd_mm, i < 2 ? -600 : 600, 0);
        cr_expect_float_eq(p.cell[i].right_mm, i % 2 == 0 ? -300 : 300, 0);
        cr_expect_float_eq(p.cell[i].gain_n_per_count, volts_per_count / volts_per_n, 1e-12);
        cr_expect_float_eq(p.cell[i].offset_counts, 0, 0, "the first zero is not to be taken for a person");
    }
    cr_expect_leq(p.saturation_counts * volts_per_count, 5 - 0.05, "an amplifier ends there");
}

Test(profile, shipped_switches_name_their_zones)
{
    cr_assert_eq(profile_load(&p, "profiles/sensors/switches-4.ini", &why), ERR_OK, "%s", message_english(&why));
    cr_expect(p.kind == FRAME_KIND_SWITCHES && p.n_zones == 4);
    cr_expect_str_eq(p.zone[3].name, "RF");
    cr_expect(p.zone[3].is_right && p.zone[3].zone == FRAME_ZONE_FORE);
    cr_expect(!p.zone[0].is_right && p.zone[0].zone == FRAME_ZONE_HEEL);
}

#define MAT_HEAD "[sensor]\nkind = mat\n[mat]\nrows = 4\ncols = 3\npitch_mm = 10\n"

Test(profile, dead_elements_on_several_lines_and_remarks)
{
    static const char text[] = "; a remark\n" MAT_HEAD "dead = 0:1 3:2 ; a remark\ndead = 2:0\n";
    cr_assert_eq(load_text(text, sizeof text - 1), ERR_OK, "%s", message_english(&why));
    cr_assert_eq(p.n_dead, 3);
    cr_expect(p.dead[0] == 1 && p.dead[1] == 11 && p.dead[2] == 6);
    cr_expect(isnan(p.noise_n), "what nobody said is unknown, not 0");
}

Test(profile, zone_may_be_said_in_words)
{
    static const char text[] = "[sensor]\nkind = switches\n[zone 1]\nname = A\nfoot = right\nzone = toe\n"
                               "offset_counts = 10\nfull_counts = 900\n";
    cr_assert_eq(load_text(text, sizeof text - 1), ERR_OK, "%s", message_english(&why));
    cr_expect(p.zone[0].is_right && p.zone[0].zone == FRAME_ZONE_TOE);
    cr_expect_float_eq(p.zone[0].full_counts, 900, 0);
}

Test(profile, gains_and_offsets_of_single_elements_stand_on_several_lines)
{
    static const char text[] = MAT_HEAD "element_gain = 0:1 1.5 0.5 2\nelement_gain = 3:2 0.9\n"
                                        "element_offset_counts = 1:0 7 -3.5\n[sensor]\ncalibration_days = 90\n";
    cr_assert_eq(load_text(text, sizeof text - 1), ERR_OK, "%s", message_english(&why));
    static const float gain[12] = { 1, 1.5F, 0.5F, 2, 1, 1, 1, 1, 1, 1, 1, 0.9F };
    for (int i = 0; i < 12; i++)
        cr_expect_float_eq((double) p.element_gain[i], (double) gain[i], 1e-7);
    cr_expect_float_eq((double) p.element_offset_counts[3], 7, 0);
    cr_expect_float_eq((double) p.element_offset_counts[4], -3.5, 0);
    cr_expect_float_eq((double) p.element_offset_counts[5], 0, 0);
    cr_expect_float_eq(p.calibration_days, 90, 0);
    cr_expect_float_eq(p.drift_limit_pct, 5, 0);
}

#define CELLS_AT(rear, front, left, right)                                                                              \
    "[sensor]\nkind = cells\n[cell 1]\nfwd_mm = " rear "\nright_mm = " left "\n[cell 2]\nfwd_mm = " rear "\nright_mm = " \
    right "\n[cell 3]\nfwd_mm = " front "\nright_mm = 0\n"

Test(profile, wrong_lines_are_refused_with_their_number_and_reason)
{
    static const struct {
        const char *text, *line, *reason;
    } rows[] = {
        { "", ":1:", "without [sensor] kind" },
        { "[sensor]\nkind = sofa\n", ":2:", "kind must be mat, cells or switches, not: sofa" },
        { "[sensor]\nkind = mat\ncolour = red\n", ":3:", "no such key in this section: colour" },
        { "kind = mat\n", ":1:", "no such section" },
        { "[sensor]\nkind = mat\n\n[carpet]\nx = 1\n", ":5:", "no such section" },
        { "[sensor]\nkind = mat\nthis is no key\n", ":3:", "not a [section]" },
        { "[sensor]\nkind = mat\nrate_hz = fast\n", ":3:", "not a number: fast" },
        { "[sensor]\nkind = mat\nrate_hz = nan\n", ":3:", "not a number: nan" },
        { "[sensor]\nkind = mat\nrate_hz = 0\n", ":3:", "rate_hz must be 1 to 100000, not: 0" },
        { "[sensor]\nkind = mat\nrate_hz = 1e400\n", ":3:", "not a number" },
        { "[sensor]\nkind = mat\nkind = mat\n", ":3:", "given twice: kind" },
        { "[sensor]\nkind = mat\n[mat]\nrows = 4.5\n", ":4:", "not a whole number: 4.5" },
        { "[sensor]\nkind = mat\n[mat]\nrows = 129\n", ":4:", "rows must be 1 to 128" },
        { "[sensor]\nkind = mat\n[mat]\nrows = 4\ncols = 4\n",
          ":5:", "without [mat] rows, cols and pitch_mm" },
        { "[sensor]\nkind = mat\n[mat]\nrows = 128\ncols = 128\npitch_mm = 5\n",
          ":6:", "not be more than 8192" },
        { MAT_HEAD "dead = 4:0\n", ":7:", "the mat has no such element: 4:0" },
        { MAT_HEAD "dead = 1;0\n", ":7:", "row:column" },
        { MAT_HEAD "dead = 1:x\n", ":7:", "row:column" },
        { "[sensor]\nkind = mat\n[mat]\ndead = 1:1\n", ":4:", "must stand before dead" },
        { MAT_HEAD "element_gain = 1 1 1\n", ":7:", "must begin with row:column" },
        { MAT_HEAD "element_gain = 4:0 1\n", ":7:", "of an element of the mat" },
        { MAT_HEAD "element_gain = 3:1 1 1 1\n", ":7:", "more values than the mat has" },
        { MAT_HEAD "element_gain = 0:0 1 zero\n", ":7:", "not a number, or out of range" },
        { MAT_HEAD "element_gain = 0:0 1 0\n", ":7:", "not a number, or out of range" },
        { "[sensor]\nkind = mat\n[mat]\nelement_gain = 0:0 1\n", ":4:", "must stand before" },
        { "[sensor]\nkind = cells\ncalibration_days = 0\n", ":3:", "calibration_days must be 1 to 3650" },
        { "[sensor]\nkind = cells\ndrift_limit_pct = 0.1\n", ":3:", "drift_limit_pct must be" },
        { "[sensor]\nkind = cells\n[cell 1]\nfwd_mm = 1\nright_mm = 1\n", ":5:", "fewer than three cells" },
        { "[sensor]\nkind = cells\n[cell 9]\nfwd_mm = 1\n", ":4:", "no such section" },
        { "[sensor]\nkind = cells\n[cell 0]\nfwd_mm = 1\n", ":4:", "no such section" },
        { "[sensor]\nkind = cells\n[cell 1]\nfwd_mm=1\nright_mm=1\n[cell 3]\nfwd_mm=1\nright_mm=1\n",
          ":8:", "without fwd_mm and right_mm of: cell 2" },
        { "[sensor]\nkind = cells\n[cell 1]\nfwd_mm=1\n[cell 2]\nfwd_mm=1\nright_mm=1\n[cell 3]\nfwd_mm=1\nright_mm=1\n",
          ":10:", "without fwd_mm and right_mm of: cell 1" },
        { CELLS_AT("-600", "600", "-300", "300") "[cell 1]\ngain_n_per_count = 0\n", ":13:", "measures nothing: cell 1" },
        { CELLS_AT("-0.6", "0.6", "-0.3", "0.3"), ":11:", "places are in mm: fwd_mm" },
        { CELLS_AT("0", "0", "-300", "300"), ":11:", "apart along the belt" },
        { CELLS_AT("-600", "600", "9", "9"), ":11:", "apart across the belt" },
        { "[sensor]\nkind = switches\n", ":2:", "without a zone" },
        { "[sensor]\nkind = switches\n[zone 1]\nname = Q\n", ":4:", "a name, a foot and a zone" },
        { "[sensor]\nkind = switches\n[zone 1]\nname = LONG\n", ":4:", "1 to 3 letters" },
        { "[sensor]\nkind = switches\n[zone 1]\nname = LH\nfoot = third\n",
          ":5:", "left or right, not: third" },
        { "[sensor]\nkind = switches\n[zone 1]\nname = LH\nzone = arch\n", ":5:", "heel, fore, mid or toe" },
        { "[sensor]\nkind = switches\n[switches]\non_ratio=0.2\noff_ratio=0.3\n[zone 1]\nname=LH\n",
          ":7:", "off_ratio may not be above" },
        { "[sensor]\nkind = switches\n[zone 1]\nname=LH\nfull_counts=100\noffset_counts=100\n",
          ":6:", "full_counts must be above offset_counts" },
        { "[sensor]\nrate_hz = x\nkind = sofa\n", ":2:", "not a number: x" }, /* the first one is told */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        cr_expect_eq(load_text(rows[i].text, strlen(rows[i].text)), ERR_FORMAT, "row %zu", i);
        cr_expect_not_null(strstr(message_english(&why), rows[i].line), "row %zu: %s", i, message_english(&why));
        cr_expect_not_null(strstr(message_english(&why), rows[i].reason), "row %zu: %s", i, message_english(&why));
    }
}

Test(profile, first_cell_alone_may_span_the_deck)
{
    static const char text[] = "[sensor]\nkind = cells\n[cell 1]\nfwd_mm = -600\nright_mm = -300\n"
                               "[cell 2]\nfwd_mm = 600\nright_mm = 300\n[cell 3]\nfwd_mm = 600\nright_mm = 300\n";
    cr_expect_eq(load_text(text, sizeof text - 1), ERR_OK, "%s", message_english(&why));
}

Test(profile, limits_of_the_sensors_own_figures_are_taken_and_nothing_beyond)
{
    static const struct {
        const char *key, *low, *below, *high, *above;
    } rows[] = {
        { "rate_hz", "1", "0.999", "100000", "100001" },
        { "full_scale_counts", "1", "0.9", "2147483647", "2147483648" },
        { "min_cop_n", "0", "-0.001", "10000", "10000.1" },
        { "noise_n", "0.01", "0.0099", "1000", "1000.1" },
        { "calibration_days", "1", "0.9", "3650", "3651" },
        { "drift_limit_pct", "0.5", "0.49", "100", "100.1" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const char *value[] = { rows[i].low, rows[i].high, rows[i].below, rows[i].above };
        for (int k = 0; k < 4; k++) {
            char text[200];
            const int len = snprintf(text, sizeof text, MAT_HEAD "[sensor]\n%s = %s\n", rows[i].key, value[k]);
            cr_expect_eq(load_text(text, (size_t) len), k < 2 ? ERR_OK : ERR_FORMAT, "%s = %s", rows[i].key, value[k]);
        }
    }
}

Test(profile, line_too_long_for_the_reader_is_refused)
{
    char text[600] = "[sensor]\nname = ";
    memset(text + strlen(text), 'x', 400);
    strcat(text, "\nkind = mat\n");
    cr_expect_eq(load_text(text, strlen(text)), ERR_FORMAT);
    cr_expect_not_null(strstr(message_english(&why), ":2: the line is longer than 198"), "%s", message_english(&why));
}

Test(profile, file_that_is_not_there_is_named)
{
    cr_expect_eq(profile_load(&p, "/nowhere/x.ini", &why), ERR_GONE);
    cr_expect_not_null(strstr(message_english(&why), "/nowhere/x.ini"));
    cr_expect_neq(profile_load(&p, "/tmp", &why), ERR_OK, "a folder");
}

Test(profile, random_bytes_and_damaged_profiles_never_break_it)
{
    static const char good[] = MAT_HEAD "dead = 0:1\n[cell 1]\nfwd_mm = 3\n[zone 2]\nname = LH\n";
    for (unsigned seed = 1; seed <= 300; seed++) {
        char text[200];
        srand(seed);
        size_t len = sizeof good - 1;
        memcpy(text, good, len);
        for (int i = 1 + rand() % 10; i > 0; i--)
            text[(size_t) rand() % len] = (char) (rand() % 256);
        enum err err = load_text(text, (size_t) rand() % len);
        cr_assert(err == ERR_OK || (err == ERR_FORMAT && !message_is_none(&why)), "seed %u", seed);
    }
}

Test(profile, board_alone_makes_a_sensible_one)
{
    struct packet_hello h = {
        .kind = PACKET_KIND_MAT, .rate_hz = 100, .n_rows = 16, .n_cols = 8, .full_scale_counts = 255
    };
    cr_expect(profile_from_hello(&p, &h));
    cr_expect_float_eq(p.pitch_fwd_mm, 10, 0, "unknown pitch");
    cr_expect(isnan(p.gain_n_per_count));
    h = (struct packet_hello){ .kind = PACKET_KIND_SWITCHES,
                               .rate_hz = 100,
                               .n_channels = 1,
                               .zone_name = { "X" },
                               .full_scale_counts = 1 };
    cr_expect_not(profile_from_hello(&p, &h), "a zone that says no foot");
    h = (struct packet_hello){
        .kind = PACKET_KIND_CELLS, .rate_hz = 100, .n_channels = 3, .full_scale_counts = 9
    };
    cr_expect(profile_from_hello(&p, &h));
    cr_expect(isnan(p.cell[0].fwd_mm), "where three cells stand nobody can guess");
    h.kind = PACKET_KIND_UNKNOWN;
    cr_expect_not(profile_from_hello(&p, &h));
}
