/* A visit whose store refuses or is gone goes on in a fresh place, and comes home: nothing of it is lost or doubled. */
#include "care/forget.h"
#include "care/homecoming.h"
#include "aid/store_file.h"
#include "aid/store_rig.h"
#include "base/message_words.h"
#include "base/monotime.h"
#include "store/spill.h"
#include "store/writer.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <unistd.h>

#define PATIENCE_MS 20000

static struct store_rig rig;
static struct writer *w;
static int64_t visit_id;
static uint32_t n_put;

static void
make(void)
{
    struct store s;
    struct store_runner r;
    cr_assert_eq(store_rig_make(&rig), 0);
    setenv("XDG_STATE_HOME", rig.folder, 1);
    cr_assert_eq(store_open(&s, rig.path, 0), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_runner_ensure(&s, "R-014", &r), ERR_OK, "%s", message_english(&s.why));
    struct store_visit v = store_visit_default(r.id);
    strcpy(v.sensor_kind, "mat");
    strcpy(v.sensor_name, "simulated");
    cr_assert_eq(store_visit_begin(&s, &v), ERR_OK, "%s", message_english(&s.why));
    visit_id = v.id;
    store_close(&s);
    w = calloc(1, sizeof *w);
    cr_assert(w);
    cr_assert_eq(writer_start(w, rig.path, visit_id), ERR_OK, "%s", message_english(&w->status.why));
}

static void
clean(void)
{
    writer_abandon(w);
    free(w);
    store_rig_remove(&rig);
}

TestSuite(spill, .init = make, .fini = clean);

static void
put_steps(uint32_t n)
{
    for (uint32_t i = 0; i < n; i++) {
        const struct coached_step step = store_rig_step(++n_put, true);
        cr_assert(writer_put_step(w, &step));
    }
}

/* Until all that was put is on disc, aside or not. */
static void
wait_kept(bool is_aside)
{
    struct writer_status status;
    for (int ms = 0; ms < PATIENCE_MS; ms += 10) {
        writer_get_status(w, &status);
        if (status.n_waiting == 0 && (status.aside[0] != '\0') == is_aside)
            return;
        monotime_sleep_us(10 * UNITS_US_PER_MS);
    }
    cr_assert_fail("in vain: %llu wait, aside '%s', %s", (unsigned long long) status.n_waiting, status.aside, message_english(&status.why));
}

static enum err
end(void)
{
    const struct store_visit_end e = { .is_finished = true, .body_weight_n = (double) NAN, .n_lost_packets = 7 };
    return writer_stop(w, &e);
}

struct told {
    int n[MESSAGE_N_CODES];
    char last[1000];
};

static void
tell(void *context, const struct message *m)
{
    struct told *t = context;
    t->n[m->code]++;
    message_words(m, NULL, t->last, sizeof t->last);
}

static struct told
take_all(void)
{
    struct told t = { { 0 }, "" };
    struct store s;
    cr_assert_eq(store_open(&s, rig.path, 0), ERR_OK, "%s", message_english(&s.why));
    homecoming(&s, tell, &t);
    store_close(&s);
    return t;
}

static int
count_spills(void)
{
    char folder[128];
    int n = 0;
    snprintf(folder, sizeof folder, "%s/underfoot", rig.folder);
    DIR *d = opendir(folder);
    for (const struct dirent *e; d && (e = readdir(d)) != NULL;)
        n += strncmp(e->d_name, "spill-", 6) == 0;
    if (d)
        closedir(d);
    return n;
}

static void
expect_whole_visit(void)
{
    char sql[200];
    snprintf(sql, sizeof sql, "SELECT count(*) FROM step WHERE visit_id = (SELECT max(id) FROM visit)");
    cr_expect_eq(store_file_int(rig.path, sql), n_put);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 1);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit WHERE state = 'finished' AND n_lost_packets = 7"), 1);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM pragma_integrity_check WHERE integrity_check = 'ok'"), 1);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM pragma_foreign_key_check"), 0);
}

