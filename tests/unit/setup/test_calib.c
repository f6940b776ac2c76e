/* Calibrations worked out from packets made here, and their history on disc. */
#include "base/message_words.h"
#include "sense/sense.h"
#include "setup/calib_file.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define ROWS 12
#define COLS 9

static struct sense_profile profile, changed;
static struct sense sense;
static struct calib calib;
static struct calib_entry entry;
static struct calib_state state;
static struct calib_history history;
static struct packet packet;
static struct message refusal;
static char folder[64], path[128];
static struct message why;
static uint32_t seed = 7, t_us;

static int
noise(int spread)
{
    seed = seed * 1664525U + 1013904223U;
    return (int) ((seed >> 8) % (unsigned) (2 * spread + 1)) - spread;
}

static void
make_folder(void)
{
    strcpy(folder, "/tmp/underfoot_calib_XXXXXX");
    cr_assert_not_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/calibration/own.ini", folder);
}

static void
remove_folder(void)
{
    char sub[128];
    unlink(path);
    snprintf(sub, sizeof sub, "%s/calibration", folder);
    rmdir(sub);
    rmdir(folder);
}

TestSuite(calib, .init = make_folder, .fini = remove_folder);

static void
load_text(const char *text)
{
    char name[128];
    snprintf(name, sizeof name, "%s/profile.ini", folder);
    FILE *f = fopen(name, "w");
    cr_assert_not_null(f);
    fputs(text, f);
    fclose(f);
    cr_assert_eq(profile_load(&profile, name, &why), ERR_OK, "%s", message_english(&why));
    unlink(name);
}

#define CELLS                                                                                                \
    "[sensor]\nkind = cells\nrate_hz = 500\nfull_scale_counts = 1000000\n[cell 1]\nfwd_mm = -600\nright_mm " \
    "= -300\n"                                                                                               \
    "gain_n_per_count = 0.01\n[cell 2]\nfwd_mm = -600\nright_mm = 300\ngain_n_per_count = 0.01\n[cell "      \
    "3]\nfwd_mm = 600\n"                                                                                     \
    "right_mm = 0\ngain_n_per_count = 0.02\n"
#define MAT                                                                                                  \
    "[sensor]\nkind = mat\nrate_hz = 100\nfull_scale_counts = 4095\n[mat]\nrows = 12\ncols = 9\npitch_mm = " \
    "10\n"                                                                                                   \
    "noise_counts = 10\n"
#define SWITCHES                                                                                             \
    "[sensor]\nkind = switches\nrate_hz = 500\nfull_scale_counts = 1023\n[zone 1]\nname = LH\n[zone "        \
    "2]\nname = RH\n"

static void
start(const char *text, enum calib_what what)
{
    load_text(text);
    sense_init(&sense, &profile);
    calib_init(&calib, &sense.profile, what);
    memset(&packet, 0, sizeof packet);
    t_us = 0;
    packet.type = profile.kind == FRAME_KIND_MAT     ? PACKET_MAT
                  : profile.kind == FRAME_KIND_CELLS ? PACKET_CELLS
                                                     : PACKET_SWITCHES;
    packet.n_rows = profile.n_rows;
    packet.n_cols = profile.n_cols;
    packet.n_values = profile.kind == FRAME_KIND_MAT ? ROWS * COLS : profile.kind == FRAME_KIND_CELLS ? 3 : 2;
}

static void
feed(void)
{
    struct frame f;
    packet.t_us = t_us += 2000;
    cr_assert(sense_feed(&sense, &packet, &f));
    calib_feed(&calib, &packet, &f);
}

static void
feed_cells(int n, int32_t a, int32_t b, int32_t c, int spread)
{
    for (int i = 0; i < n; i++) {
        packet.channel_counts[0] = a + noise(spread);
        packet.channel_counts[1] = b + noise(spread);
        packet.channel_counts[2] = c + noise(spread);
        feed();
    }
}

static enum err
finish(double mass_kg)
{
    return calib_finish(&calib, mass_kg, &changed, &entry, &why);
}

static void
refused(double mass_kg, const char *because)
{
    cr_expect_eq(finish(mass_kg), ERR_FORMAT);
    cr_expect_not_null(strstr(message_english(&why), because), "%s", message_english(&why));
}

