#include "store/schema.h"
#include "store/store.h"

#include "aid/store_file.h"
#include "aid/store_suite.h"

#include <criterion/criterion.h>
#include <math.h>
#include <sqlite3.h>
#include <string.h>
#include <unistd.h>

TestSuite(store, .init = make_rig, .fini = remove_rig);

struct collected {
    int n;
    struct coached_step step[64];
};

static bool
collect(void *context, const struct coached_step *s)
{
    struct collected *c = context;

    c->step[c->n++] = *s;
    return c->n < 64;
}

Test(store, a_new_store_is_private_and_ours)
{
    struct stat st;
    char folder[96];

    open_store();
    snprintf(folder, sizeof folder, "%s/data", rig.folder);
    cr_assert_eq(stat(folder, &st), 0);
    cr_assert_eq(st.st_mode & 0777, 0700);
    cr_assert_eq(stat(rig.path, &st), 0);
    cr_assert_eq(st.st_mode & 0777, 0600);
    store_close(&store);
    cr_assert_eq(store_file_int(rig.path, "PRAGMA user_version"), SCHEMA_VERSION);
    cr_assert_eq(store_file_int(rig.path, "PRAGMA application_id"), SCHEMA_APPLICATION_ID);
    cr_assert_eq(
        store_file_int(
            rig.path,
            "SELECT count(*) FROM pragma_table_list WHERE schema = 'main' AND name NOT LIKE 'sqlite%'"
            " AND NOT strict"),
        0, "every table is STRICT");
}

Test(store, a_store_that_others_could_read_is_made_private_again)
{
    struct stat st;

    open_store();
    store_close(&store);
    cr_assert_eq(chmod(rig.path, 0644), 0);
    open_store();
    store_close(&store);
    cr_assert_eq(stat(rig.path, &st), 0);
    cr_assert_eq(st.st_mode & 0777, 0600);
}

/* Counts the steps in another process, which then takes itself for the last user of the store, or does not. */
static int
count_steps_elsewhere(void)
{
    char command[256];
    int n = -1;

    snprintf(command, sizeof command, "sqlite3 '%s' 'SELECT count(*) FROM step'", rig.path);
    FILE *f = popen(command, "r");
    cr_assert_neq(f, NULL);
    cr_assert_eq(fscanf(f, "%d", &n), 1);
    cr_assert_eq(pclose(f), 0);
    return n;
}

/* Closing any plain descriptor of the file would drop the locks of the first connection: another program's close then
 * deletes the log under it, and what the first one commits is lost though every commit answers OK. */
Test(store, opening_a_second_time_leaves_the_locks_of_the_first)
{
    static struct store second;
    struct stat before, after;
    char log[128];

    open_store();
    int64_t visit = begin_visit();
    put_step(visit, 1, true);
    for (int i = 0; i < 2; i++) {
        cr_assert_eq(store_open(&second, rig.path, i == 0 ? STORE_READ_ONLY : STORE_MUST_EXIST), ERR_OK);
        store_close(&second);
    }
    snprintf(log, sizeof log, "%s-wal", rig.path);
    cr_assert_eq(stat(log, &before), 0);
    cr_assert_eq(count_steps_elsewhere(), 1);
    cr_assert_eq(stat(log, &after), 0, "the other program deleted the log");
    cr_assert_eq(before.st_ino, after.st_ino);
    for (uint32_t i = 2; i <= 65; i++)
        put_step(visit, i, true);
    cr_assert_eq(count_steps_elsewhere(), 65);
    store_close(&store);
    cr_assert_eq(count_steps_elsewhere(), 65);
}

Test(store, steps_come_back_as_they_went_in_with_their_missing_values)
{
    struct collected c = { .n = 0 };

    open_store();
    int64_t visit = begin_visit();
    for (uint32_t i = 1; i <= 40; i++)
        put_step(visit, i, true);
    store_close(&store);
    open_store();
    cr_assert_eq(store_steps(&store, visit, collect, &c), ERR_OK);
    cr_assert_eq(c.n, 40);
    for (uint32_t i = 1; i <= 40; i++) {
        struct coached_step want = store_rig_step(i, true);
        cr_expect(store_rig_same_step(&c.step[i - 1], &want), "step %u differs", i);
    }
    store_close(&store);
    /* Step 7 lacks metrics 0, 7, 14 ...: NULL there, and no 0 anywhere. */
    cr_assert_eq(store_file_int(rig.path, "SELECT step_time_s IS NULL FROM step WHERE number = 7"), 1);
    cr_assert_eq(
        store_file_int(rig.path, "SELECT count(*) FROM step WHERE contact_ms = 0 OR step_time_s = 0"), 0);
}

