/* The recordings of visits: each belongs to the visit of its number and begin, what is too much goes in the order that
 * the rule says, and forgetting a runner takes theirs and no others. Expected values: what the test itself laid down. */
#include "aid/store_rig.h"
#include "care/forget.h"
#include "care/recordings.h"
#include "coach/plan_file.h"
#include "store/running.h"

#include <criterion/criterion.h>
#include <sys/stat.h>
#include <unistd.h>

static struct store_rig rig;
static struct store store;

static void
setup(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
    cr_assert_eq(store_open(&store, rig.path, 0), ERR_OK, "%s", message_english(&store.why));
}

static void
teardown(void)
{
    store_close(&store);
    store_rig_remove(&rig);
}

TestSuite(recordings, .init = setup, .fini = teardown);

/* A file of so many bytes; beyond a byte they are a hole, which takes no room. */
static void
lay_down(const char *path, int64_t n_bytes)
{
    FILE *f = fopen(path, "w");
    cr_assert_not_null(f, "%s", path);
    fputc('x', f);
    fclose(f);
    cr_assert_eq(truncate(path, (off_t) n_bytes), 0);
}

/* A visit of that runner with a recording of so many MB, the second later than the one before. */
static struct store_visit
record(const char *code, int64_t mb, bool has_baseline, const char *plan, int course_visit)
{
    static int64_t started_utc_ms = 1764250000000;
    struct store_runner r;
    char path[STORE_PATH_MAX];
    cr_assert_eq(store_runner_ensure(&store, code, &r), ERR_OK);
    struct store_visit v = store_visit_default(r.id);
    v.started_utc_ms = started_utc_ms += 1000;
    strcpy(v.plan, plan);
    v.course_visit = course_visit;
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    const struct store_block block = { .kind = has_baseline ? VERDICT_BLOCK_BASELINE : VERDICT_BLOCK_FREE, .planned_s = NAN,
                                       .belt_speed_m_s = NAN, .shown_share = NAN };
    cr_assert_eq(store_block_put(&store, v.id, &block), ERR_OK);
    cr_assert_eq(recordings_path(&store, &v, path), ERR_OK, "%s", message_english(&store.why));
    lay_down(path, mb * 1000000);
    return v;
}

static bool
is_there(const struct store_visit *v)
{
    char path[STORE_PATH_MAX];
    int64_t n_bytes;
    return recordings_find(&store, v, path, &n_bytes) == ERR_OK;
}

Test(recordings, lie_beside_the_store_for_their_owner_alone)
{
    char path[STORE_PATH_MAX], expected[200];
    int64_t n_bytes;
    struct stat st;
    const struct store_visit v = record("R-014", 3, false, "", 0);
    cr_assert_eq(recordings_find(&store, &v, path, &n_bytes), ERR_OK);
    snprintf(expected, sizeof expected, "%s/data/recordings/visit-1-%lld.rec", rig.folder, (long long) v.started_utc_ms);
    cr_expect_str_eq(path, expected);
    cr_expect_eq(n_bytes, 3000000);
    snprintf(expected, sizeof expected, "%s/data/recordings", rig.folder);
    cr_expect(stat(expected, &st) == 0 && (st.st_mode & 0777) == 0700);
    cr_assert_eq(unlink(path), 0);
    cr_expect_eq(recordings_find(&store, &v, path, &n_bytes), ERR_GONE, "no error to be told");
    cr_expect_str_eq(message_english(&store.why), "");
    cr_expect_gt(recordings_free_bytes(&store), 0);
}

Test(recordings, of_a_store_that_was_replaced_belong_to_no_visit_and_stay)
{
    struct recordings r;
    struct recordings_told told;
    struct settings rule = { .keep_visits = 1, .keep_gb = 0.000001 };
    char path[STORE_PATH_MAX];
    struct store_visit v = record("R-014", 3, false, "", 0), other = v;
    other.started_utc_ms -= 5000; /* visit 1 of the store before */
    cr_assert_eq(recordings_path(&store, &other, path), ERR_OK);
    lay_down(path, 2000000);
    cr_assert_eq(recordings_read(&store, &r), ERR_OK);
    cr_assert_eq(r.n, 2);
    cr_expect(!r.one[0].has_visit && r.one[1].has_visit && r.n_bytes == 5000000);
    recordings_free(&r);
    recordings_free(&r);
    cr_assert_eq(recordings_tidy(&store, &rule, &told), ERR_OK);
    cr_expect(told.n == 1 && told.n_bytes == 3000000 && told.oldest == 1 && told.newest == 1);
    cr_expect(is_there(&other) && !is_there(&v));
}

