/* test_measured.c - which measurement of a visit is read, and that figures of unlike definitions are never compared. */
#include "aid/store_file.h"
#include "aid/store_suite.h"
#include "report/course.h"
#include "report/export.h"
#include "report/summary.h"
#include "store/measurement.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

TestSuite(measured, .init = make_rig, .fini = remove_rig);

enum { N_STEPS = 60 };

/* Of a visit whose cadence is about that: baseline in block 0, free running in block 1. */
static struct coached_step
step_of(uint32_t number, double cadence_spm)
{
    struct coached_step s = { .block = number <= N_STEPS ? 0 : 1, .is_feedback_shown = number % 2 == 0 };
    s.step.number = number;
    s.step.is_settled = true;
    s.step.foot = number % 2 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT;
    s.step.gait = STEP_GAIT_RUNNING;
    s.step.touchdown.us = number * INT64_C(360000);
    s.step.toe_off.us = s.step.touchdown.us + 250000;
    s.step.body_weight_n = 700;
    s.step.cop_fwd_mm = s.step.cop_right_mm = (double) NAN;
    for (int m = 0; m < METRIC_COUNT; m++)
        s.step.value[m] = (double) NAN;
    s.step.value[METRIC_CADENCE_SPM] = cadence_spm + (number % 3) - 1 + (number > N_STEPS ? 5 : 0);
    s.step.value[METRIC_CONTACT_MS] = 250 + number % 4;
    s.step.value[METRIC_STEP_TIME_S] = 0.36;
    for (int m = 0; m < METRIC_COUNT; m++)
        if (!isnan(s.step.value[m]))
            s.step.standing[m] = METRIC_MEASURED;
    return s;
}

/* Visit i = 1, 2, 3 of R-014, at cadence 160 + i, each with its targets. */
static int64_t
make_visit(int i)
{
    struct store_runner r;
    cr_assert_eq(store_runner_ensure(&store, "R-014", &r), ERR_OK);
    struct store_target_set t = { .runner_id = r.id, .n = 1 };
    t.target[0] = (struct store_target){ .metric = METRIC_CADENCE_SPM, .low = 164, .high = 170, .baseline = 160, .is_focus = true };
    cr_assert_eq(store_target_set_save(&store, &t), ERR_OK);
    struct store_visit v = store_visit_default(r.id);
    v.target_set_id = t.id;
    v.started_utc_ms = i * INT64_C(86400000);
    snprintf(v.software, sizeof v.software, "0.%d", i);
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK);
    for (int b = 0; b < 2; b++) {
        const struct store_block row = { .index = b,
                                         .part = b,
                                         .kind = b ? VERDICT_BLOCK_FREE : VERDICT_BLOCK_BASELINE,
                                         .start = { b * N_STEPS * INT64_C(360000) },
                                         .end = { (b + 1) * N_STEPS * INT64_C(360000) },
                                         .planned_s = NAN,
                                         .belt_speed_m_s = 3,
                                         .shown_share = NAN };
        cr_assert_eq(store_block_put(&store, v.id, &row), ERR_OK);
    }
    cr_assert_eq(store_begin(&store), ERR_OK);
    for (uint32_t k = 1; k <= 2 * N_STEPS; k++) {
        const struct coached_step s = step_of(k, 160 + i);
        cr_assert_eq(store_step_put(&store, v.id, &s), ERR_OK, "%s", message_english(&store.why));
    }
    cr_assert_eq(store_commit(&store), ERR_OK);
    return v.id;
}

/* A further measurement, whose cadence is 100 higher, so that it can be told apart. */
static void
measure_again(int64_t visit_id, int i, bool is_complete, struct metric_definitions definitions)
{
    struct measurement m = { .visit_id = visit_id, .software = "9.9", .definitions = definitions, .is_complete = is_complete,
                             .body_weight_n = (double) NAN };
    cr_assert_eq(store_begin(&store), ERR_OK);
    cr_assert_eq(measurement_put(&store, &m), ERR_OK, "%s", message_english(&store.why));
    for (uint32_t k = 1; k <= 2 * N_STEPS; k++) {
        const struct coached_step s = step_of(k, 260 + i);
        cr_assert_eq(measurement_put_step(&store, &m, &s), ERR_OK, "%s", message_english(&store.why));
    }
    cr_assert_eq(store_commit(&store), ERR_OK);
}

static void
set_definitions(int64_t visit_id, const char *text)
{
    char sql[128];
    snprintf(sql, sizeof sql, "UPDATE visit SET definitions = '%s' WHERE id = %lld", text, (long long) visit_id);
    store_file_sql(rig.path, sql);
}

/* Today's, but one figure's. */
static void
set_definition(int64_t visit_id, enum metric m, int definition)
{
    char text[METRIC_DEFINITIONS_MAX], sql[METRIC_DEFINITIONS_MAX + 128];
    struct metric_definitions d = metric_definitions_today();
    d.of[m] = definition;
    snprintf(sql, sizeof sql, "UPDATE visit SET definitions = '%s' WHERE id = %lld", metric_definitions_write(&d, text),
             (long long) visit_id);
    store_file_sql(rig.path, sql);
}