Test(store, a_settled_step_takes_the_live_ones_place_and_not_the_other_way_round)
{
    struct collected c = { .n = 0 };

    open_store();
    int64_t visit = begin_visit();
    put_step(visit, 3, false);
    struct coached_step settled = store_rig_step(3, true);
    settled.step.foot = STEP_FOOT_LEFT;
    settled.is_feedback_shown = !settled.is_feedback_shown; /* the coach has moved on meanwhile */
    settled.block = 5;
    cr_assert_eq(store_step_put(&store, visit, &settled), ERR_OK);
    put_step(visit, 3, false);
    cr_assert_eq(store_steps(&store, visit, collect, &c), ERR_OK);
    cr_assert_eq(c.n, 1);
    struct coached_step want = store_rig_step(3, true);
    want.step.foot = STEP_FOOT_LEFT;
    cr_assert(store_rig_same_step(&c.step[0], &want),
              "values of the settled one, block and feedback of the live one");
    store_close(&store);
}

Test(store, length_and_steps_are_of_the_visits_own_rows)
{
    open_store();
    const int64_t first = begin_visit(), second = begin_visit();
    struct store_visit v;
    for (uint32_t i = 0; i < 3; i++)
        put_step(first, 10 + i, true);
    for (uint32_t i = 0; i < 5; i++)
        put_step(second, 100 + i, true);
    cr_assert_eq(store_visit_get(&store, first, &v), ERR_OK, "%s", message_english(&store.why));
    cr_expect_eq(v.n_steps, 3);
    cr_expect_float_eq(v.length_s, 2 * 0.4 + 0.25, 1e-9);
    cr_assert_eq(store_visit_get(&store, second, &v), ERR_OK, "%s", message_english(&store.why));
    cr_expect_eq(v.n_steps, 5);
    cr_expect_float_eq(v.length_s, 4 * 0.4 + 0.25, 1e-9);
    store_close(&store);
}

Test(store, targets_that_are_not_there_are_refused_with_a_sentence)
{
    struct store_target_set t;
    open_store();
    cr_expect_eq(store_target_set_get(&store, 77, 1, &t), ERR_GONE);
    cr_expect_str_eq(message_english(&store.why), "there are no such targets in the store");
    store_close(&store);
}

Test(store, what_a_person_saw_is_of_its_own_visit)
{
    open_store();
    const int64_t first = begin_visit(), second = begin_visit();
    struct store_visit v;
    cr_assert_eq(store_visit_set_ticks(&store, second, "heel"), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_visit_get(&store, second, &v), ERR_OK, "%s", message_english(&store.why));
    cr_expect_str_eq(v.ticks, "heel");
    cr_assert_eq(store_visit_get(&store, first, &v), ERR_OK, "%s", message_english(&store.why));
    cr_expect_str_eq(v.ticks, "");
    store_close(&store);
}

Test(store, a_step_without_a_block_has_none)
{
    struct collected c = { .n = 0 };
    struct coached_step s = store_rig_step(1, true);

    open_store();
    int64_t visit = begin_visit();
    s.block = -1;
    cr_assert_eq(store_step_put(&store, visit, &s), ERR_OK);
    cr_assert_eq(store_steps(&store, visit, collect, &c), ERR_OK);
    cr_assert_eq(c.step[0].block, -1);
    store_close(&store);
}

Test(store, a_visit_is_unfinished_until_it_is_ended)
{
    struct store_visit v;

    open_store();
    int64_t visit = begin_visit();
    put_step(visit, 1, true);
    put_step(visit, 6, true);
    cr_assert_eq(store_visit_get(&store, visit, &v), ERR_OK);
    cr_assert_not(v.is_finished);
    cr_assert_eq(v.ended_utc_ms, 0);
    cr_assert_eq(v.n_steps, 2);
    cr_assert_float_eq(v.length_s, 5 * 0.4 + 0.25, 1e-9, "first touchdown to last toe-off");
    cr_assert(isnan(v.body_weight_n));
    cr_assert(isnan(v.rate_hz));
    struct store_visit_end end = { .ended_utc_ms = v.started_utc_ms + 61500,
                                   .is_finished = true,
                                   .n_dropped = 3,
                                   .n_lost_packets = 4,
                                   .body_weight_n = 712.25,
                                   .body_weight_from = STORE_WEIGHT_MOMENTUM };
    cr_assert_eq(store_visit_end(&store, visit, &end), ERR_OK);
    end.body_weight_n = 0;
    end.body_weight_from = STORE_WEIGHT_UNKNOWN;
    cr_assert_eq(store_visit_end(&store, visit, &end), ERR_OK, "a second end changes no weight to nothing");
    store_close(&store);
    open_store();
    cr_assert_eq(store_visit_get(&store, visit, &v), ERR_OK);
    cr_assert(v.is_finished);
    cr_assert_float_eq(v.length_s, 61.5, 1e-9);
    cr_assert_eq(v.n_dropped, 3);
    cr_assert_eq(v.n_lost_packets, 4);
    cr_assert_eq(v.body_weight_n, 712.25);
    cr_assert_eq(v.body_weight_from, STORE_WEIGHT_MOMENTUM);
    cr_assert_str_eq(v.runner_code, "R-014");
    cr_assert_eq(store_visit_get(&store, 99, &v), ERR_GONE);
    cr_assert_not_null(strstr(message_english(&store.why), "99"));
    store_close(&store);
}