Test(recordings, nothing_but_recordings_is_taken_for_one)
{
    static const char *const names[] = { "visit-1.rec", "visit-1-2.rec.bak", "visit-01-2.rec", "notes.txt", "visit--1-2.rec",
                                         "opened-1-1.rec", "visit-1-2.rec\n" };
    struct recordings r;
    char path[STORE_PATH_MAX];
    (void) record("R-014", 1, false, "", 0);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(path, sizeof path, "%s/data/recordings/%s", rig.folder, names[i]);
        lay_down(path, 9);
    }
    snprintf(path, sizeof path, "%s/data/recordings/visit-7-8.rec", rig.folder);
    cr_assert_eq(mkdir(path, 0700), 0);
    cr_assert_eq(recordings_read(&store, &r), ERR_OK);
    cr_expect_eq(r.n, 1);
    recordings_free(&r);
}

/* R-001 is within a course of a plan that nobody has any more, R-002 began another since; each visit has 10 MB. */
Test(recordings, too_many_go_oldest_first_and_those_of_baselines_and_open_courses_last)
{
    struct store_visit v[8];
    struct recordings_told told;
    struct settings rule = { .keep_visits = 7, .keep_gb = 50 };
    v[0] = record("R-001", 10, false, "a-plan", 1);
    v[1] = record("R-003", 10, true, "", 0);
    v[2] = record("R-002", 10, false, "a-plan", 1);
    v[3] = record("R-003", 10, false, "", 0);
    v[4] = record("R-002", 10, false, "b-plan", 1);
    v[5] = record("R-001", 10, false, "a-plan", 2);
    v[6] = record("R-003", 10, false, "", 0);
    v[7] = record("R-001", 10, false, "", 0);
    static const int order[] = { 2, 3, 6, 7, 0, 1, 4, 5 };
    for (size_t i = 0; i < 7; i++) {
        rule.keep_visits = 7 - (int64_t) i;
        cr_assert_eq(recordings_tidy(&store, &rule, &told), ERR_OK, "%s", message_english(&store.why));
        cr_expect(told.n == 1 && told.n_bytes == 10000000 && told.oldest == v[order[i]].id, "%zu: %d of visit %lld", i, told.n,
                  (long long) told.oldest);
        cr_expect_eq(told.n_kept_last, i >= 4);
        for (size_t k = 0; k < 8; k++)
            cr_expect_eq(is_there(&v[order[k]]), k > i, "step %zu: visit %lld", i, (long long) v[order[k]].id);
    }
    cr_assert_eq(recordings_tidy(&store, &rule, &told), ERR_OK);
    cr_expect_eq(told.n, 0, "enough is enough");
}

Test(recordings, a_course_that_is_over_is_kept_no_longer)
{
    struct store_visit v[2];
    struct recordings_told told;
    char folder[200];
    const struct settings rule = { .keep_visits = 1, .keep_gb = 50 };
    const struct store_visit_end end = { .is_finished = true, .body_weight_n = NAN };
    snprintf(folder, sizeof folder, "%s/plans", rig.folder);
    cr_assert_eq(mkdir(folder, 0700), 0);
    snprintf(folder, sizeof folder, "%s/plans/short.ini", rig.folder);
    FILE *f = fopen(folder, "w");
    fputs("[plan]\nname = Short\nweeks = 1\nspread = windows\nfeedback = always\ntarget = cadence_up_5\n\n[visit 1]\n"
          "block = baseline minutes 3 speed 100%\nblock = coached minutes 5 speed 100% shown 100%\n", f);
    fclose(f);
    struct plan_file plan;
    struct message why;
    cr_assert_eq(plan_file_load(&plan, folder, &why), ERR_OK, "%s", message_english(&why));
    setenv("UNDERFOOT_PROFILES", rig.folder, 1);
    v[0] = record("R-001", 1, false, "short", 1);
    v[1] = record("R-002", 1, false, "short", 1);
    cr_assert_eq(store_visit_end(&store, v[1].id, &end), ERR_OK);
    cr_assert_eq(recordings_tidy(&store, &rule, &told), ERR_OK, "%s", message_english(&store.why));
    cr_expect(told.n == 1 && is_there(&v[0]) && !is_there(&v[1]), "the newer one, whose course has had its only visit");
}

Test(recordings, too_much_goes_by_size_too_and_a_running_visit_stays)
{
    struct store_visit v[3];
    struct recordings_told told;
    const struct settings rule = { .keep_visits = INT64_MAX, .keep_gb = 0.05 };
    for (int i = 0; i < 3; i++)
        v[i] = record("R-014", 30, false, "", 0);
    const int running = running_begin(rig.path, v[0].id);
    cr_assert_geq(running, 0);
    cr_assert_eq(recordings_tidy(&store, &rule, &told), ERR_OK);
    cr_expect(told.n == 2 && told.n_bytes == 60000000 && told.oldest == v[1].id && told.newest == v[2].id);
    cr_expect(is_there(&v[0]));
    running_end(running);
}