/* ------------------------------------------------------------------ the figures */

Test(calib, zero_is_the_mean_of_the_empty_sensor)
{
    start(CELLS, CALIB_ZERO);
    feed_cells(1000, 500, -200, 40000, 90);
    cr_assert_eq(finish((double) NAN), ERR_OK, "%s", message_english(&why));
    cr_expect_float_eq(changed.cell[0].offset_counts, 500, 10);
    cr_expect_float_eq(changed.cell[1].offset_counts, -200, 10);
    cr_expect_float_eq(changed.cell[2].offset_counts, 40000, 10);
    cr_expect_eq(changed.cell[0].gain_n_per_count, 0.01);
    cr_expect(isnan(entry.drift_pct));
}

Test(calib, zero_is_refused_while_the_load_changes_or_with_too_little)
{
    start(CELLS, CALIB_ZERO);
    feed_cells(20, 0, 0, 0, 10);
    refused((double) NAN, "too few");
    start(CELLS, CALIB_ZERO);
    feed_cells(500, 0, 0, 0, 10);
    feed_cells(500, 20000, 0, 0, 10);
    refused((double) NAN, "get off");
    start(SWITCHES, CALIB_ZERO);
    for (int i = 0; i < 100; i++) {
        packet.channel_counts[1] = 900;
        feed();
    }
    refused((double) NAN, "pressed");
}

static void
feed_standing_on_mat(int preload)
{
    for (int i = 0; i < 100; i++) {
        for (int k = 0; k < ROWS * COLS; k++)
            packet.mat_counts[k] = (uint16_t) (preload + abs(noise(4)));
        for (int r = 2; r < 10; r++)
            for (int c = 2; c < 7; c++)
                packet.mat_counts[r * COLS + c] = (uint16_t) (packet.mat_counts[r * COLS + c] + 400);
        feed();
    }
}

Test(calib, zero_of_a_mat_is_refused_with_somebody_on_it_and_taken_under_an_even_load)
{
    start(MAT, CALIB_ZERO);
    feed_standing_on_mat(30);
    refused((double) NAN, "get off");
    start(MAT, CALIB_ZERO);
    calib.is_surely_empty = true;
    feed_standing_on_mat(30);
    cr_assert_eq(finish((double) NAN), ERR_OK, "%s", message_english(&why));
    cr_expect(entry.moved_n > CALIB_SOMEBODY_N);
    cr_expect_float_eq((double) changed.element_offset_counts[5 * COLS + 4], 430, 5);
    start(MAT, CALIB_ZERO);
    for (int i = 0; i < 100; i++) { /* a belt drawn over it presses on all of it */
        for (int k = 0; k < ROWS * COLS; k++)
            packet.mat_counts[k] = (uint16_t) (200 + k % 7 + abs(noise(4)));
        feed();
    }
    cr_assert_eq(finish((double) NAN), ERR_OK, "%s", message_english(&why));
    cr_expect_float_eq((double) changed.element_offset_counts[0], 200, 5);
}

Test(calib, zero_of_cells_is_refused_when_somebody_stepped_on_since_the_last_one)
{
    start(CELLS, CALIB_ZERO);
    feed_cells(500, 20000, 20000, 15000, 60);
    cr_assert_eq(finish((double) NAN), ERR_OK, "the first one: a deck of 700 N, for all that can be seen");
    cr_expect_float_eq(entry.moved_n, 700, 1);
    start(CELLS, CALIB_ZERO);
    sense.profile.cell[0].offset_counts = 20000;
    sense.profile.cell[1].offset_counts = 20000;
    sense.profile.cell[2].offset_counts = 15000;
    feed_cells(500, 30000, 30000, 15000, 60);
    refused((double) NAN, "+200 N since the last zero");
    calib.is_surely_empty = true;
    cr_expect_eq(finish((double) NAN), ERR_OK, "%s", message_english(&why));
}

