/* Stored visits measured again from their recordings, by the program. The visits are a simulated runner's, in virtual time;
 * what an engine of another day would have left is put into the store by hand. */
#include "aid/process.h"
#include "aid/store_file.h"
#include "cli/demo.h"
#include "cli/mimic.h"
#include "store/running.h"
#include "visit/run.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define LASTS_S  40.0
#define BEGINS_S 1.0

static struct store_rig rig;
static char recording[3][FILEIO_PATH_MAX]; /* of visit 1, 2 */
static char out[8192], err_text[2048];

/* Visit number `visit` of R-014, recorded. */
static void
run_visit(int visit, double rate_hz)
{
    static struct sense_profile profile;
    struct mimic mimic;
    struct mimic_config m = mimic_config_default();
    struct run_config c = run_config_default();
    struct run *run = calloc(1, sizeof *run);
    const uint8_t *bytes;
    cr_assert(run);
    m.board = board_config_default(FRAME_KIND_CELLS);
    m.board.rate_hz = rate_hz;
    m.runner.seed = (uint32_t) visit;
    mimic_init(&mimic, &m);
    demo_profile(&mimic, &profile);
    c.session.pipeline.profile = &profile;
    c.session.pipeline.body_mass_kg = m.runner.style.mass_kg;
    c.is_stored = c.is_virtual = true;
    c.visit.store_path = rig.path;
    c.visit.runner_code = "R-014";
    run_init(run, &c);
    while (mimic.board.t_s < LASTS_S) {
        const int n = mimic_step(&mimic, &bytes);
        cr_assert_gt(n, 0);
        if (!run->is_begun && mimic.board.t_s >= BEGINS_S)
            cr_assert_eq(run_begin(run), ERR_OK, "%s", message_english(&run->why));
        run_feed(run, bytes, (size_t) n, (struct host_time){ units_us_from_s(mimic.board.t_s) + 5000000 });
    }
    run_finish(run);
    cr_assert_eq(run_end(run, LASTS_S), ERR_OK, "%s", message_english(&run->why));
    snprintf(recording[visit], sizeof recording[visit], "%s", run->record.kept_path);
    cr_assert_eq(access(recording[visit], R_OK), 0, "%s", recording[visit]);
    free(run);
}

static void
make_visit(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
    run_visit(1, 250);
}

static void
remove_rig(void)
{
    store_rig_remove(&rig);
}

TestSuite(remeasure, .init = make_visit, .fini = remove_rig, .timeout = 500);

/* The program; its output in out and err_text. */
static int
underfoot(const char *words)
{
    struct process p;
    char path[128];
    const int code = process_run_words(&p, rig.folder, 60000, words);
    snprintf(path, sizeof path, "%s/run.out", rig.folder);
    process_read(path, out, sizeof out);
    snprintf(path, sizeof path, "%s/run.err", rig.folder);
    process_read(path, err_text, sizeof err_text);
    return code;
}

static void
expect_last_line(int64_t n_steps, int64_t n_same)
{
    char want[64];
    snprintf(want, sizeof want, "%lld steps, %lld the same\n", (long long) n_steps, (long long) n_same);
    const size_t len = strlen(out), n = strlen(want);
    cr_expect(len >= n && strcmp(out + len - n, want) == 0, "wanted %sin %s%s", want, out, err_text);
}

static int64_t
stored(const char *sql)
{
    return store_file_int(rig.path, sql);
}

Test(remeasure, todays_engine_measures_a_visit_of_today_the_same)
{
    const int64_t n = stored("SELECT count(*) FROM step");
    cr_assert_gt(n, 80); /* 40 s of running, at 164 steps a minute as the simulated runner has it */
    cr_expect_eq(underfoot("remeasure 1"), 0, "%s", err_text);
    expect_last_line(n, n);
    cr_expect_null(strstr(out, "differing"), "%s", out);
    cr_expect_str_eq(err_text, "");
    cr_expect_eq(underfoot("remeasure 1 --keep"), 0, "%s", err_text);
    cr_expect_not_null(strstr(out, "there already"), "%s", out);
    cr_expect_eq(stored("SELECT count(*) FROM measurement"), 0);
}

