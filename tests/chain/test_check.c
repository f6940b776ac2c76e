/* `underfoot check` and `underfoot calibrate` against a simulated sensor on a pseudo-terminal: verdicts, exit
 * codes, what the store keeps, a calibration that goes with its profile, and a replay that takes the same
 * one. */
#include "aid/process.h"
#include "aid/store_rig.h"
#include "store/store.h"

#include <criterion/criterion.h>
#include <signal.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_MAX (1 << 18)
#define PROFILE  "profiles/sensors/cells-4.ini"

struct rig {
    struct store_rig files;
    struct process mimic, run;
    char port[128], out[TEXT_MAX], err[TEXT_MAX];
};
static struct rig *r;

static void
make_rig(void)
{
    r = calloc(1, sizeof *r);
    cr_assert(r);
    cr_assert_eq(store_rig_make(&r->files), 0);
}

static void
remove_rig(void)
{
    process_signal(&r->mimic, SIGKILL);
    process_wait(&r->mimic, 1000);
    store_rig_remove(&r->files);
    free(r);
}

TestSuite(check, .init = make_rig, .fini = remove_rig, .timeout = 500);

/* pace: FAST where nothing hangs on when a command begins. `live` counts its seconds by the computer's clock, the
 * others by the sensor's. */
#define FAST "4"
static void
start_mimic(const char *kind, const char *scenario, const char *pace, const char *option, const char *value)
{
    process_signal(&r->mimic, SIGTERM);
    process_wait(&r->mimic, 2000);
    const char *argv[] = { process_program(), "mimic", "--kind", kind, "--scenario", scenario, "--pace", pace, option,
                           value, NULL };
    cr_assert(process_start(&r->mimic, r->files.folder, "mimic", argv));
    cr_assert(process_first_line(r->mimic.out_path, r->port, sizeof r->port, 5000));
}

/* Runs `underfoot WORDS... --port PORT`; the output is in r->out and r->err. */
static int
run(const char *first, ...)
{
    const char *argv[24] = { process_program(), first };
    int n = 2;
    va_list ap;
    va_start(ap, first);
    for (const char *word; (word = va_arg(ap, const char *)) != NULL;)
        argv[n++] = word;
    va_end(ap);
    argv[n++] = "--port";
    argv[n++] = r->port;
    argv[n] = NULL;
    const int code = process_run(&r->run, r->files.folder, "run", 20000, argv);
    process_read(r->run.out_path, r->out, sizeof r->out);
    process_read(r->run.err_path, r->err, sizeof r->err);
    return code;
}

static void
says(const char *text, const char *what)
{
    cr_expect_not_null(strstr(text, what), "'%s' is missing in: %s", what, text);
}

static double
number_behind(const char *what)
{
    const char *at = strstr(r->out, what);
    cr_assert(at, "'%s' is missing in: %s", what, r->out);
    return strtod(at + strlen(what), NULL);
}

Test(check, a_good_sensor_is_good_and_its_visit_knows)
{
    start_mimic("cells", "empty", FAST, "--seam", "0");
    cr_expect_eq(run("check", "--profile", PROFILE, "--seconds", "3", NULL), 0, "%s%s", r->out, r->err);
    says(r->out, "\nrate       good         1000.0");
    says(r->out, "\nlost       good            0.00 %");
    says(r->out, "\ndead       untested");
    says(r->out, "\nverdict    good\n");
    /* a visit on the same port, with a runner: another sensor under the name of the first would do as well */
    start_mimic("cells", "steady", FAST, "--mass", "70");
    struct store s;
    cr_assert_eq(store_open(&s, r->files.path, 0), ERR_OK, "%s", message_english(&s.why));
    struct store_check row = { .sensor_kind = "cells", .grade = "mind", .report = "{}\n" };
    strcpy(row.sensor_name, r->port);
    cr_assert_eq(store_check_put(&s, &row), ERR_OK, "%s", message_english(&s.why));
    cr_expect_eq(row.id, 2, "the first one is the command's");
    store_close(&s);
    cr_expect_eq(run("live", "--headless", "--seconds", "1", "--speed", "2.8", NULL), 0, "%s", r->err);
    says(r->out, "\nsensor check        mind, ");
}

Test(check, a_bad_line_is_bad_and_the_report_is_json)
{
    start_mimic("switches", "empty", FAST, "--lost", "10");
    cr_expect_eq(run("check", "--seconds", "2", "--json", NULL), 1, "%s", r->err);
    says(r->out, "\"verdict\": \"bad\"");
    says(r->out, "\"lost\": {\n    \"verdict\": \"bad\",\n    \"value\": ");
    says(r->out, "a shorter cable");
    cr_expect_eq(r->out[0], '{');
    cr_expect_eq(run("check", "--seconds", "0", NULL), 2);
    strcpy(r->port, "/nonexistent");
    cr_expect_eq(run("check", NULL), 1);
    says(r->err, "/nonexistent is not there");
}

Test(check, somebody_on_a_sensor_that_should_be_empty_is_told)
{
    start_mimic("mat", "steady", FAST, "--mass", "70");
    cr_expect_eq(run("check", "--seconds", "2", NULL), 1);
    says(r->out, "was somebody on it");
}

