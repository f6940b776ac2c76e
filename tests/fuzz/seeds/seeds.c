/* seeds.c - first inputs for the fuzz targets, from the program's own makers: FOLDER/TARGET/NAME. `make fuzz-seeds` calls
 * it and keeps, of these and of what is in tests/fuzz/corpus, the least that reaches as much. */
#include "cli/mimic.h"
#include "link/recording.h"
#include "live/command_code.h"
#include "setup/calib_file.h"
#include "visit/begun_text.h"
#include "wire/wire_parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const char *folder;

static FILE *
seed(const char *target, const char *name)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/%s", folder, target);
    mkdir(path, 0755);
    snprintf(path, sizeof path, "%s/%s/%s", folder, target, name);
    FILE *f = fopen(path, "wb");
    if (f == NULL) {
        perror(path);
        exit(1);
    }
    return f;
}

/* A file of ours, behind `first` when that is a byte, not longer than most. */
static void
copy(const char *target, const char *name, int first, const char *from, size_t most)
{
    char text[16384];
    FILE *in = fopen(from, "rb"), *out = seed(target, name);
    if (in == NULL) {
        perror(from);
        exit(1);
    }
    const size_t n = fread(text, 1, most < sizeof text ? most : sizeof text, in);
    if (first >= 0)
        fputc(first, out);
    fwrite(text, 1, n, out);
    fclose(in);
    fclose(out);
}

static void
put_u16(FILE *f, unsigned v)
{
    fputc((int) (v & 255), f);
    fputc((int) (v >> 8 & 255), f);
}

/* Some packets of a simulated board: as they come, or each with its length and without its coding and checksum. */
static void
board(const char *name, enum frame_kind kind, bool is_text, double seconds, size_t most)
{
    static struct mimic m;
    static uint8_t raw[WIRE_RAW_MAX];
    struct mimic_config c = mimic_config_default();
    c.board = board_config_default(kind);
    c.board.form.is_text = is_text;
    c.board.form.has_crc = is_text && kind == FRAME_KIND_CELLS;
    c.board.rate_hz = 100;
    c.seconds = seconds;
    if (kind == FRAME_KIND_MAT) {
        c.board.layout.n_rows = 16;
        c.board.layout.n_cols = 8;
    }
    mimic_init(&m, &c);
    FILE *f = seed(is_text ? "wire_text" : "wire_binary", name);
    if (is_text)
        fputc(0, f);
    const uint8_t *bytes;
    size_t n_out = 0;
    for (int n; (n = mimic_step(&m, &bytes)) >= 0 && n_out < most; n_out += (size_t) n) {
        if (is_text) {
            fwrite(bytes, 1, (size_t) n, f);
            continue;
        }
        for (size_t at = 0, n_raw; at < (size_t) n;) {
            const ptrdiff_t used = wire_cobs_take(bytes + at, (size_t) n - at, raw, sizeof raw, &n_raw);
            if (used <= 0)
                break;
            at += (size_t) used;
            if (n_raw < WIRE_RAW_HEAD + WIRE_RAW_TAIL)
                continue;
            put_u16(f, (unsigned) (n_raw - WIRE_RAW_TAIL));
            fwrite(raw, 1, n_raw - WIRE_RAW_TAIL, f);
        }
    }
    fclose(f);
}

/* Half-sine contacts of both feet, with a hole, a backward clock and numbers that are none in a second one. */
static void
gait(const char *name, int head, bool is_hard)
{
    FILE *f = seed("gait", name);
    fputc(head, f);
    fputc(31, f); /* 298 Hz */
    for (int i = 0; i < 40; i++) {
        fputc(74, f);
        fputc(head % 3 == 2 ? 0 : 2, f);
        put_u16(f, head % 3 == 2 ? (i % 2 ? 3u : 12u) : 13600u + (i % 2 ? 2u : 0u));
        fputc(26, f);
        fputc(is_hard && i % 8 == 7 ? 3 + i / 8 % 5 : 0, f);
        put_u16(f, 0);
    }
    fclose(f);
}

