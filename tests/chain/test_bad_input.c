/* What the world may get wrong: each is answered by one clear line, exit code 1 or 2, in bounded time, and nothing
 * is overwritten. */
#define _XOPEN_SOURCE 700 /* posix_openpt */
#include "aid/cells_recording.h"
#include "aid/process.h"
#include "aid/store_rig.h"
#include "base/monotime.h"
#include "cli/mimic.h"
#include "link/recording.h"

#include <criterion/criterion.h>
#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#define LIMIT_MS 15000

struct rig {
    struct store_rig files;
    struct process p;
    char recording[128];
    char text[65536];
};
static struct rig *r;

static void
make_rig(void)
{
    r = calloc(1, sizeof *r);
    cr_assert(r);
    cr_assert_eq(store_rig_make(&r->files), 0);
    snprintf(r->recording, sizeof r->recording, "%s/cells.rec", r->files.folder);
}

static void
remove_rig(void)
{
    process_signal(&r->p, SIGKILL);
    process_wait(&r->p, 1000);
    store_rig_remove(&r->files);
    free(r);
}

TestSuite(bad_input, .init = make_rig, .fini = remove_rig, .timeout = 500);

/* Gives the exit code; %s in line is the folder. */
static int
run_line(const char *line)
{
    return process_run_words(&r->p, r->files.folder, LIMIT_MS, line);
}

/* All of stderr: what is refused says nothing else. */
static const char *
complaint(void)
{
    return process_read(r->p.err_path, r->text, sizeof r->text);
}

static void
expect_refusal(const char *line, int code, const char *said)
{
    const int got = run_line(line);
    cr_assert_eq(got, code, "%s: exit code %d: %s", line, got, complaint());
    cr_assert(strstr(complaint(), said), "%s: '%s' does not say '%s'", line, r->text, said);
    cr_assert_eq(process_count_lines(r->text), 1, "%s: more than one line: %s", line, r->text);
}

static void
write_file(const char *name, const void *bytes, size_t len)
{
    char path[160];
    snprintf(path, sizeof path, "%s/%s", r->files.folder, name);
    FILE *f = fopen(path, "w");
    cr_assert(f);
    cr_assert_eq(fwrite(bytes, 1, len, f), len);
    fclose(f);
}