static void
delete_store(void)
{
    char command[160];
    snprintf(command, sizeof command, "rm -rf '%s/data'", rig.folder);
    cr_assert_eq(system(command), 0);
}

static void
enter_runner(const char *code)
{
    struct store s;
    struct store_runner r;
    cr_assert_eq(store_open(&s, rig.path, STORE_UNCHECKED), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_runner_ensure(&s, code, &r), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
}

static const struct store_note calf = { .at = { 5 }, .written_utc_ms = 77, .text = "calf" };
static const struct store_pain pain = { .when = STORE_PAIN_DURING, .at = { 6 }, .pain = 2, .effort = (double) NAN };

static void
expect_said(uint64_t n_said, uint64_t n_refused)
{
    struct writer_status status;
    writer_get_status(w, &status);
    cr_expect_eq(writer_n_put_said(w), n_said);
    cr_expect_eq(status.n_said, n_said, "%llu", (unsigned long long) status.n_said);
    cr_expect_eq(status.n_said_refused, n_refused);
}

/* Until the writer has said that so many were tried. */
static void
wait_said(uint64_t n)
{
    struct writer_status status = { 0 };
    for (int ms = 0; ms < PATIENCE_MS && status.n_said < n; ms += 10) {
        monotime_sleep_us(10 * UNITS_US_PER_MS);
        writer_get_status(w, &status);
    }
}

/* Read: a pain goes from 0 to 10 (store.h). */
Test(spill, what_was_said_is_counted_as_kept_after_its_commit_and_in_the_fresh_place_once_that_has_it)
{
    const struct store_pain too_much = { .when = STORE_PAIN_DURING, .at = { 7 }, .pain = 11, .effort = (double) NAN };
    expect_said(0, 0);
    cr_assert(writer_put_note(w, &calf));
    wait_said(1);
    expect_said(1, 0);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM note"), 1, "counted, so it is there");
    cr_assert(writer_put_pain(w, &too_much));
    put_steps(3); /* what the tables take does not count as said */
    wait_said(2);
    expect_said(2, 1);
    delete_store();
    cr_assert(writer_put_pain(w, &pain));
    wait_said(3);
    expect_said(3, 1);
    struct writer_status status;
    writer_get_status(w, &status);
    cr_expect_neq(status.aside[0], '\0', "it is said only with the place that has it");
    cr_expect_eq(count_spills(), 1);
}

Test(spill, while_another_program_holds_the_store_the_visit_goes_on_elsewhere_and_comes_home)
{
    struct store other;
    put_steps(10);
    wait_kept(false);
    cr_assert_eq(store_open(&other, rig.path, STORE_UNCHECKED), ERR_OK);
    cr_assert_eq(store_begin(&other), ERR_OK);
    put_steps(10);
    cr_assert(writer_put_note(w, &calf) && writer_put_pain(w, &pain));
    wait_kept(true);
    cr_expect_eq(count_spills(), 1);
    struct writer_status status;
    writer_get_status(w, &status);
    cr_expect_eq(status.err, ERR_OS, "it is told that the store itself does not have it");
    cr_expect(strstr(message_english(&status.why), "busy"), "%s", message_english(&status.why));
    store_rollback(&other);
    wait_kept(false);
    cr_expect_eq(count_spills(), 0);
    put_steps(5);
    cr_expect_eq(end(), ERR_OK, "%s", message_english(&w->status.why));
    expect_whole_visit();
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM note") + store_file_int(rig.path, "SELECT count(*) FROM pain"), 2);
    store_close(&other);
}

Test(spill, ended_while_the_store_is_held_it_is_taken_in_at_the_next_start)
{
    struct store other;
    const struct store_target_set set = { .runner_id = 1, .reason = "by hand", .n = 1,
                                          .target = { { .metric = METRIC_CADENCE_SPM, .low = 170, .high = 180, .baseline = 165 } } };
    const struct store_block block = { .index = 0, .part = 0, .start = { 0 }, .end = { 9 }, .planned_s = 60,
                                       .belt_speed_m_s = (double) NAN, .shown_share = 1 };
    cr_assert_eq(store_open(&other, rig.path, STORE_UNCHECKED), ERR_OK);
    cr_assert_eq(store_begin(&other), ERR_OK);
    put_steps(10);
    cr_assert(writer_put_targets(w, &set) && writer_put_block(w, &block) && writer_put_note(w, &calf));
    wait_kept(true);
    cr_expect_eq(end(), ERR_OS, "in the store it is not");
    cr_expect_neq(w->status.aside[0], '\0');
    cr_expect_not(w->is_open, "on disc it is");
    store_rollback(&other);
    store_close(&other);
    const struct told t = take_all();
    cr_expect_eq(t.n[MESSAGE_SPILL_TAKEN], 1, "%s", t.last);
    expect_whole_visit();
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM block b JOIN target_set t ON t.id = b.target_set_id"
                                          " JOIN target USING (target_set_id) WHERE high = 180"), 1);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit JOIN target_set t ON t.id = target_set_id"), 1);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM note WHERE text = 'calf'"), 1);
    cr_expect_eq(count_spills(), 0);
    cr_expect_eq(take_all().n[MESSAGE_SPILL_TAKEN], 0, "once");
}