struct ids {
    int n;
    int64_t id[8];
};

static bool
collect_id(void *context, const struct store_visit *v)
{
    struct ids *ids = context;

    ids->id[ids->n++] = v->id;
    return true;
}

Test(store, visits_are_listed_newest_first_and_by_runner)
{
    struct store_runner one, two;
    struct ids ids = { .n = 0 };

    open_store();
    cr_assert_eq(store_runner_ensure(&store, "R-001", &one), ERR_OK);
    cr_assert_eq(store_runner_ensure(&store, "R-002", &two), ERR_OK);
    for (int i = 0; i < 3; i++) {
        struct store_visit v = store_visit_default(i == 1 ? two.id : one.id);
        v.started_utc_ms = 1000000 - i; /* the clock was set back between them */
        strcpy(v.sensor_kind, "mat");
        strcpy(v.sensor_name, "32x16");
        cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
        cr_assert_eq(v.id, i + 1);
    }
    cr_assert_eq(store_visits(&store, 0, collect_id, &ids), ERR_OK);
    cr_assert_eq(ids.n, 3);
    cr_assert_eq(ids.id[0], 1);
    cr_assert_eq(ids.id[2], 3);
    ids.n = 0;
    cr_assert_eq(store_visits(&store, two.id, collect_id, &ids), ERR_OK);
    cr_assert_eq(ids.n, 1);
    cr_assert_eq(ids.id[0], 2);
    store_close(&store);
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM sensor"), 1, "one sensor, one row");
}

Test(store, visits_of_one_moment_are_listed_the_newest_row_first)
{
    struct store_runner one;
    open_store();
    cr_assert_eq(store_runner_ensure(&store, "R-001", &one), ERR_OK);
    for (int i = 0; i < 3; i++) {
        struct store_visit v = store_visit_default(one.id);
        v.started_utc_ms = 1000000;
        cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    }
    for (int k = 0; k < 2; k++) {
        struct ids ids = { .n = 0 };
        cr_assert_eq(store_visits(&store, k == 0 ? 0 : one.id, collect_id, &ids), ERR_OK);
        cr_assert_eq(ids.n, 3);
        cr_expect(ids.id[0] == 3 && ids.id[1] == 2 && ids.id[2] == 1);
    }
    store_close(&store);
}

Test(store, a_runner_keeps_what_was_entered_and_unknown_stays_unknown)
{
    struct store_runner r = store_runner_default("R-007"), back;

    open_store();
    r.body_mass_kg = 71.2;
    strcpy(r.shoe_note, "flat, 4 mm drop; it's \"new\"");
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_runner_get(&store, "R-007", &back), ERR_OK);
    cr_assert_eq(back.body_mass_kg, 71.2);
    cr_assert(isnan(back.leg_length_mm));
    cr_assert_str_eq(back.shoe_note, r.shoe_note);
    back.leg_length_mm = 900;
    back.body_mass_kg = NAN;
    cr_assert_eq(store_runner_save(&store, &back), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_runner_get(&store, "R-007", &r), ERR_OK);
    cr_assert_eq(r.id, back.id);
    cr_assert_eq(r.leg_length_mm, 900);
    cr_assert(isnan(r.body_mass_kg));
    struct store_runner twin = store_runner_default("R-007");
    cr_assert_eq(store_runner_save(&store, &twin), ERR_USAGE);
    cr_assert_not_null(strstr(message_english(&store.why), "R-007"));
    cr_assert_eq(store_runner_get(&store, "R-999", &r), ERR_GONE);
    store_close(&store);
}