Test(recordings, forgetting_a_runner_takes_theirs_and_no_others)
{
    struct store_belongings has, had;
    struct store_visit v[3];
    v[0] = record("R-014", 2, true, "", 0);
    v[1] = record("R-015", 3, false, "", 0);
    v[2] = record("R-014", 4, false, "", 0);
    cr_assert_eq(forget_belongings(&store, v[0].runner_id, &has), ERR_OK);
    cr_expect(has.n_visits == 2 && has.n_recordings == 2 && has.n_recording_bytes == 6000000);
    cr_expect(is_there(&v[0]), "counting takes nothing");
    cr_assert_eq(forget_runner(&store, v[0].runner_id, &had), ERR_OK, "%s", message_english(&store.why));
    cr_expect(had.n_visits == 2 && had.n_recordings == 2 && had.n_recording_bytes == 6000000);
    cr_expect(!is_there(&v[0]) && is_there(&v[1]) && !is_there(&v[2]));
}

/* A folder in the recording's place can't be unlinked, not even by root. */
Test(recordings, one_that_can_not_be_removed_keeps_the_rows)
{
    struct store_belongings had;
    struct store_runner r;
    char path[STORE_PATH_MAX];
    const struct store_visit v = record("R-014", 2, false, "", 0);
    cr_assert_eq(recordings_path(&store, &v, path), ERR_OK);
    cr_assert_eq(unlink(path), 0);
    cr_assert_eq(mkdir(path, 0700), 0);
    cr_expect_eq(forget_runner(&store, v.runner_id, &had), ERR_OS);
    cr_expect_not_null(strstr(message_english(&store.why), "can't remove the recording"), "%s", message_english(&store.why));
    cr_expect_eq(store_runner_get(&store, "R-014", &r), ERR_OK);
}

static enum err
load(const char *text, struct settings *out, struct message *why)
{
    char path[200];
    snprintf(path, sizeof path, "%s/data/settings.ini", rig.folder);
    FILE *f = fopen(path, "w");
    fputs(text, f);
    fclose(f);
    return settings_load(rig.path, out, why);
}

Test(recordings, the_rule_is_what_the_settings_say)
{
    struct settings s;
    struct message why = { MESSAGE_NONE };
    cr_assert_eq(settings_load(rig.path, &s, &why), ERR_OK, "no file: %s", message_english(&why));
    cr_expect(s.keep_visits == 1000 && s.keep_gb == 50.0);
    cr_assert_eq(load("[recordings]\nkeep_visits = 12\nkeep_gb = 0.5\n", &s, &why), ERR_OK, "%s", message_english(&why));
    cr_expect(s.keep_visits == 12 && s.keep_gb == 0.5);
    cr_assert_eq(load("[recordings]\nkeep_visits = all\nkeep_gb = all\n", &s, &why), ERR_OK, "%s", message_english(&why));
    cr_expect(s.keep_visits == INT64_MAX && isinf(s.keep_gb));
    static const struct {
        const char *text, *reason;
    } rows[] = {
        { "[recordings]\nkeep_visits = 0\n", "settings.ini:2: keep_visits is no whole number from 1 on" },
        { "[recordings]\nkeep_visits = 1.5\n", "settings.ini:2: keep_visits" },
        { "[recordings]\n\nkeep_gb = -1\n", "settings.ini:3: keep_gb is no number above 0" },
        { "[recordings]\nkeep_gb = nan\n", "settings.ini:2: keep_gb" },
        { "[recordings]\nkeep = 5\n", "settings.ini:2: no such key" },
        { "[recording]\nkeep_gb = 5\n", "settings.ini:2: no such section" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_expect_eq(load(rows[i].text, &s, &why), ERR_FORMAT, "row %zu", i);
        cr_expect_not_null(strstr(message_english(&why), rows[i].reason), "row %zu: %s", i, message_english(&why));
        cr_expect_eq(s.keep_visits, 1000, "row %zu: nothing of a bad file holds", i);
    }
}

Test(recordings, the_room_of_a_disc_that_is_not_there_is_not_known)
{
    struct store gone = store;
    cr_expect_gt(recordings_free_bytes(&store), 0);
    snprintf(gone.path, sizeof gone.path, "%s-gone/store", rig.folder);
    cr_expect_eq(recordings_free_bytes(&gone), -1, "and not 0: that would be a full one");
}