Test(spill, a_deleted_store_is_saved_whole_and_a_new_one_gets_the_visit_once_it_has_the_runner)
{
    put_steps(10);
    wait_kept(false);
    delete_store();
    put_steps(10);
    wait_kept(true);
    cr_expect_eq(end(), ERR_OS);
    cr_expect(strstr(message_english(&w->status.why), "gone") || strstr(message_english(&w->status.why), "deleted"), "%s", message_english(&w->status.why));
    struct told t = take_all();
    cr_expect_eq(t.n[MESSAGE_SPILL_HAS_NO_RUNNER], 1, "nobody is brought back unasked: %s", t.last);
    cr_expect_eq(t.n[MESSAGE_SPILL_IS_WHOLE], 1);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 0);
    enter_runner("R-014"); /* again, since then */
    t = take_all();
    cr_expect_eq(t.n[MESSAGE_SPILL_TAKEN], 1, "%s", t.last);
    expect_whole_visit();
    cr_expect_eq(count_spills(), 1, "the whole store stays until somebody removes it");
    t = take_all();
    cr_expect_eq(t.n[MESSAGE_SPILL_TAKEN], 0);
    cr_expect_eq(t.n[MESSAGE_SPILL_IS_WHOLE], 1);
}

Test(spill, a_log_that_another_program_deleted_takes_no_commit_with_it)
{
    char log[128];
    put_steps(10);
    wait_kept(false);
    snprintf(log, sizeof log, "%s-wal", rig.path);
    cr_assert_eq(unlink(log), 0);
    wait_kept(true); /* noticed with nothing to write, too */
    put_steps(10);
    wait_kept(true);
    cr_expect_eq(end(), ERR_OS);
    cr_expect(strstr(message_english(&w->status.why), "log"), "%s", message_english(&w->status.why));
    char aside[STORE_PATH_MAX];
    snprintf(aside, sizeof aside, "%.900s/" STORE_FILE_NAME, w->status.aside);
    cr_expect_eq(store_file_int(aside, "SELECT count(*) FROM step"), 20);
}

Test(spill, a_folder_that_comes_back_gets_its_visit_back)
{
    char from[128], to[128];
    put_steps(10);
    wait_kept(false);
    snprintf(from, sizeof from, "%s/data", rig.folder);
    snprintf(to, sizeof to, "%s/moved", rig.folder);
    cr_assert_eq(rename(from, to), 0);
    put_steps(10);
    wait_kept(true);
    cr_assert_eq(rename(to, from), 0);
    wait_kept(false);
    put_steps(3);
    cr_expect_eq(end(), ERR_OK, "%s", message_english(&w->status.why));
    expect_whole_visit();
}