static void
trace(const char *name, int head, bool has_t, bool has_cop)
{
    FILE *f = seed("trace", name);
    fputc(head, f);
    fprintf(f, "%sfz%s\n", has_t ? "t," : "", has_cop ? ",copx,copy" : "");
    for (int i = 0; i < 420; i++) { /* 4 steps a second at 60 Hz */
        const double at = fmod(i / 15.0, 1.0);
        if (has_t)
            fprintf(f, "%.3f,", i / 60.0);
        fprintf(f, "%.0f", at < 0.7 ? 1700 * sin(3.14159265358979 * at / 0.7) : 0);
        if (has_cop)
            fprintf(f, at < 0.7 ? ",%d,%.0f" : ",,", i / 15 % 2 ? 60 : -60, 100 - 200 * at);
        fputc('\n', f);
    }
    fclose(f);
}

static void
put_item(FILE *f, enum recording_kind kind, int ms, const void *bytes, size_t len)
{
    fputc((int) kind, f);
    fputc(ms, f);
    put_u16(f, (unsigned) len);
    fwrite(bytes, 1, len, f);
}

static void
recording(void)
{
    static char profile_text[BEGUN_TEXT_PROFILE_MAX], coach_text[BEGUN_TEXT_COACH_MAX];
    static struct sense_profile profile;
    static struct mimic m;
    struct message why;
    struct coach_config coach = coach_config_default();
    if (profile_load(&profile, "profiles/sensors/switches-4.ini", &why) != ERR_OK) {
        fprintf(stderr, "%s\n", message_english(&why));
        exit(1);
    }
    begun_text_profile(&profile, profile_text, sizeof profile_text);
    begun_text_coach(&coach, coach_text, sizeof coach_text);
    FILE *f = seed("recording", "switches");
    fputc(2, f);
    fprintf(f, "made: 2026-01-01\nrunner: R-014\nbody_mass_kg: 70\nbelt_speed_m_s: 2.8\n\n%s====\n%s", profile_text, coach_text);
    fputc(0, f);
    put_u16(f, 0);
    fputc(0, f);
    struct mimic_config c = mimic_config_default();
    c.board = board_config_default(FRAME_KIND_SWITCHES);
    c.board.rate_hz = 100;
    c.board.is_binary_switches = true;
    c.seconds = 4;
    mimic_init(&m, &c);
    put_item(f, RECORDING_MARK, 1, "begin 3", 7);
    const uint8_t *bytes;
    for (int n; (n = mimic_step(&m, &bytes)) >= 0;)
        put_item(f, RECORDING_BYTES, 10, bytes, (size_t) n);
    uint8_t code[COMMAND_CODE_MAX];
    const struct command command = { .kind = COMMAND_PAUSE };
    put_item(f, RECORDING_COMMAND, 5, code, command_code_write(&command, code));
    put_item(f, RECORDING_TICK, 100, "", 0);
    put_item(f, RECORDING_GONE, 1, "unplugged", 9);
    put_item(f, RECORDING_BACK, 100, "", 0);
    put_item(f, RECORDING_GAP, 1, "", 0);
    put_item(f, RECORDING_MARK, 1, "pain 1 1000 3 nan", 17);
    put_item(f, RECORDING_MARK, 1, "note 1000 a note", 16);
    fclose(f);
    f = seed("recording", "frame");
    fprintf(f, "\1runner: R-014\n\n");
    fputc(0, f);
    fputc(0, f);
    fwrite("\0\2\3ab\n\2\4\0", 1, 9, f);
    fclose(f);
    f = seed("recording", "file"); /* version 1: its magic, a head, no chunk */
    fputc(0, f);
    fputs("underfoot recording 1\nmade: 2026-01-01\n\n", f);
    fclose(f);
}

static void
commands(void)
{
    uint8_t code[COMMAND_CODE_MAX];
    static struct command targets;
    targets.kind = COMMAND_TARGETS;
    size_t n = command_code_write(&targets, code);
    FILE *f = seed("settings", "targets");
    fputc(2, f);
    fwrite(code, 1, n, f);
    fclose(f);
    f = seed("settings", "likes");
    fputc(1, f);
    fputs("theme=light language=de distance=2,5 sound=on metronome=176 volume=80", f);
    fclose(f);
    f = seed("settings", "recordings");
    fputc(0, f);
    fputs("[recordings]\nkeep_visits = 1000\nkeep_gb = 50\n", f);
    fclose(f);
}

