/* What hangs on a visit beside its steps: targets, blocks, pain, notes, the sensor's check, further measurements. */
#include "store/store.h"

#include "aid/store_file.h"
#include "aid/store_suite.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

TestSuite(store_rest, .init = make_rig, .fini = remove_rig);

Test(store_rest, targets_get_a_new_version_and_old_visits_keep_theirs)
{
    struct store_runner r;
    struct store_target_set t = { .n = 2 }, back;

    open_store();
    cr_assert_eq(store_runner_ensure(&store, "R-014", &r), ERR_OK);
    t.runner_id = r.id;
    strcpy(t.reason, "by hand");
    t.target[0] = (struct store_target){ METRIC_LANDING_AHEAD_MM, NAN, 180, 220, false, true, 0 };
    t.target[1] = (struct store_target){ METRIC_CADENCE_SPM, 168, 176, 160, true, true, 0 };
    cr_assert_eq(store_target_set_save(&store, &t), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(t.version, 1);
    int64_t first = t.id;
    t.target[1].low = 170;
    cr_assert_eq(store_target_set_save(&store, &t), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(t.version, 2);
    cr_assert_eq(store_target_set_get(&store, 0, r.id, &back), ERR_OK);
    cr_assert_eq(back.version, 2);
    cr_assert_eq(back.target[1].low, 170);
    cr_assert_eq(store_target_set_get(&store, first, 0, &back), ERR_OK);
    cr_assert_eq(back.n, 2);
    cr_assert_eq(back.target[0].metric, METRIC_LANDING_AHEAD_MM, "in the order of the bars");
    cr_assert(isnan(back.target[0].low));
    cr_assert_eq(back.target[1].low, 168);
    cr_assert(back.target[1].is_focus);
    cr_assert(back.target[0].is_change && back.target[1].is_change);
    cr_assert_eq(back.target[0].definition, metric_info(METRIC_LANDING_AHEAD_MM)->definition, "today's, where none is said");
    cr_assert_str_eq(back.reason, "by hand");
    cr_assert_eq(store_target_set_get(&store, 0, r.id + 1, &back), ERR_GONE);
    /* The same metric twice is refused as a whole. */
    t.target[0].metric = METRIC_CADENCE_SPM;
    cr_assert_neq(store_target_set_save(&store, &t), ERR_OK);
    cr_assert_eq(store_target_set_get(&store, 0, r.id, &back), ERR_OK);
    cr_assert_eq(back.version, 2);
    store_close(&store);
}

Test(store_rest, blocks_pain_and_notes_come_back)
{
    struct store_block b = { .index = 2,
                             .part = 1,
                             .kind = VERDICT_BLOCK_COACHED,
                             .start = { 5000000 },
                             .end = { -1 },
                             .planned_s = 180,
                             .belt_speed_m_s = NAN,
                             .shown_share = 0.5 };
    struct store_pain p = { .when = STORE_PAIN_DURING, .at = { 7 }, .pain = 3, .effort = NAN };
    struct store_note n = { .at = { -1 }, .text = "calf tight on the left" };
    struct store_block b2;
    struct store_pain p2;
    struct store_note n2;

    open_store();
    int64_t visit = begin_visit();
    cr_assert_eq(store_block_put(&store, visit, &b), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_blocks(&store, visit, copy_block, &b2), ERR_OK);
    cr_assert_lt(b2.end.us, b2.start.us, "still open");
    b.end.us = 9000000;
    cr_assert_eq(store_block_put(&store, visit, &b), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_blocks(&store, visit, copy_block, &b2), ERR_OK);
    cr_assert_eq(b2.kind, VERDICT_BLOCK_COACHED);
    cr_assert_eq(b2.part, 1);
    cr_assert_eq(b2.end.us, 9000000);
    cr_assert_eq(b2.shown_share, 0.5);
    cr_assert(isnan(b2.belt_speed_m_s));
    cr_assert_eq(store_pain_put(&store, visit, &p), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_pains(&store, visit, copy_pain, &p2), ERR_OK);
    cr_assert_eq(p2.when, STORE_PAIN_DURING);
    cr_assert_eq(p2.at.us, 7);
    cr_assert_eq(p2.pain, 3);
    cr_assert(isnan(p2.effort));
    p.pain = 11;
    cr_assert_eq(store_pain_put(&store, visit, &p), ERR_USAGE, "the scale ends at 10");
    cr_assert_eq(store_note_put(&store, visit, &n), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_notes(&store, visit, copy_note, &n2), ERR_OK);
    cr_assert_eq(n2.at.us, -1);
    cr_assert_str_eq(n2.text, n.text);
    store_close(&store);
}

static struct store_check check;

static void
put_check(const char *name, const char *grade, int64_t made_utc_ms)
{
    check = (struct store_check){ .sensor_kind = "cells", .made_utc_ms = made_utc_ms, .report = "{\"a\": 1}\n" };
    strcpy(check.sensor_name, name);
    strcpy(check.grade, grade);
    cr_assert_eq(store_check_put(&store, &check), ERR_OK, "%s", message_english(&store.why));
}

Test(store_rest, a_visit_keeps_the_last_check_of_its_own_sensor_of_that_day)
{
    const int64_t hour_ms = 3600000, start_ms = 1000 * hour_ms;
    struct store_visit back;
    open_store();
    put_check("/dev/ttyA", "bad", start_ms - (STORE_CHECK_HOURS + 1) * hour_ms);
    int64_t without = begin_visit();
    cr_expect_eq(store_check_of_visit(&store, without, &check), ERR_GONE);
    cr_expect(check.id == 0 && check.made_utc_ms == 0 && check.grade[0] == '\0', "where there is none, nothing of another stays");
    struct store_visit v = store_visit_default(1);
    strcpy(v.sensor_kind, "cells");
    strcpy(v.sensor_name, "/dev/ttyA");
    strcpy(v.calibration, "by standing mass 40 days ago");
    v.started_utc_ms = start_ms;
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_visit_get(&store, v.id, &back), ERR_OK);
    cr_expect_eq(back.check_utc_ms, 0, "too old a check");
    put_check("/dev/ttyA", "bad", start_ms - 2 * hour_ms);
    put_check("/dev/ttyA", "mind", start_ms - hour_ms);
    put_check("/dev/ttyB", "good", start_ms - hour_ms / 2);
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    const struct store_visit_end end = { .is_finished = true, .body_weight_n = 700, .has_gain_drift = true, .gain_drift_pct = -2.5 };
    cr_assert_eq(store_visit_end(&store, v.id, &end), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_visit_get(&store, v.id, &back), ERR_OK);
    cr_expect_str_eq(back.check_grade, "mind");
    cr_expect_eq(back.check_utc_ms, start_ms - hour_ms);
    cr_expect_str_eq(back.calibration, "by standing mass 40 days ago");
    cr_expect_float_eq(back.gain_drift_pct, -2.5, 0);
    memset(&check, 0, sizeof check);
    cr_assert_eq(store_check_of_visit(&store, v.id, &check), ERR_OK, "%s", message_english(&store.why));
    cr_expect_str_eq(check.sensor_kind, "cells");
    cr_expect_str_eq(check.report, "{\"a\": 1}\n");
    cr_assert_eq(store_visit_get(&store, without, &back), ERR_OK);
    cr_expect(isnan(back.gain_drift_pct) && back.calibration[0] == '\0');
    store_close(&store);
}