Test(spill, one_that_is_in_use_is_left_alone)
{
    struct store other;
    cr_assert_eq(store_open(&other, rig.path, STORE_UNCHECKED), ERR_OK);
    cr_assert_eq(store_begin(&other), ERR_OK);
    put_steps(3);
    wait_kept(true);
    struct told t = { { 0 }, "" };
    homecoming(&other, tell, &t);
    cr_expect_str_eq(t.last, "");
    cr_expect_eq(count_spills(), 1);
    store_rollback(&other);
    store_close(&other);
    wait_kept(false);
}

Test(spill, a_forgotten_runner_is_forgotten_there_too)
{
    struct store other;
    cr_assert_eq(store_open(&other, rig.path, STORE_UNCHECKED), ERR_OK);
    cr_assert_eq(store_begin(&other), ERR_OK);
    put_steps(3);
    wait_kept(true);
    cr_expect_eq(end(), ERR_OS);
    store_rollback(&other);
    cr_expect_eq(count_spills(), 1);
    struct store_runner r;
    cr_assert_eq(store_runner_get(&other, "R-014", &r), ERR_OK);
    cr_expect_eq(spill_forget(&other, "00000000-0000-4000-8000-000000000000"), ERR_OK, "%s", message_english(&other.why));
    cr_expect_eq(count_spills(), 1, "of somebody else");
    cr_expect_eq(spill_forget(&other, r.uuid), ERR_OK, "%s", message_english(&other.why));
    cr_expect_eq(count_spills(), 0);
    store_close(&other);
}

Test(spill, who_is_forgotten_in_the_store_is_forgotten_there_too)
{
    struct store other;
    struct store_runner r;
    struct store_belongings had;
    cr_assert_eq(store_open(&other, rig.path, STORE_UNCHECKED), ERR_OK);
    cr_assert_eq(store_begin(&other), ERR_OK);
    put_steps(3);
    wait_kept(true);
    cr_expect_eq(end(), ERR_OS);
    store_rollback(&other);
    cr_assert_eq(store_runner_get(&other, "R-014", &r), ERR_OK);
    cr_expect_eq(forget_runner(&other, r.id, &had), ERR_OK, "%s", message_english(&other.why));
    cr_expect_eq(count_spills(), 0);
    store_close(&other);
}

/* The visit is kept elsewhere, its folder can't be reached, and R-014 goes meanwhile. */
static void
leave_visit_and_forget(void)
{
    struct store other;
    struct store_runner r;
    struct store_belongings had;
    char from[128], to[128];
    cr_assert_eq(store_open(&other, rig.path, STORE_UNCHECKED), ERR_OK);
    cr_assert_eq(store_begin(&other), ERR_OK);
    put_steps(3);
    wait_kept(true);
    cr_expect_eq(end(), ERR_OS);
    store_rollback(&other);
    snprintf(from, sizeof from, "%s/underfoot", rig.folder);
    snprintf(to, sizeof to, "%s/unplugged", rig.folder);
    cr_assert_eq(rename(from, to), 0);
    cr_assert_eq(store_runner_get(&other, "R-014", &r), ERR_OK);
    cr_assert_eq(forget_runner(&other, r.id, &had), ERR_OK, "%s", message_english(&other.why));
    store_close(&other);
    cr_assert_eq(rename(to, from), 0);
    cr_assert_eq(count_spills(), 1);
}

Test(spill, who_was_forgotten_while_it_could_not_be_reached_does_not_come_back_with_it)
{
    leave_visit_and_forget();
    const struct told t = take_all();
    cr_expect_eq(t.n[MESSAGE_SPILL_TAKEN], 0, "%s", t.last);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM runner"), 0);
    cr_expect_eq(count_spills(), 0, "and is gone there too");
}

Test(spill, another_runner_who_got_the_code_of_a_forgotten_one_does_not_get_their_visit)
{
    leave_visit_and_forget();
    enter_runner("R-014");
    cr_expect_eq(take_all().n[MESSAGE_SPILL_TAKEN], 0);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 0);
    cr_expect_eq(count_spills(), 0);
}