Test(bad_input, words_that_are_off_are_usage)
{
    cells_recording_make(r->recording, 1);
    static const struct {
        const char *line;
        int code;
        const char *said;
    } rows[] = {
        { "live --port", 2, "--port needs a value" },
        { "live --nonsense", 2, "--nonsense is no option" },
        { "live --mass 700", 2, "--mass 700 is out of range" },
        { "live --target cadence_spm=180:170", 2, "low edge must be below" },
        { "live --target cadence_spm=170:180 --target cadence_spm=160:165", 2, "has a target already" },
        { "live --target speed=1:2", 2, "there is no metric 'speed'" },
        { "live --target cadence_spm=-1:1e9", 2, "cadence_spm lies between 60 and 300 steps/min" },
        { "live --language xx", 2, "languages/xx.mo" },
        { "live --headless --language xx", 2, "languages/xx.mo" },
        { "live --headless --display 9", 2, "--headless" },
        { "live --theme pink", 2, "--theme 'pink'" },
        { "live --size huge", 2, "--size 'huge' is not WIDTHxHEIGHT" },
        { "live --at 3", 2, "--at needs --shot" },
        { "live --profile /no/such.ini", 2, "/no/such.ini" },
        { "live extra", 2, "'extra' is one word too many" },
        { "demo --kind carpet", 2, "--kind 'carpet'" },
        { "demo --wire morse", 2, "--wire 'morse'" },
        { "demo --runner R-999", 2, "--runner 'R-999'" },
        { "replay", 2, "give FILE" },
        { "replay %s/cells.rec --pace quick", 2, "--pace 'quick'" },
        { "replay %s/cells.rec --steps --pace 0", 2, "--pace '0'" },
        { "fly", 2, "'fly' is no command" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        expect_refusal(rows[i].line, rows[i].code, rows[i].said);
}

Test(bad_input, help_and_version_are_data_and_fine)
{
    static const char *const lines[] = { "--help",      "--version",   "live --help",  "demo --help",
                                         "replay --help", "mimic --help", "visits --help", "steps --help" };
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        cr_assert_eq(run_line(lines[i]), 0, "%s", lines[i]);
        cr_assert(strstr(process_read(r->p.out_path, r->text, sizeof r->text), "underfoot"), "%s", lines[i]);
        cr_assert_eq(strlen(process_read(r->p.err_path, r->text, sizeof r->text)), 0, "%s", lines[i]);
    }
    /* Without a command it is the desk, which says what it lacks here. */
    cr_assert_eq(run_line(""), 1);
    cr_assert(strstr(process_read(r->p.err_path, r->text, sizeof r->text), "no display"));
}

Test(bad_input, ports_and_files_that_are_none)
{
    write_file("notes.txt", "These are some notes.\nNothing of a sensor.\n", 43);
    write_file("empty", "", 0);
    static const struct {
        const char *line, *said;
    } rows[] = {
        { "live --headless --port /no/such/port", "/no/such/port" },
        { "live --headless --port %s/notes.txt", "notes.txt" },
        { "live --headless --port %s/empty", "empty" },
        { "live --headless --port %s", "underfoot-test-" }, /* a folder */
        { "replay --headless %s/none.rec", "none.rec" },
        { "replay --steps %s/none.rec", "none.rec" },
        { "replay %s/notes.txt", "notes.txt" },
        { "live --port /no/such/port", "/no/such/port" },
        { "replay --headless %s/notes.txt", "notes.txt" },
        { "replay --headless %s/empty", "empty" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        expect_refusal(rows[i].line, 1, rows[i].said);
    cr_assert_neq(access(r->files.path, F_OK), 0, "a refused start must leave no store behind");
}

/* A pseudo-terminal of this test's own. */
static int
open_pty(char *path, size_t cap)
{
    const int fd = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    cr_assert(fd >= 0 && grantpt(fd) == 0 && unlockpt(fd) == 0);
    snprintf(path, cap, "%s", ptsname(fd));
    struct termios t;
    cr_assert_eq(tcgetattr(fd, &t), 0);
    t.c_lflag = 0;
    t.c_oflag = 0;
    cr_assert_eq(tcsetattr(fd, TCSANOW, &t), 0);
    return fd;
}

Test(bad_input, a_port_that_says_nothing)
{
    char path[128], line[256];
    const int fd = open_pty(path, sizeof path);
    snprintf(line, sizeof line, "live --headless --port %s", path);
    expect_refusal(line, 1, "nothing came within");
    close(fd);
}

Test(bad_input, a_port_that_sends_garbage)
{
    char path[128];
    const int fd = open_pty(path, sizeof path);
    const char *argv[] = { process_program(), "live", "--headless", "--port", path, NULL };
    cr_assert(process_start(&r->p, r->files.folder, "run", argv));
    uint32_t seed = 1;
    for (int i = 0; i < 1400; i++) { /* seven seconds */
        uint8_t bytes[64];
        for (size_t k = 0; k < sizeof bytes; k++) {
            seed = seed * 1664525u + 1013904223u;
            bytes[k] = (uint8_t) (seed >> 24);
        }
        if (write(fd, bytes, sizeof bytes) < 0)
            break;
        monotime_sleep_us(5000);
    }
    cr_assert_eq(process_wait(&r->p, 8000), 1);
    cr_assert(strstr(complaint(), "nothing that can be read"), "%s", r->text);
    cr_assert_eq(process_count_lines(r->text), 1, "%s", r->text);
    close(fd);
}

/* Bytes of the store's file before and after a refused start. */
static void
expect_untouched_refusal(const char *said)
{
    static char before[1 << 18], after[1 << 18];
    FILE *f = fopen(r->files.path, "r");
    const size_t n_before = fread(before, 1, sizeof before, f);
    fclose(f);
    expect_refusal("live --headless --seconds 1 --port %s/cells.rec", 1, said);
    f = fopen(r->files.path, "r");
    const size_t n_after = fread(after, 1, sizeof after, f);
    fclose(f);
    cr_assert(n_before == n_after && memcmp(before, after, n_before) == 0, "the store was written to");
}

static void
make_store(void)
{
    struct store s;
    cr_assert_eq(store_open(&s, r->files.path, 0), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
}

Test(bad_input, a_store_of_a_newer_version)
{
    cells_recording_make(r->recording, 3);
    make_store();
    sqlite3 *db;
    cr_assert_eq(sqlite3_open(r->files.path, &db), SQLITE_OK);
    cr_assert_eq(sqlite3_exec(db, "PRAGMA user_version = 999", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
    expect_untouched_refusal("newer");
}

Test(bad_input, a_store_that_is_none)
{
    cells_recording_make(r->recording, 3);
    make_store();
    FILE *f = fopen(r->files.path, "w");
    for (int i = 0; i < 2000; i++)
        fputs("not a store ", f);
    fclose(f);
    expect_untouched_refusal("underfoot.sqlite");
}

Test(bad_input, a_store_folder_that_can_not_be)
{
    cells_recording_make(r->recording, 3);
    write_file("data", "a file where the folder should be", 33);
    expect_refusal("live --headless --seconds 1 --port %s/cells.rec", 1, "data");
}

Test(bad_input, a_recording_is_never_overwritten)
{
    cells_recording_make(r->recording, 3);
    write_file("old.rec", "precious", 8);
    expect_refusal("live --headless --seconds 1 --port %s/cells.rec --record %s/old.rec", 1, "old.rec");
    char path[160];
    snprintf(path, sizeof path, "%s/old.rec", r->files.folder);
    cr_assert_str_eq(process_read(path, r->text, sizeof r->text), "precious");
}

/* A cut tail, as a crash leaves it: what is whole is replayed, and it is said. */
Test(bad_input, a_cut_recording_is_replayed_up_to_the_cut)
{
    cells_recording_make(r->recording, 6);
    const int fd = open(r->recording, O_RDWR);
    const off_t len = lseek(fd, 0, SEEK_END);
    cr_assert_eq(ftruncate(fd, len - 7), 0);
    close(fd);
    cr_assert_eq(run_line("replay --headless %s/cells.rec"), 1, "%s", complaint());
    cr_assert_eq(process_count_lines(complaint()), 1, "%s", r->text);
    cr_assert(strstr(process_read(r->p.out_path, r->text, sizeof r->text), "steps"), "%s", r->text);
}

/* Half sines of 250 ms with 110 ms between them at 500 Hz, with noise of some newtons, on an offset. */
static void
write_trace(const char *name, double offset_n)
{
    char path[160];
    unsigned noise = 1;
    snprintf(path, sizeof path, "%s/%s", r->files.folder, name);
    FILE *f = fopen(path, "w");
    cr_assert(f && fputs("t,fz\n", f) >= 0);
    for (int i = 0; i < 10000; i++) {
        const double t_s = i / 500.0, phase_s = fmod(t_s, 0.36);
        noise = noise * 1664525u + 1013904223u;
        fprintf(f, "%.6f,%.2f\n", t_s, offset_n + (double) (noise >> 16) / 65536 * 30 - 15 +
                                            (phase_s < 0.25 ? 1650 * sin(3.14159265358979 * phase_s / 0.25) : 0));
    }
    fclose(f);
}

Test(bad_input, a_run_on_a_sensor_that_was_not_set_to_zero_is_not_called_a_walk)
{
    write_trace("untared.csv", 600);
    expect_refusal("steps %s/untared.csv", 1, "was the sensor set to zero unloaded?");
    cr_assert(!strstr(r->text, "walk"), "%s", r->text);
    write_trace("tared.csv", 0);
    cr_assert_eq(run_line("steps %s/tared.csv"), 0);
    cr_assert_str_empty(complaint());
}

Test(bad_input, a_threshold_in_the_noise_is_told)
{
    write_trace("run.csv", 0);
    run_line("steps %s/run.csv --threshold 8");
    cr_assert(strstr(complaint(), "--threshold 8 lies in the noise, which is "), "%s", r->text);
    cr_assert_eq(run_line("steps %s/run.csv --threshold 40"), 0);
    cr_assert_str_empty(complaint());
}

/* How many rows of `replay --steps` say settled. */
static int
count_settled(void)
{
    int n = 0;
    process_read(r->p.out_path, r->text, sizeof r->text);
    for (const char *line = r->text; (line = strchr(line, '\n')) && line[1];) {
        line++;
        const char *second = strchr(line, ',');
        n += second && second[1] == '1';
    }
    return n;
}

/* One flipped bit, then 3 kB cut out: a step or two are lost, none is made up, the rest is as before. */
Test(bad_input, a_damaged_place_in_a_recording_costs_the_steps_it_touches)
{
    static char bytes[1 << 20];
    cells_recording_make(r->recording, 20);
    cr_assert_eq(run_line("replay --steps %s/cells.rec"), 0, "%s", complaint());
    const int n_steps = count_settled();
    cr_assert_gt(n_steps, 30);
    FILE *f = fopen(r->recording, "r");
    const size_t len = fread(bytes, 1, sizeof bytes, f);
    fclose(f);
    cr_assert(len > 100000 && len < sizeof bytes, "%zu bytes", len);
    for (int is_cut_out = 0; is_cut_out < 2; is_cut_out++) {
        const size_t at = len / 2, n_out = is_cut_out ? 3333 : 0;
        f = fopen(r->recording, "w");
        bytes[at - 1] ^= 4;
        fwrite(bytes, 1, at, f);
        fwrite(bytes + at + n_out, 1, len - at - n_out, f);
        fclose(f);
        bytes[at - 1] ^= 4;
        cr_assert_eq(run_line("replay --steps %s/cells.rec"), 1, "what is lost is told by the exit code");
        cr_expect(strstr(complaint(), "bytes were passed over"), "%s", r->text);
        const int n_left = count_settled();
        /* Computed: a frame is a second, at under 180 steps a minute 3 steps, and its neighbours; the hole may touch two. */
        cr_expect(n_left < n_steps && n_left >= n_steps - 4 * (1 + is_cut_out), "%d of %d steps", n_left, n_steps);
        cr_assert_eq(run_line("steps %s/cells.rec"), 1);
        cr_expect(strstr(complaint(), "bytes were passed over"), "%s", r->text);
        process_read(r->p.out_path, r->text, sizeof r->text);
        cr_expect_geq(process_count_lines(r->text), n_left - 1, "the table is there");
    }
}

Test(bad_input, a_recording_given_as_the_port_ends_by_itself)
{
    cells_recording_make(r->recording, 4);
    cr_assert_eq(run_line("runner add R-014"), 0);
    cr_assert_eq(run_line("live --headless --runner R-014 --port %s/cells.rec"), 0, "%s", complaint());
    cr_assert(strstr(process_read(r->p.out_path, r->text, sizeof r->text), "finished"), "%s", r->text);
}

/* The device that is always full stands in for a disc without room. */
Test(bad_input, what_could_not_be_printed_is_told_and_is_no_success)
{
    static const char *const words[] = { "--help", "--version", "live --help", "runner list", "mimic --list" };
    cr_assert_eq(run_line("runner add R-014"), 0);
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        char command[512];
        snprintf(command, sizeof command, "'%s' %s >/dev/full", process_program(), words[i]);
        const char *argv[] = { "/bin/sh", "-c", command, NULL };
        cr_assert_eq(process_run(&r->p, r->files.folder, "full", 10000, argv), 1, "%s", words[i]);
        cr_expect(strstr(process_read(r->p.err_path, r->text, sizeof r->text), "can't write to the standard output: No space"),
                  "%s: %s", words[i], r->text);
    }
}