static void
calibrations(void)
{
    static struct sense_profile profile;
    static struct calib_history history;
    static const char *const names[] = { "cells-4", "mat-16x8", "switches-4" };
    for (int i = 0; i < 3; i++) {
        char path[1024], from[1024], why_text[ERR_WHY_MAX];
        struct message why;
        snprintf(from, sizeof from, "profiles/sensors/%s.ini", names[i]);
        snprintf(path, sizeof path, "%s/calibration-%s.ini", folder, names[i]);
        if (profile_load(&profile, from, why_text) != ERR_OK)
            exit(1);
        history.n = history.last_number = 0;
        const enum calib_what what[] = { CALIB_ZERO, i == 1 ? CALIB_EQUALISE : CALIB_MASS };
        for (int k = 0; k < (i == 2 ? 1 : 2); k++) {
            struct calib_entry e = { .what = what[k], .made_utc_ms = INT64_C(1767225600000), .mass_kg = 70 };
            if (calib_file_append(path, &history, &profile, &e, &why) != ERR_OK)
                exit(1);
            history.last_number = e.number;
        }
        copy("calibration", names[i], i, path, 16384);
        remove(path);
    }
}

static void
stores(void)
{
    static const char *const sql[] = {
        "UPDATE step SET touchdown_us = 0;", "DELETE FROM block;", "UPDATE visit SET started_utc_ms = -1;",
        "UPDATE runner SET code = 'x';", "CREATE TRIGGER t AFTER UPDATE ON visit BEGIN DELETE FROM step; END;",
        "PRAGMA user_version = 3;", "DROP TABLE note;", "PRAGMA writable_schema=1; UPDATE sqlite_master SET sql = 'x' WHERE name = 'step';",
    };
    char name[16];
    for (size_t i = 0; i < sizeof sql / sizeof *sql; i++) {
        snprintf(name, sizeof name, "sql-%zu", i);
        FILE *f = seed("store", name);
        fputc(2, f);
        fputs(sql[i], f);
        fclose(f);
    }
    FILE *f = seed("store", "bytes");
    fwrite("\1\0\0\24\0\7\3\0\10\0\11", 1, 11, f);
    fclose(f);
    f = seed("store", "file");
    fwrite("\0SQLite format 3\0\2\0\2\2\0\100\40\40", 1, 25, f);
    fclose(f);
}

int
main(int argc, char **argv)
{
    if (argc != 2) {
        fprintf(stderr, "usage: seeds FOLDER (from the root of the tree)\n");
        return 2;
    }
    folder = argv[1];
    board("cells", FRAME_KIND_CELLS, true, 0.4, 4000);
    board("switches", FRAME_KIND_SWITCHES, true, 5, 8000);
    board("mat", FRAME_KIND_MAT, true, 0.1, 6000);
    board("cells", FRAME_KIND_CELLS, false, 0.5, 4000);
    board("switches", FRAME_KIND_SWITCHES, false, 3, 6000);
    board("mat", FRAME_KIND_MAT, false, 0.1, 6000);
    gait("force", 0, false);
    gait("cells", 1, false);
    gait("switches", 2, false);
    gait("hard", 0, true);
    gait("unknown", 8 + 16 + 32 + 64 + 128, true);
    trace("plain", 64 + 4 + 2, true, true);
    trace("bare", 1, false, false);
    recording();
    commands();
    calibrations();
    stores();
    copy("profile", "cells", -1, "profiles/sensors/cells-4.ini", 8192);
    copy("profile", "mat", -1, "profiles/sensors/mat-16x8.ini", 8192);
    copy("profile", "switches", -1, "profiles/sensors/switches-4.ini", 8192);
    copy("plan", "ours", -1, "profiles/plans/underfoot-ten-to-twenty.ini", 8192);
    copy("plan", "mirror", -1, "profiles/plans/mirror-faded.ini", 8192);
    copy("language", "plain", -1, "tests/fuzz/corpus/language/plain", 8192);
    copy("language", "hashed", -1, "tests/fuzz/corpus/language/hashed", 8192);
    return 0;
}
