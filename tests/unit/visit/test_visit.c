/* What a visit's row says at its end. */
#include "aid/store_file.h"
#include "aid/store_rig.h"
#include "visit/visit.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static struct store_rig rig;

static void
make(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
}

static void
clean(void)
{
    store_rig_remove(&rig);
}

TestSuite(visit, .init = make, .fini = clean);

/* Packets by sequence, which has 256 numbers, and frames by the sensor's clock, which a board that restarts loses. */
static int64_t
lost_of(uint64_t by_sequence, uint64_t by_clock)
{
    struct visit_config c = visit_config_default();
    struct pipeline_config p = pipeline_config_default();
    struct pipeline *pipeline = malloc(sizeof *pipeline);
    struct visit *v = malloc(sizeof *v);
    struct store s;
    struct store_visit row;
    cr_assert(pipeline && v);
    pipeline_init(pipeline, &p);
    pipeline->wire.health.n_lost = by_sequence;
    pipeline->sense.health.n_lost = by_clock;
    c.store_path = rig.path;
    c.runner_code = "R-014";
    c.sensor_kind = "cells";
    c.sensor_name = "simulated";
    cr_assert_eq(visit_begin(v, &c), ERR_OK, "%s", message_english(&v->why));
    cr_assert_eq(visit_end(v, pipeline, (double) NAN), ERR_OK, "%s", message_english(&v->why));
    cr_assert_eq(store_open(&s, rig.path, STORE_MUST_EXIST), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_visit_get(&s, v->row.id, &row), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
    free(v);
    free(pipeline);
    return row.n_lost_packets;
}

Test(visit, the_row_gets_whichever_count_of_lost_packets_saw_more)
{
    cr_expect_eq(lost_of(0, 0), 0);
    cr_expect_eq(lost_of(7, 300), 300);
    cr_expect_eq(lost_of(41, 40), 41);
}

/* The writer keeps what it was given until the store takes it; another program holds the store here. */
Test(visit, a_note_that_finds_no_room_is_refused_to_its_face_and_all_others_are_kept)
{
    struct visit_config c = visit_config_default();
    struct pipeline_config p = pipeline_config_default();
    struct pipeline *pipeline = malloc(sizeof *pipeline);
    struct visit *v = malloc(sizeof *v);
    const struct store_note note = { .at = { 1000000 }, .text = "calf" };
    const struct store_pain pain = { .when = STORE_PAIN_DURING, .at = { 2000000 }, .pain = 2, .effort = (double) NAN };
    struct store s;
    int n = 0;
    cr_assert(pipeline && v);
    pipeline_init(pipeline, &p);
    c.store_path = rig.path;
    c.runner_code = "R-014";
    c.sensor_kind = "cells";
    c.sensor_name = "simulated";
    cr_assert_eq(visit_begin(v, &c), ERR_OK, "%s", message_english(&v->why));
    cr_assert_eq(store_open(&s, rig.path, STORE_MUST_EXIST), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_begin(&s), ERR_OK, "%s", message_english(&s.why));
    while (n <= 2 * WRITER_N_MARKS && visit_put_note(v, &note))
        n++;
    cr_expect(n >= WRITER_N_MARKS && n <= 2 * WRITER_N_MARKS, "%d", n);
    cr_expect(!visit_put_pain(v, &pain), "no room for a pain either");
    store_rollback(&s);
    cr_assert_eq(visit_end(v, pipeline, (double) NAN), ERR_OK, "%s", message_english(&v->why));
    cr_expect_eq(v->writer.status.n_dropped, 0, "told to whoever asked, not lost");
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM note"), n);
    store_close(&s);
    free(v);
    free(pipeline);
}

static int64_t host_us, wall_us;

static struct host_time
host_now(void)
{
    return (struct host_time){ host_us };
}

static int64_t
wall_now(void)
{
    return wall_us;
}

struct clocked {
    struct store_visit row;
    int n_notes;
    char note[STORE_NOTE_MAX];
};

static bool
take_note(void *context, const struct store_note *n)
{
    struct clocked *c = context;
    c->n_notes++;
    strcpy(c->note, n->text);
    return true;
}

/* A visit of 30 minutes, in whose middle the wall clock is set by so many seconds. */
static struct clocked
run_with_step(int64_t step_s)
{
    struct visit_config c = visit_config_default();
    struct pipeline_config p = pipeline_config_default();
    struct pipeline *pipeline = malloc(sizeof *pipeline);
    struct visit *v = malloc(sizeof *v);
    struct clocked out = { .n_notes = 0 };
    struct store s;
    cr_assert(pipeline && v);
    pipeline_init(pipeline, &p);
    host_us = 5000000;
    wall_us = INT64_C(1790000000000000);
    c.store_path = rig.path;
    c.runner_code = "R-014";
    c.sensor_kind = "cells";
    c.sensor_name = "simulated";
    c.now = host_now;
    c.wall_us = wall_now;
    cr_assert_eq(visit_begin(v, &c), ERR_OK, "%s", message_english(&v->why));
    host_us += INT64_C(1800) * 1000000;
    wall_us += (INT64_C(1800) + step_s) * 1000000;
    cr_assert_eq(visit_end(v, pipeline, (double) NAN), ERR_OK, "%s", message_english(&v->why));
    cr_assert_eq(store_open(&s, rig.path, STORE_MUST_EXIST), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_visit_get(&s, v->row.id, &out.row), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_notes(&s, v->row.id, take_note, &out), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
    free(v);
    free(pipeline);
    return out;
}

/* Nothing, what a steered clock gains, summer time on a clock that keeps local time, and three days back. */
Test(visit, a_step_of_the_wall_clock_changes_no_length_and_is_noted)
{
    static const int64_t steps_s[] = { 0, 1, -1, 3600, -3600, -3 * 86400 };
    for (size_t i = 0; i < sizeof steps_s / sizeof *steps_s; i++) {
        const struct clocked c = run_with_step(steps_s[i]);
        cr_expect_eq(c.row.ended_utc_ms - c.row.started_utc_ms, 1800000, "step %lld", (long long) steps_s[i]);
        cr_expect_float_eq(c.row.length_s, 1800, 1e-9);
        cr_expect_eq(c.n_notes, llabs(steps_s[i]) > 2 ? 1 : 0, "step %lld: %s", (long long) steps_s[i], c.note);
    }
    cr_expect(strstr(run_with_step(-3 * 86400).note, "set back by 259200 s"));
}

Test(visit, a_visit_that_an_older_version_ended_before_it_began_has_no_end)
{
    struct clocked c = run_with_step(0);
    struct store s;
    struct store_visit row;
    store_file_sql(rig.path, "UPDATE visit SET ended_utc_ms = started_utc_ms - 259200000");
    cr_assert_eq(store_open(&s, rig.path, STORE_MUST_EXIST), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_visit_get(&s, c.row.id, &row), ERR_OK, "%s", message_english(&s.why));
    cr_expect_eq(row.ended_utc_ms, 0);
    cr_expect(isnan(row.length_s), "no steps, and so no length");
    store_close(&s);
}