Test(calib, zero_of_foot_switches_is_refused_while_somebody_runs_whatever_is_said)
{
    start(SWITCHES, CALIB_ZERO);
    calib.is_surely_empty = true;
    for (int i = 0; i < 400; i++) {
        packet.channel_counts[0] = i % 100 < 30 ? 900 : 2;
        feed();
    }
    refused((double) NAN, "load changes");
    start(SWITCHES, CALIB_ZERO);
    for (int i = 0; i < 400; i++) {
        packet.channel_counts[0] = 60 + noise(9);
        packet.channel_counts[1] = 10 + noise(9);
        feed();
    }
    cr_assert_eq(finish((double) NAN), ERR_OK, "a laced shoe presses: %s", message_english(&why));
    cr_expect_float_eq(changed.zone[0].offset_counts, 60, 2);
}

Test(calib, standing_mass_sets_the_gain_and_tells_how_far_it_was_off)
{
    start(CELLS, CALIB_MASS);
    feed_cells(1000, 20000, 20000, 15000, 60); /* 700 N by the profile's gains */
    cr_assert_eq(finish(680 / UNITS_GRAVITY_M_S2), ERR_OK, "%s", message_english(&why));
    cr_expect_float_eq(changed.cell[0].gain_n_per_count, 0.01 * 680 / 700, 5e-6);
    cr_expect_float_eq(changed.cell[2].gain_n_per_count, 0.02 * 680 / 700, 1e-5);
    cr_expect_float_eq(entry.drift_pct, 100 * (700.0 / 680 - 1), 0.1);
    cr_expect_float_eq(entry.mass_kg, 680 / UNITS_GRAVITY_M_S2, 1e-9);
}

Test(calib, a_sensor_without_a_gain_gets_one_and_had_no_drift)
{
    start(MAT, CALIB_MASS);
    for (int i = 0; i < 100; i++) {
        for (int r = 2; r < 10; r++)
            for (int c = 2; c < 7; c++)
                packet.mat_counts[r * COLS + c] = (uint16_t) (400 + noise(4));
        feed();
    }
    cr_assert_eq(finish(70), ERR_OK, "%s", message_english(&why));
    cr_expect_float_eq(changed.gain_n_per_count, 70 * UNITS_GRAVITY_M_S2 / (40 * 400), 1e-4);
    cr_expect(isnan(entry.drift_pct));
}

Test(calib, mass_is_refused_when_it_moves_saturates_stands_beside_or_is_wrong)
{
    start(CELLS, CALIB_MASS);
    feed_cells(500, 20000, 20000, 15000, 9000);
    refused(70, "stand still");
    start(CELLS, CALIB_MASS);
    feed_cells(500, 20000, 20000, 1000000, 10);
    refused(70, "full scale");
    start(MAT, CALIB_MASS);
    for (int i = 0; i < 100; i++) {
        packet.mat_counts[4] = packet.mat_counts[4 + COLS] = 900; /* first row */
        feed();
    }
    refused(70, "edge");
    start(CELLS, CALIB_MASS);
    feed_cells(500, 20000, 20000, 15000, 10);
    refused(7, "is the mass right");
    start(CELLS, CALIB_MASS);
    feed_cells(500, 0, 0, 0, 0);
    refused(70, "no load");
    start(SWITCHES, CALIB_MASS);
    for (int i = 0; i < 100; i++)
        feed();
    refused(70, "no force");
}

Test(calib, running_sets_the_gain_by_the_momentum_balance)
{
    load_text(CELLS);
    cr_assert_eq(calib_by_weight(&profile, CALIB_RUNNING, 720, 70, &changed, &entry, &why), ERR_OK, "%s", message_english(&why));
    cr_expect_float_eq(changed.cell[1].gain_n_per_count, 0.01 * 686.7 / 720, 1e-9);
    cr_expect_float_eq(entry.drift_pct, 4.849, 0.001);
    cr_expect_float_eq(calib_drift_pct(686.7, 70), 0, 1e-9);
    cr_expect(isnan(calib_drift_pct((double) NAN, 70)));
}

static double
true_gain(int i)
{
    return 0.8 + 0.4 * (double) (i * 37 % 101) / 100;
}

/* A roller as wide as the mat goes along it, `passes` times; element 50 reads full scale, `left_out` columns
 * are not rolled over. */