static double
summary_cadence(int64_t visit_id)
{
    struct summary s;
    struct store_visit v;
    cr_assert_eq(summary_of_visit(&store, visit_id, &v, &s), ERR_OK, "%s", message_english(&store.why));
    return s.metric[METRIC_CADENCE_SPM].all.mean - 2.5; /* half of the steps are 5 faster */
}

static double
course_cadence(const struct course *c, int i)
{
    return c->visit[i].baseline[METRIC_CADENCE_SPM].mean;
}

static char *
printed(void (*print)(FILE *f, const struct catalogue *w, const struct course *c), const struct course *c)
{
    char *text = NULL;
    size_t len = 0;
    FILE *f = open_memstream(&text, &len);
    print(f, NULL, c);
    fclose(f);
    return text;
}

Test(measured, a_further_measurement_stands_beside_the_first_which_stays)
{
    struct measurement m;
    open_store();
    const int64_t id = make_visit(1);
    measure_again(id, 1, true, metric_definitions_today());
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM step"), 2 * N_STEPS);
    cr_expect_eq(store_file_int(rig.path, "SELECT sum(cadence_spm) FROM step WHERE block = 0"), 161 * N_STEPS);
    cr_expect_eq(store_file_int(rig.path, "SELECT sum(cadence_spm) FROM measured_step WHERE block = 0"), 261 * N_STEPS);
    cr_assert_eq(measurement_first(&store, id, &m), ERR_OK);
    cr_expect(m.id == 0 && m.visit_id == id && m.is_complete && strcmp(m.software, "0.1") == 0);
    cr_assert_eq(measurement_newest(&store, id, &(struct metric_definitions){ { 0 } }, &m), ERR_GONE);
    store_close(&store);
}

Test(measured, the_newest_is_read_where_all_that_are_lined_up_have_todays_definitions)
{
    struct course c;
    const struct metric_definitions today = metric_definitions_today();
    open_store();
    const int64_t one = make_visit(1), two = make_visit(2);
    cr_expect_float_eq(summary_cadence(two), 162, 1e-9);
    measure_again(two, 2, false, today);
    cr_expect_float_eq(summary_cadence(two), 162, 1e-9, "a cut recording gives no complete measurement");
    measure_again(two, 2, true, today);
    cr_expect_float_eq(summary_cadence(two), 262, 1e-9, "visit 1 was run with today's definitions");
    cr_expect_float_eq(summary_cadence(one), 161, 1e-9);
    cr_assert_eq(course_of_runner(&store, "R-014", "", &c), ERR_OK);
    cr_expect_float_eq(course_cadence(&c, 0), 161, 1e-9);
    cr_expect_float_eq(course_cadence(&c, 1), 262, 1e-9);
    course_destroy(&c);
    set_definition(one, METRIC_FLIGHT_MS, 7);
    cr_expect_float_eq(summary_cadence(two), 162, 1e-9, "visit 1 lacks them: the first of each are read");
    cr_assert_eq(course_of_runner(&store, "R-014", "", &c), ERR_OK);
    cr_expect_float_eq(course_cadence(&c, 1), 162, 1e-9);
    course_destroy(&c);
    measure_again(one, 1, true, today);
    cr_expect_float_eq(summary_cadence(two), 262, 1e-9);
    cr_expect_float_eq(summary_cadence(one), 261, 1e-9);
    store_close(&store);
}