Test(spill, a_runner_with_another_code_since_then_gets_their_visit)
{
    struct store other;
    cr_assert_eq(store_open(&other, rig.path, STORE_UNCHECKED), ERR_OK);
    cr_assert_eq(store_begin(&other), ERR_OK);
    put_steps(3);
    wait_kept(true);
    cr_expect_eq(end(), ERR_OS);
    store_rollback(&other);
    store_close(&other);
    store_file_sql(rig.path, "UPDATE runner SET code = 'R-099'");
    enter_runner("R-014"); /* who has the old code now, and is somebody else */
    const struct told t = take_all();
    cr_expect_eq(t.n[MESSAGE_SPILL_TAKEN], 1, "%s", t.last);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit v JOIN runner r ON r.id = v.runner_id WHERE r.code = 'R-099'"), 1);
    expect_whole_visit();
}

static void
write_recording(const char *folder, const char *bytes)
{
    char command[400];
    snprintf(command, sizeof command, "mkdir -p -m 700 '%s/recordings' && printf '%s' > '%s/recordings/visit-1-7.rec'", folder, bytes, folder);
    cr_assert_eq(system(command), 0);
}

/* What lies at home already is the first part of it; and where it can't be told whether it is still written, it is left. */
Test(spill, a_recording_that_went_there_comes_home_with_its_visit)
{
    struct store other;
    char home[200], path[300];
    cr_assert_eq(store_open(&other, rig.path, STORE_UNCHECKED), ERR_OK);
    cr_assert_eq(store_begin(&other), ERR_OK);
    put_steps(3);
    wait_kept(true);
    struct writer_status status;
    writer_get_status(w, &status);
    snprintf(home, sizeof home, "%s/data", rig.folder);
    snprintf(path, sizeof path, "%s/recordings/visit-1-7.rec", home);
    write_recording(home, "first");
    write_recording(status.aside, "first and second");
    store_rollback(&other);
    wait_kept(false); /* its rows came home by themselves */
    cr_expect_eq(count_spills(), 1, "the recording may still be written");
    cr_expect_eq(take_all().n[MESSAGE_SPILL_TAKEN], 0);
    cr_expect_eq(count_spills(), 1, "the visit runs");
    cr_expect_eq(end(), ERR_OK, "%s", message_english(&w->status.why));
    cr_expect_eq(take_all().n[MESSAGE_SPILL_TAKEN], 0, "once");
    struct store_file f = store_file_read(path);
    cr_expect(f.len == strlen("first and second") && memcmp(f.data, "first and second", f.len) == 0);
    free(f.data);
    cr_expect_eq(count_spills(), 0);
    store_close(&other);
    expect_whole_visit();
}

/* A store that can't even be read (overwritten with zeros: a copy is opened by SQLite alone) leaves the visit made from memory. */
Test(spill, one_that_was_made_from_memory_is_of_the_same_runner_and_visit)
{
    struct store home = { .db = NULL };
    struct spill sp;
    struct store s;
    struct store_visit row, there;
    cr_assert_eq(store_open(&s, rig.path, STORE_UNCHECKED), ERR_OK);
    cr_assert_eq(store_visit_get(&s, visit_id, &row), ERR_OK);
    cr_assert_eq(sqlite3_open(":memory:", &home.db), SQLITE_OK); /* without a single table */
    snprintf(home.home, sizeof home.home, "%s", s.home);
    const struct spill_ask ask = { visit_id, &row, false };
    cr_assert_eq(spill_open(&sp, &home, &ask), ERR_OK, "%s", message_english(&sp.why));
    cr_assert_eq(store_visit_get(&sp.store, visit_id, &there), ERR_OK);
    cr_expect_str_eq(there.uuid, row.uuid);
    cr_expect_str_eq(there.runner_uuid, row.runner_uuid);
    cr_expect_neq(there.runner_uuid[0], '\0');
    spill_close(&sp);
    sqlite3_close(home.db);
    store_close(&s);
    cr_expect_eq(take_all().n[MESSAGE_SPILL_TAKEN], 1);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 1, "not doubled");
}