static void
roll(int passes, int left_out)
{
    for (int i = 0; i < passes * ROWS * 4; i++) {
        const double at = (i % (ROWS * 4)) / 4.0;
        for (int k = 0; k < ROWS * COLS; k++) {
            const double away = fabs(k / COLS - at), load = away < 1.5 ? 1 - away / 1.5 : 0;
            const bool is_beside = k % COLS >= COLS - left_out;
            const double counts = is_beside ? 0 : 1000 * load * true_gain(k);
            packet.mat_counts[k] = (uint16_t) (k == 50 && load > 0.5 ? 4095 : counts + abs(noise(2)));
        }
        if (i == 20)
            packet.mat_counts[3] = 3000; /* one spike alone */
        feed();
    }
}

Test(calib, a_roller_makes_the_elements_even)
{
    start(MAT, CALIB_EQUALISE);
    roll(3, 0);
    cr_assert_eq(finish((double) NAN), ERR_OK, "%s", message_english(&why));
    double low = 9, high = 0;
    for (int k = 0; k < ROWS * COLS; k++) {
        const double even = (double) changed.element_gain[k] * true_gain(k);
        if (k == 50)
            continue;
        low = fmin(low, even);
        high = fmax(high, even);
    }
    cr_expect_leq(high / low, 1.01, "%g to %g", low, high);
    cr_expect_float_eq((double) changed.element_gain[50], 1, 0);
    cr_expect_eq(entry.n_left, 1);
    cr_expect_float_eq(entry.spread_pct, 11.6, 1.0);
    cr_expect_float_eq(low, 1, 0.03, "the whole's gain stays");
}

Test(calib, a_roller_that_leaves_a_part_out_is_refused)
{
    start(MAT, CALIB_EQUALISE);
    roll(2, 2);
    refused((double) NAN, "went over 84 of 108");
    start(CELLS, CALIB_EQUALISE);
    feed_cells(100, 1, 2, 3, 0);
    refused((double) NAN, "only a mat");
}

/* ------------------------------------------------------------------ the history */

static void
append(enum calib_what what, int64_t made_utc_ms)
{
    entry.what = what;
    entry.made_utc_ms = made_utc_ms;
    cr_assert_eq(calib_file_append(path, &history, &changed, &entry, &refusal), ERR_OK);
}

static enum err
reload(const int *only)
{
    const enum err err = calib_file_load(path, only, &profile, &state, &history, &refusal);
    why = refusal;
    return err;
}

Test(calib, no_file_is_no_calibration)
{
    char text[PROFILE_CALIBRATION_MAX];
    struct message told;
    load_text(CELLS);
    cr_assert_eq(reload(NULL), ERR_OK);
    cr_expect_eq(history.n, 0);
    cr_expect_not(calib_state_text(&state, text, sizeof text));
    cr_expect_not(calib_state_tell(&state, &profile, 0, &told));
    cr_expect(message_is_none(&told));
    cr_expect_eq(calib_file_undo(path, &history, &entry, &refusal), ERR_GONE);
    cr_expect_eq(refusal.code, MESSAGE_CALIB_NONE_TO_UNDO);
}

Test(calib, age_is_told_in_whole_days)
{
    static const struct {
        int64_t age_ms;
        const char *says;
        bool is_old; /* the profile's calibration_days are 1 */
    } rows[] = { { -86400000, "zeroed, in the future by this computer's clock", false },
                 { 0, "zeroed less than a day ago", false },
                 { 86399999, "zeroed less than a day ago", false },
                 { 86400000, "zeroed 1 day ago", false },
                 { 2 * 86400000 - 1, "zeroed 1 day ago", false },
                 { 2 * 86400000, "zeroed 2 days ago: older than 1 days, calibrate again", true } };
    load_text(CELLS);
    profile.calibration_days = 1;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct message told;
        struct calib_state s = { .number = { 1, 0, 0 } };
        s.in_force[CALIB_OFFSETS] = (struct calib_entry){ .number = 1, .what = CALIB_ZERO, .made_utc_ms = 1000000000000 };
        cr_expect_eq(calib_state_tell(&s, &profile, 1000000000000 + rows[i].age_ms, &told), rows[i].is_old, "%zu", i);
        cr_expect_str_eq(message_english(&told), rows[i].says, "row %zu: %s", i, message_english(&told));
    }
}