Test(check, a_calibration_goes_with_its_profile_and_a_replay_takes_the_one_of_its_time)
{
    char record[128], first[512];
    start_mimic("cells", "stand", "1", "--mass", "70"); /* nobody for three seconds, then standing */
    cr_expect_eq(run("calibrate", "zero", "--profile", PROFILE, "--seconds", "1.5", NULL), 0, "%s", r->err);
    says(r->out, "zero");
    cr_expect_eq(run("calibrate", "mass", "70", "--profile", PROFILE, "--seconds", "3", NULL), 1,
                 "stepped on meanwhile");
    says(r->err, "nothing is changed: the force changes");
    cr_expect_eq(run("calibrate", "mass", "77", "--profile", PROFILE, "--seconds", "1.5", NULL), 0, "%s",
                 r->err);
    says(r->out, "mass      77.0 kg; the gain was off by -9.1 %");
    says(r->err, "more than the 5 %");

    start_mimic("cells", "steady", FAST, "--mass", "70");
    snprintf(record, sizeof record, "%s/visit.rec", r->files.folder);
    cr_expect_eq(run("live", "--headless", "--seconds", "2.5", "--profile", PROFILE, "--speed", "2.8", "--mass",
                     "70", "--record", record, NULL),
                 0, "%s", r->err);
    says(r->out, "\ncalibration         gain by a standing mass less than a day ago; gain off by +");
    const double drift_pct = number_behind("\ngain drift ");
    cr_expect(drift_pct > 9 && drift_pct < 11, "77 kg said of 70: 10 %%, less what lost packets cost; %g %%", drift_pct);
    strcpy(r->port, record);
    cr_expect_eq(run("steps", record, NULL), 2, "--port is none of its words");
    const char *steps[] = { process_program(), "steps", record, NULL };
    cr_assert_eq(process_run(&r->run, r->files.folder, "steps", 20000, steps), 0);
    process_read(r->run.out_path, first, sizeof first);

    cr_expect_eq(run("calibrate", "undo", "--profile", PROFILE, NULL), 0, "%s", r->err);
    says(r->out, "mass");
    cr_expect_eq(run("calibrate", "history", "--profile", PROFILE, NULL), 0, "%s", r->err);
    says(r->out, "(taken back)\nin force: zeroed less than a day ago");
    cr_assert_eq(process_run(&r->run, r->files.folder, "steps", 20000, steps), 0);
    process_read(r->run.out_path, r->out, sizeof first);
    cr_expect_str_eq(r->out, first, "the recording's steps do not depend on what is calibrated later");
}

Test(check, running_calibrates_by_the_momentum_balance)
{
    start_mimic("cells", "steady", FAST, "--mass", "70");
    cr_expect_eq(run("calibrate", "running", "70", "--profile", PROFILE, "--seconds", "10", NULL), 0, "%s",
                 r->err);
    const double off_pct = number_behind("off by ");
    cr_expect(off_pct > -1 && off_pct < 1, "off by %g %%", off_pct);
}

Test(check, words_that_mean_nothing_are_refused)
{
    strcpy(r->port, "/nonexistent");
    cr_expect_eq(run("calibrate", NULL), 2);
    cr_expect_eq(run("calibrate", "tare", "--profile", PROFILE, NULL), 2);
    cr_expect_eq(run("calibrate", "mass", "--profile", PROFILE, NULL), 2);
    cr_expect_eq(run("calibrate", "mass", "7000", "--profile", PROFILE, NULL), 2);
    cr_expect_eq(run("calibrate", "zero", NULL), 2);
    says(r->err, "--profile is needed");
    cr_expect_eq(run("calibrate", "undo", "--profile", PROFILE, NULL), 1);
    says(r->err, "no calibration to take back");
    cr_expect_eq(run("calibrate", "zero", "--profile", PROFILE, NULL), 1);
    says(r->err, "/nonexistent is not there");
}

/* 256 have room (calib_file.h): computed. */
Test(check, a_history_too_long_to_be_listed_says_how_many_are_left_out_and_where_they_are)
{
    char path[160];
    snprintf(path, sizeof path, "mkdir -p '%s/data/calibration'", r->files.folder);
    cr_assert_eq(system(path), 0);
    snprintf(path, sizeof path, "%s/data/calibration/cells-4.ini", r->files.folder);
    FILE *f = fopen(path, "w");
    cr_assert(f);
    for (int i = 1; i <= 260; i++)
        fprintf(f, "[calibration %d]\nmade = 2026-03-01T09:30:00Z\nwhat = zero\ncell_offset_counts = 1 2 3 4\n", i);
    cr_assert_eq(fclose(f), 0);
    const char *argv[] = { process_program(), "calibrate", "history", "--profile", PROFILE, NULL };
    cr_assert_eq(process_run(&r->run, r->files.folder, "history", 20000, argv), 0);
    process_read(r->run.out_path, r->out, sizeof r->out);
    snprintf(path, sizeof path, "4 older ones are not listed: they are in %s/data/calibration/cells-4.ini\n   5  ", r->files.folder);
    cr_expect(strncmp(r->out, path, strlen(path)) == 0, "%.200s", r->out);
}