Test(remeasure, what_differs_is_told_for_each_figure)
{
    const int64_t n = stored("SELECT count(*) FROM step");
    store_file_sql(rig.path, "UPDATE step SET contact_ms = contact_ms + 3 WHERE number IN (20, 21);"
                             "UPDATE step SET flight_ms = NULL WHERE number = 30;"
                             "UPDATE step SET toe_out_deg = 5 WHERE number = 31;" /* cells measure none */
                             "DELETE FROM step WHERE number = 40");
    cr_expect_eq(underfoot("remeasure 1"), 0, "%s", err_text);
    expect_last_line(n, n - 5);
    cr_expect_not_null(strstr(out, "contact_ms                   2     -3.0000     -3.0000       0       1\n"), "%s", out);
    cr_expect_not_null(strstr(out, "flight_ms                    0           -           -       0       2\n"), "%s", out);
    cr_expect_not_null(strstr(out, "toe_out_deg                  0           -           -       1       0\n"), "%s", out);
    cr_expect_not_null(strstr(out, "0 steps are lost, 1 are new"), "%s", out);
    cr_expect_eq(stored("SELECT count(*) FROM step"), n - 1, "nothing is changed");
}

Test(remeasure, kept_figures_stand_beside_the_first_and_what_was_shown_stays)
{
    const int64_t n = stored("SELECT count(*) FROM step");
    store_file_sql(rig.path, "UPDATE step SET contact_ms = contact_ms + 100, feedback_shown = 1 - feedback_shown, block = 7;"
                             "UPDATE visit SET definitions = 'contact_ms=9'");
    const int64_t before = stored("SELECT sum(CAST(contact_ms * 1000 AS INTEGER)) FROM step");
    const int64_t shown = stored("SELECT sum(number * feedback_shown) FROM step");
    cr_expect_eq(underfoot("remeasure 1 --keep"), 0, "%s", err_text);
    expect_last_line(n, stored("SELECT count(*) FROM step WHERE contact_ms IS NULL"));
    cr_expect_eq(stored("SELECT sum(CAST(contact_ms * 1000 AS INTEGER)) FROM step"), before, "the first is never overwritten");
    char today[METRIC_DEFINITIONS_MAX], sql[METRIC_DEFINITIONS_MAX + 128];
    const struct metric_definitions definitions = metric_definitions_today();
    snprintf(sql, sizeof sql, "SELECT count(*) FROM measurement WHERE visit_id = 1 AND is_complete AND definitions = '%s'",
             metric_definitions_write(&definitions, today));
    cr_expect_eq(stored(sql), 1);
    cr_expect_eq(stored("SELECT count(*) FROM measured_step"), n);
    cr_expect_eq(stored("SELECT count(*) FROM measured_step m JOIN step s USING (number) WHERE s.contact_ms - m.contact_ms"
                        " BETWEEN 99.999 AND 100.001"), stored("SELECT count(contact_ms) FROM step"));
    cr_expect_eq(stored("SELECT sum(number * feedback_shown) FROM measured_step"), shown);
    cr_expect_eq(stored("SELECT count(*) FROM measured_step WHERE block = 7"), n);
    cr_expect_eq(underfoot("visits show 1"), 0);
    cr_expect_not_null(strstr(out, "again from its recording"), "%s", out);
    cr_expect_not_null(strstr(out, "further measurements 1, from its recording"), "%s", out);
    cr_expect_eq(underfoot("remeasure 1 --keep"), 0, "%s", err_text);
    cr_expect_not_null(strstr(out, "there already"), "%s", out);
    cr_expect_eq(stored("SELECT count(*) FROM measurement"), 1);
    /* They belong to the runner as the rest does. */
    cr_expect_eq(underfoot("runner forget R-014 --yes R-014"), 0, "%s%s", out, err_text);
    cr_expect_eq(stored("SELECT (SELECT count(*) FROM measurement) + (SELECT count(*) FROM measured_step)"), 0);
}