Test(calib, entries_are_kept_taken_back_and_never_renumbered)
{
    struct stat st;
    load_text(CELLS);
    reload(NULL);
    start(CELLS, CALIB_ZERO);
    feed_cells(100, 500, -200, 40000, 0);
    finish((double) NAN);
    append(CALIB_ZERO, 86400000);
    cr_assert_eq(stat(path, &st), 0);
    cr_expect_eq(st.st_mode & 0777, 0600);

    load_text(CELLS);
    cr_assert_eq(reload(NULL), ERR_OK, "%s", message_english(&why));
    cr_expect_eq(profile.cell[2].offset_counts, 40000);
    cr_assert_eq(calib_by_weight(&profile, CALIB_RUNNING, 720, 70, &changed, &entry, &why), ERR_OK);
    append(CALIB_RUNNING, 2 * 86400000);
    const double gain = changed.cell[0].gain_n_per_count;

    load_text(CELLS);
    cr_assert_eq(reload(NULL), ERR_OK, "%s", message_english(&why));
    cr_expect_float_eq(profile.cell[0].gain_n_per_count, gain, 1e-13);
    cr_expect_eq(profile.cell[2].offset_counts, 40000, "the zero before stays");
    cr_assert_eq(history.n, 2);
    cr_expect_float_eq(history.entry[1].drift_pct, entry.drift_pct, 1e-4);
    cr_expect_eq(history.entry[1].made_utc_ms, 2 * 86400000);
    cr_expect_eq(history.entry[0].what, CALIB_ZERO);

    cr_assert_eq(calib_file_undo(path, &history, &entry, &refusal), ERR_OK);
    cr_expect_eq(entry.number, 2);
    load_text(CELLS);
    cr_assert_eq(reload(NULL), ERR_OK, "%s", message_english(&why));
    cr_expect_eq(profile.cell[0].gain_n_per_count, 0.01);
    cr_expect_eq(profile.cell[2].offset_counts, 40000);
    cr_expect(history.n == 2 && history.entry[1].is_undone && !history.entry[0].is_undone);

    const int then[CALIB_N_GROUPS] = { 1, 2, 0 }; /* a recording that was made before the undo */
    load_text(CELLS);
    cr_assert_eq(reload(then), ERR_OK, "%s", message_english(&why));
    cr_expect_float_eq(profile.cell[0].gain_n_per_count, gain, 1e-13);
    const int bare[CALIB_N_GROUPS] = { 0, 0, 0 };
    load_text(CELLS);
    cr_assert_eq(reload(bare), ERR_OK, "%s", message_english(&why));
    cr_expect_eq(profile.cell[2].offset_counts, 0);

    changed = profile;
    append(CALIB_MASS, 3 * 86400000);
    cr_expect_eq(entry.number, 3);
    load_text(CELLS);
    reload(NULL);
    cr_expect_eq(calib_file_undo(path, &history, &entry, &refusal), ERR_OK);
    load_text(CELLS);
    reload(NULL);
    cr_expect_eq(calib_file_undo(path, &history, &entry, &refusal), ERR_OK);
    cr_expect_eq(entry.number, 1, "the undone one is passed over");
    load_text(CELLS);
    reload(NULL);
    cr_expect_eq(calib_file_undo(path, &history, &entry, &refusal), ERR_GONE);
}

Test(calib, gains_and_offsets_of_all_elements_come_back)
{
    load_text(MAT);
    reload(NULL);
    changed = profile;
    for (int k = 0; k < ROWS * COLS; k++) {
        changed.element_gain[k] = (float) true_gain(k);
        changed.element_offset_counts[k] = (float) (k % 7) * 0.25F;
    }
    entry = (struct calib_entry){ .mass_kg = NAN, .drift_pct = NAN, .spread_pct = 12, .n_left = 3 };
    append(CALIB_EQUALISE, 1000);
    reload(NULL);
    append(CALIB_ZERO, 2000);
    load_text(MAT);
    cr_assert_eq(reload(NULL), ERR_OK, "%s", message_english(&why));
    for (int k = 0; k < ROWS * COLS; k++) {
        cr_expect_float_eq((double) profile.element_gain[k], true_gain(k), 1e-4);
        cr_expect_float_eq((double) profile.element_offset_counts[k], (k % 7) * 0.25, 1e-6);
    }
    cr_expect_eq(history.entry[0].n_left, 3);
    char text[PROFILE_CALIBRATION_MAX];
    int only[CALIB_N_GROUPS];
    cr_expect(calib_state_text(&state, text, sizeof text));
    cr_expect_str_eq(text, "2 0 1");
    cr_expect(calib_state_from_text(text, only) && only[0] == 2 && only[1] == 0 && only[2] == 1);
    cr_expect_not(calib_state_from_text("", only));
}

