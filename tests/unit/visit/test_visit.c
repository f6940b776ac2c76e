/* What a visit's row says at its end. */
#include "aid/store_rig.h"
#include "visit/visit.h"

#include <criterion/criterion.h>
#include <stdlib.h>

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
    cr_assert_eq(visit_begin(v, &c), ERR_OK, "%s", v->why);
    cr_assert_eq(visit_end(v, pipeline, (double) NAN), ERR_OK, "%s", v->why);
    cr_assert_eq(store_open(&s, rig.path, STORE_MUST_EXIST), ERR_OK, "%s", s.why);
    cr_assert_eq(store_visit_get(&s, v->row.id, &row), ERR_OK, "%s", s.why);
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