Test(remeasure, without_a_recording_one_clear_line_and_the_others_of_the_course_are_measured)
{
    run_visit(2, 250);
    const int64_t n = stored("SELECT count(*) FROM step WHERE visit_id = 2"), all = stored("SELECT count(*) FROM step");
    cr_expect_eq(underfoot("remeasure --runner R-014"), 0, "%s", err_text);
    expect_last_line(all, all);
    cr_assert_eq(unlink(recording[1]), 0);
    cr_expect_eq(underfoot("remeasure 1"), 1);
    cr_expect_str_eq(out, "");
    cr_expect_not_null(strstr(err_text, "visit 1 can't be measured again: there is no recording of it"), "%s", err_text);
    cr_expect_eq(process_count_lines(err_text), 1, "%s", err_text);
    cr_expect_eq(underfoot("remeasure --runner R-014"), 1, "not all could be measured");
    expect_last_line(n, n);
    cr_expect_not_null(strstr(err_text, "visit 1 can't be measured again"), "%s", err_text);
}

Test(remeasure, of_a_cut_recording_what_could_be_read_is_measured_and_said)
{
    struct stat st;
    run_visit(2, 1000); /* virtual time is recorded by size, and not by the second: several frames */
    const int64_t n = stored("SELECT count(*) FROM step WHERE visit_id = 2");
    cr_assert_eq(stat(recording[2], &st), 0);
    cr_assert_eq(truncate(recording[2], st.st_size / 2), 0);
    cr_expect_eq(underfoot("remeasure 2 --keep"), 1);
    int n_steps = 0, n_same = 0;
    const char *last = strrchr(out, '\n');
    cr_assert_not_null(last, "%s", err_text);
    while (last > out && last[-1] != '\n')
        last--;
    cr_assert_eq(sscanf(last, "%d steps, %d the same", &n_steps, &n_same), 2, "%s", out);
    cr_expect_eq(n_steps, n);
    cr_expect(n_same > n / 4 && n_same < 3 * n / 4, "%d of %d", n_same, n_steps);
    cr_expect_not_null(strstr(err_text, "only what could be read"), "%s", err_text);
    cr_expect_eq(stored("SELECT count(*) FROM measurement WHERE NOT is_complete"), 1);
    cr_expect_eq(underfoot("visits show 2"), 0);
    cr_expect_not_null(strstr(out, "at the visit"), "the first is read by default: %s", out);
}

Test(remeasure, what_can_not_be_is_refused_in_one_line)
{
    static const struct {
        const char *words, *why;
        int code;
    } rows[] = {
        { "remeasure", "give the number of a visit", 2 },
        { "remeasure 1 --runner R-014", "give the number of a visit", 2 },
        { "remeasure x", "no number of a visit", 2 },
        { "remeasure 0", "no number of a visit", 2 },
        { "remeasure 99", "there is no visit 99", 1 },
        { "remeasure --runner R-99", "there is no runner R-99", 1 },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_expect_eq(underfoot(rows[i].words), rows[i].code, "%s", rows[i].words);
        cr_expect_not_null(strstr(err_text, rows[i].why), "%s: %s", rows[i].words, err_text);
        cr_expect_str_eq(out, "", "%s", rows[i].words);
    }
    const int fd = running_begin(rig.path, 1);
    cr_expect_eq(underfoot("remeasure 1"), 1);
    cr_expect_not_null(strstr(err_text, "visit 1 is being run"), "%s", err_text);
    running_end(fd);
    FILE *f = fopen(recording[1], "wb");
    cr_assert(f);
    fputs("no recording at all, but a text\n", f);
    fclose(f);
    cr_expect_eq(underfoot("remeasure 1"), 1);
    cr_expect_eq(process_count_lines(err_text), 1, "%s", err_text);
}