Test(calib, a_damaged_file_is_refused_with_its_line_and_the_profile_of_another_kind_too)
{
    static const struct {
        const char *text, *where;
    } rows[] = {
        { "[calibration 1]\nwhat = zero\ncell_offset_counts = 1 2\n", "own.ini:3: not as many numbers" },
        { "[calibration 1]\nwhat = zero\ncell_offset_counts = 1 2 x\n", "own.ini:3: not as many numbers" },
        { "[calibration 1]\nwhat = nothing\n", "own.ini:2: what is none of" },
        { "[calibration 1]\ncell_offset_counts = 1 2 3\n", "own.ini:2: what must stand before" },
        { "[calibration 1]\nmade = yesterday\n", "own.ini:2: made is no UTC time" },
        { "[calibration 2]\nwhat = zero\n[calibration 1]\nwhat = zero\n", "own.ini:4: no [calibration N]" },
        { "[sensor]\nkind = mat\n", "own.ini:2: no [calibration N]" },
        { "[calibration 1]\nwhat = equalise\nelement_gain = 0:0 1 1\n", "own.ini:3: only a mat" },
        { "[calibration 1]\nwhat = zero\nmass = 1\n", "own.ini:3: no such key" },
        { "[calibration 1]\nwhat = zero\nnonsense\n", "own.ini:3: not a [section]" },
        { "[calibration 1]\nmade = 2026-03-01T09:30:00Z\n", "own.ini:2: the entry does not say" },
        { "[calibration 1]\nmass_kg = 70\n[calibration 2]\nwhat = zero\n", "own.ini:4: the entry does not say" },
        { "[calibration 1]\nwhat = equalise\nleft = 1e300\n", "own.ini:3: " },
    };
    char sub[128];
    snprintf(sub, sizeof sub, "%s/calibration", folder);
    mkdir(sub, 0700);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        FILE *f = fopen(path, "w");
        fputs(rows[i].text, f);
        fclose(f);
        load_text(CELLS);
        cr_expect_eq(reload(NULL), ERR_FORMAT, "row %zu", i);
        cr_expect_not_null(strstr(message_english(&why), rows[i].where), "row %zu: %s", i, message_english(&why));
    }
    /* A byte of value 0 hides what follows it, a line's end too. */
    static const char hidden[] = "; by hand\n; and \0 the rest";
    FILE *f = fopen(path, "w");
    cr_assert_eq(fwrite(hidden, 1, sizeof hidden - 1, f), sizeof hidden - 1);
    fclose(f);
    load_text(CELLS);
    cr_expect_eq(reload(NULL), ERR_FORMAT);
    cr_expect_not_null(strstr(message_english(&why), "own.ini:2: not a [section]"), "%s", message_english(&why));
}

/* One longer than any line of ours, with the words of an entry where a reader in pieces would look for them. */
Test(calib, what_somebody_wrote_into_the_file_stays_byte_for_byte)
{
    char text[700], sub[128], after[4096];
    memset(text, 'x', sizeof text);
    text[0] = ';';
    memcpy(text + 511, "[calibration 1]", 15); /* 512 bytes at a time: a reading as it was */
    strcpy(text + 650, "\n; no line end here");
    snprintf(sub, sizeof sub, "%s/calibration", folder);
    mkdir(sub, 0700);
    FILE *f = fopen(path, "w");
    fputs(text, f);
    fclose(f);
    start(CELLS, CALIB_ZERO);
    feed_cells(100, 500, -200, 40000, 0);
    finish((double) NAN);
    memset(&history, 0, sizeof history);
    append(CALIB_ZERO, 86400000);
    load_text(CELLS);
    f = fopen(path, "r");
    after[fread(after, 1, sizeof after - 1, f)] = '\0';
    fclose(f);
    cr_expect_eq(memcmp(after, text, strlen(text)), 0);
    history.n = 1;
    history.entry[0].number = 1;
    history.entry[0].is_undone = false;
    cr_assert_eq(calib_file_undo(path, &history, &entry, &refusal), ERR_OK);
    f = fopen(path, "r");
    after[fread(after, 1, sizeof after - 1, f)] = '\0';
    fclose(f);
    cr_expect_eq(memcmp(after, text, strlen(text)), 0);
    cr_expect_not_null(strstr(after, "\n[undone 1]\n"), "%s", after);
}