Test(store, an_older_store_is_brought_up_to_date_and_keeps_its_rows)
{
    struct collected c = { .n = 0 };
    struct store_pain p;
    struct store_visit v;

    store_file_version_1(rig.path);
    open_store();
    cr_assert_eq(store_steps(&store, 1, collect, &c), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(c.n, 1);
    cr_assert_eq(c.step[0].step.value[METRIC_CONTACT_MS], 250.5);
    cr_assert(isnan(c.step[0].step.value[METRIC_CADENCE_SPM]));
    cr_assert_eq(store_pains(&store, 1, copy_pain, &p), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(p.pain, 2);
    cr_assert(isnan(p.effort));
    cr_assert_eq(store_visit_get(&store, 1, &v), ERR_OK);
    cr_assert_str_eq(v.runner_code, "R-OLD");
    put_step(1, 2, true);
    store_close(&store);
    cr_assert_eq(store_file_int(rig.path, "PRAGMA user_version"), SCHEMA_VERSION);
}

Test(store, opened_read_only_it_reads_and_refuses_to_write)
{
    struct store_visit v;
    struct coached_step s = store_rig_step(2, true);

    open_store();
    int64_t visit = begin_visit();
    store_close(&store);
    cr_assert_eq(store_open(&store, rig.path, STORE_READ_ONLY), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_visit_get(&store, visit, &v), ERR_OK);
    cr_assert_eq(store_step_put(&store, visit, &s), ERR_OS);
    cr_assert_not_null(strstr(message_english(&store.why), "read-only"), "%s", message_english(&store.why));
    store_close(&store);
}

Test(store, a_full_store_says_so_keeps_what_it_has_and_goes_on_when_there_is_room)
{
    struct coached_step s = store_rig_step(1, true);
    struct collected c = { .n = 0 };
    enum err err = ERR_OK;
    uint32_t number;

    open_store();
    int64_t visit = begin_visit();
    /* A page limit answers exactly as a full disc does. */
    cr_assert_eq(sqlite3_exec(store.db, "PRAGMA max_page_count = 40", NULL, NULL, NULL), SQLITE_OK);
    for (number = 1; number < 10000 && err == ERR_OK; number++) {
        s.step.number = number;
        err = store_step_put(&store, visit, &s);
    }
    cr_assert_eq(err, ERR_OS);
    cr_assert_not_null(strstr(message_english(&store.why), "full"), "%s", message_english(&store.why));
    cr_assert_eq(store_steps(&store, visit, collect, &c), ERR_OK);
    cr_assert_gt(c.n, 10);
    cr_assert_eq(sqlite3_exec(store.db, "PRAGMA max_page_count = 100000", NULL, NULL, NULL), SQLITE_OK);
    cr_assert_eq(store_step_put(&store, visit, &s), ERR_OK, "%s", message_english(&store.why));
    store_close(&store);
}

Test(store, two_programs_write_side_by_side)
{
    struct store other;
    struct collected c = { .n = 0 };

    open_store();
    int64_t visit = begin_visit();
    cr_assert_eq(store_open(&other, rig.path, 0), ERR_OK, "%s", message_english(&other.why));
    for (uint32_t i = 1; i <= 20; i++) {
        struct coached_step s = store_rig_step(i, true);
        cr_assert_eq(store_step_put(i % 2 == 0 ? &store : &other, visit, &s), ERR_OK);
    }
    cr_assert_eq(store_steps(&other, visit, collect, &c), ERR_OK);
    cr_assert_eq(c.n, 20);
    store_close(&other);
    store_close(&store);
}

Test(store, rolled_back_rows_are_gone)
{
    struct collected c = { .n = 0 };

    open_store();
    int64_t visit = begin_visit();
    cr_assert_eq(store_begin(&store), ERR_OK);
    put_step(visit, 1, true);
    store_rollback(&store);
    store_rollback(&store);
    cr_assert_eq(store_steps(&store, visit, collect, &c), ERR_OK);
    cr_assert_eq(c.n, 0);
    store_close(&store);
}

Test(store, the_zone_offset_is_that_of_the_moment)
{
    /* Central European rules, written out so that no zone files are needed. */
    setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", 1);
    cr_assert_eq(store_zone_offset_min(INT64_C(1769860800000)), 60, "2026-01-31 12:00 UTC");
    cr_assert_eq(store_zone_offset_min(INT64_C(1782907200000)), 120, "2026-07-01 12:00 UTC");
    cr_assert_eq(store_zone_offset_min(INT64_C(1767225540000)), 60, "2025-12-31 23:59 UTC: next year here");
    setenv("TZ", "XXX9:30", 1);
    cr_assert_eq(store_zone_offset_min(INT64_C(1772323200000)), -570, "2026-03-01 00:00 UTC: February here");
    setenv("TZ", "UTC0", 1);
    cr_assert_eq(store_zone_offset_min(INT64_C(1782907200000)), 0);
}