Test(measured, figures_of_another_definition_are_a_dash_with_a_reason_and_count_for_nothing)
{
    struct course c;
    char visits[COURSE_VISITS_TEXT_MAX];
    open_store();
    const int64_t one = make_visit(1);
    make_visit(2);
    const int64_t three = make_visit(3);
    cr_assert_eq(course_of_visit(&store, three, &c), ERR_OK);
    cr_expect_float_eq(c.visit[2].held_from_first[METRIC_CADENCE_SPM].by, 163 + 5 - 161, 1e-9);
    const int n_repeats = c.n_repeat_blocks[METRIC_CADENCE_SPM];
    course_destroy(&c);

    set_definition(one, METRIC_CADENCE_SPM, 7);
    cr_assert_eq(course_of_visit(&store, three, &c), ERR_OK);
    const struct course_change *from_first = &c.visit[2].held_from_first[METRIC_CADENCE_SPM];
    cr_expect(isnan(from_first->by) && from_first->is_other_definition && !from_first->is_real);
    cr_expect_float_eq(c.visit[2].held_from_last[METRIC_CADENCE_SPM].by, 1, 1e-9, "visit 2 is alike");
    cr_expect(isnan(course_cadence(&c, 0)) && c.visit[0].baseline[METRIC_CADENCE_SPM].n == 0);
    cr_expect(isnan(c.visit[0].band[METRIC_CADENCE_SPM].shown_pct));
    cr_expect_float_eq(c.visit[0].baseline[METRIC_CONTACT_MS].mean, 251.5, 1e-9, "other figures stay");
    cr_expect_not(c.visit[2].held_from_first[METRIC_CONTACT_MS].is_other_definition);
    cr_expect_leq(c.n_repeat_blocks[METRIC_CADENCE_SPM], n_repeats);
    cr_expect_str_eq(course_other_definitions(&c, METRIC_CADENCE_SPM, visits), "1");
    cr_expect_str_eq(course_other_definitions(&c, METRIC_CONTACT_MS, visits), "");
    char *text = printed(course_print_visit, &c);
    char line[128];
    snprintf(line, sizeof line, "Cadence                           visits 1 have it by another definition than the newest (%d)",
             metric_info(METRIC_CADENCE_SPM)->definition);
    cr_expect_not_null(strstr(text, line), "%s", text);
    free(text);
    text = printed(course_print, &c);
    cr_expect_not_null(strstr(text, "visits 1 have it by another definition"), "%s", text);
    cr_expect_null(strstr(text, "161"), "%s", text);
    free(text);
    course_destroy(&c);

    /* The newest one is the odd one: nothing to compare it with. */
    set_definition(one, METRIC_CADENCE_SPM, metric_info(METRIC_CADENCE_SPM)->definition);
    set_definition(three, METRIC_CADENCE_SPM, 7);
    cr_assert_eq(course_of_visit(&store, three, &c), ERR_OK);
    cr_expect(isnan(c.visit[2].held_from_first[METRIC_CADENCE_SPM].by) && isnan(c.visit[2].held_from_last[METRIC_CADENCE_SPM].by));
    cr_expect_float_eq(course_cadence(&c, 2), 163, 1e-9);
    cr_expect_str_eq(course_other_definitions(&c, METRIC_CADENCE_SPM, visits), "1, 2");
    course_destroy(&c);
    store_close(&store);
}

/* The band was made in the definition that the visit was run with. */
Test(measured, a_share_in_the_band_of_another_definition_is_a_dash)
{
    struct course c;
    struct summary s;
    struct store_visit v;
    open_store();
    const int64_t one = make_visit(1);
    cr_assert_eq(course_of_visit(&store, one, &c), ERR_OK);
    cr_expect_gt(c.visit[0].band[METRIC_CADENCE_SPM].n_shown, 0);
    course_destroy(&c);
    set_definition(one, METRIC_CADENCE_SPM, 7);
    measure_again(one, 1, true, metric_definitions_today());
    cr_assert_eq(course_of_visit(&store, one, &c), ERR_OK);
    cr_expect_float_eq(course_cadence(&c, 0), 261, 1e-9);
    cr_expect_eq(c.visit[0].band[METRIC_CADENCE_SPM].n_shown, 0);
    cr_expect(isnan(c.visit[0].band[METRIC_CADENCE_SPM].shown_pct));
    char *text = printed(course_print_visit, &c);
    cr_expect_not_null(strstr(text, "in band: with feedback – %, without – %: the targets are of another definition"), "%s", text);
    cr_expect_not_null(strstr(text, "again from its recording"), "%s", text);
    free(text);
    course_destroy(&c);
    cr_assert_eq(summary_of_visit(&store, one, &v, &s), ERR_OK);
    cr_expect(s.metric[METRIC_CADENCE_SPM].band.has_target && s.metric[METRIC_CADENCE_SPM].band.n_shown == 0);
    store_close(&store);
}

Test(measured, summaries_and_exports_say_which_measurement_and_which_definitions)
{
    struct summary s;
    struct store_visit v;
    char *text = NULL, *json = NULL;
    size_t len = 0;
    open_store();
    const int64_t one = make_visit(1);
    set_definitions(one, "contact_ms=7");
    cr_assert_eq(summary_of_visit(&store, one, &v, &s), ERR_OK);
    FILE *f = open_memstream(&text, &len);
    summary_print(f, NULL, &s, &v);
    fclose(f);
    cr_expect_not_null(strstr(text, "\nmeasured            at the visit; definition 1 of every figure but contact_ms 7\n"), "%s", text);
    f = open_memstream(&json, &len);
    cr_assert_eq(export_json(&store, one, true, f), ERR_OK);
    fclose(f);
    cr_expect_not_null(strstr(json, "\"is_first\": true"), "%s", json);
    cr_expect_not_null(strstr(json, "\"definition\": 7"), "%s", json);
    free(text);
    free(json);
    measure_again(one, 1, true, metric_definitions_today());
    f = open_memstream(&text, &len);
    cr_assert_eq(export_csv(&store, one, f), ERR_OK);
    fclose(f);
    cr_expect_not_null(strstr(text, "262.00"), "the steps are those of the measurement that the figures are of");
    cr_expect_null(strstr(text, "162.00"));
    free(text);
    store_close(&store);
}