Test(calib, an_old_calibration_is_told_and_a_fresh_one_is_not)
{
    const int64_t day_ms = 86400000;
    struct message told;
    load_text(CELLS);
    state.number[CALIB_GAIN] = 4;
    state.in_force[CALIB_GAIN] =
        (struct calib_entry){ .number = 4, .what = CALIB_MASS, .made_utc_ms = 100 * day_ms };
    state.number[CALIB_OFFSETS] = 5;
    state.in_force[CALIB_OFFSETS] =
        (struct calib_entry){ .number = 5, .what = CALIB_ZERO, .made_utc_ms = 130 * day_ms };
    cr_expect_not(calib_state_tell(&state, &profile, 130 * day_ms, &told));
    cr_expect_str_eq(message_english(&told), "gain by a standing mass 30 days ago");
    cr_expect(calib_state_tell(&state, &profile, 131 * day_ms, &told));
    cr_expect_str_eq(message_english(&told), "gain by a standing mass 31 days ago: older than 30 days, calibrate again");
    profile.calibration_days = 90;
    cr_expect_not(calib_state_tell(&state, &profile, 131 * day_ms, &told));
    cr_expect_not(calib_state_tell(&state, &profile, 100 * day_ms + 5, &told));
    cr_expect_str_eq(message_english(&told), "gain by a standing mass less than a day ago");
}

Test(calib, times_are_written_and_read_in_utc)
{
    static const struct {
        int64_t s;
        const char *text;
    } rows[] = { { 0, "1970-01-01T00:00:00Z" },          { 951782400, "2000-02-29T00:00:00Z" },
                 { 1772357400, "2026-03-01T09:30:00Z" }, { 4107542399, "2100-02-28T23:59:59Z" },
                 { 1798761599, "2026-12-31T23:59:59Z" }, { 1735689600, "2025-01-01T00:00:00Z" } };
    char text[32];
    int64_t ms;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_expect_str_eq(calib_time_text(rows[i].s * 1000, text, sizeof text), rows[i].text);
        cr_expect(calib_time_from_text(rows[i].text, &ms));
        cr_expect_eq(ms, rows[i].s * 1000);
    }
    cr_expect_not(calib_time_from_text("2026-13-01T00:00:00Z", &ms));
    cr_expect_not(calib_time_from_text("2026-03-01T09:30:00Zx", &ms));
    cr_expect_not(calib_time_from_text("2026-03-01", &ms));
}

Test(calib, a_history_that_is_longer_than_its_place_counts_the_older_ones)
{
    load_text(CELLS);
    reload(NULL);
    changed = profile;
    for (int i = 0; i < 5; i++) {
        append(CALIB_ZERO, 1000);
        reload(NULL);
    }
    FILE *f = fopen(path, "a"); /* the rest at once, as append writes them */
    cr_assert(f);
    for (int i = 6; i <= CALIB_FILE_MAX_ENTRIES + 3; i++)
        fprintf(f, "[calibration %d]\nmade = 2026-03-01T09:30:00Z\nwhat = zero\ncell_offset_counts = 1 2 3\n", i);
    cr_assert_eq(fclose(f), 0);
    load_text(CELLS);
    cr_assert_eq(reload(NULL), ERR_OK, "%s", message_english(&why));
    cr_expect_eq(history.n, CALIB_FILE_MAX_ENTRIES);
    cr_expect_eq(history.n_older, 3);
    cr_expect_eq(history.entry[0].number, 4);
    cr_expect_eq(history.last_number, CALIB_FILE_MAX_ENTRIES + 3);
}
