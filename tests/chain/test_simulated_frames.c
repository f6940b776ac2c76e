#include "sense/sense.h"
#include "sim/board.h"
#include "sim/cast.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* The simulated board's bytes, through the wire and the calibration, are the perfect sensor's frames again:
 * the simulated runner and the sensor side agree on geometry, axes, gains and time. */

static struct board BOARD;
static struct runner RUNNER;
static struct wire_decoder DECODER;
static struct sense SENSE;

typedef void (*check_fn)(const struct frame *got, int i);

static void
run_frames(const struct board_config *c, int n, check_fn check)
{
    struct runner_config r = runner_config_default();
    struct cast_runner demo;
    cr_assert(cast_runner_find(CAST_RUNNER_DEFAULT, &demo));
    r.style = demo.style;
    runner_init(&RUNNER, &r);
    board_init(&BOARD, c, &RUNNER);
    wire_init(&DECODER);
    sense_init(&SENSE, NULL);
    int n_frames = 0;
    for (int i = 0; i < n; i++) {
        const uint8_t *bytes;
        size_t len = board_step(&BOARD, &bytes);
        for (size_t at = 0; at < len;) {
            struct frame got;
            at += wire_feed(&DECODER, bytes + at, len - at, (struct host_time){ 0 });
            const struct packet *p = wire_take(&DECODER);
            if (!p || !sense_feed(&SENSE, p, &got))
                continue;
            check(&got, n_frames++);
        }
    }
    cr_assert_eq(n_frames, n);
}

static void
check_mat(const struct frame *got, int i)
{
    cr_assert_eq(got->kind, FRAME_KIND_MAT);
    cr_assert_eq(got->time.us, BOARD.ideal.time.us, "frame %d", i);
    if (BOARD.now.force_n < 100)
        return;
    /* Elements below the noise are not sent: a little less force, hardly another place. */
    cr_assert_float_eq(got->force_n / BOARD.now.force_n, 1, 0.04, "frame %d: %g of %g N", i, got->force_n,
                       BOARD.now.force_n);
    cr_assert_float_eq(got->cop_fwd_mm, BOARD.now.cop_fwd_mm, 2.0, "frame %d", i);
    cr_assert_float_eq(got->cop_right_mm, BOARD.now.cop_right_mm, 1.0, "frame %d", i);
    cr_assert(!(got->flags & (FRAME_SATURATED | FRAME_AT_EDGE)));
}

static void
check_cells(const struct frame *got, int i)
{
    cr_assert_eq(got->time.us, BOARD.ideal.time.us);
    cr_assert_float_eq(got->force_n, BOARD.now.force_n, 0.5, "frame %d", i);
    if (BOARD.now.force_n < 100)
        return;
    cr_assert_float_eq(got->cop_fwd_mm, BOARD.now.cop_fwd_mm, 2.0, "frame %d", i);
    cr_assert_float_eq(got->cop_right_mm, BOARD.now.cop_right_mm, 2.0, "frame %d", i);
}

static void
check_switches(const struct frame *got, int i)
{
    cr_assert_eq(got->time.us, BOARD.ideal.time.us);
    cr_assert_eq(got->switches->n_zones, 4);
    for (int z = 0; z < 4; z++) {
        cr_assert_eq(got->switches->is_right[z], BOARD.ideal.switches->is_right[z]);
        cr_assert_eq(got->switches->zone[z], BOARD.ideal.switches->zone[z]);
        cr_assert_float_eq(got->switches->load[z], BOARD.ideal.switches->load[z], 0.01, "frame %d", i);
    }
}

Test(simulated_frames, mat_comes_back_as_it_was_made)
{
    struct board_config c = board_config_default(FRAME_KIND_MAT);
    c.faults.vibration_n = c.faults.seam_bump_n = 0; /* the belt's own: test_belt_noise */
    run_frames(&c, 1500, check_mat);
}

Test(simulated_frames, cells_come_back_as_they_were_made)
{
    struct board_config c = board_config_default(FRAME_KIND_CELLS);
    c.faults = faults_config_default();
    run_frames(&c, 4000, check_cells);
}

Test(simulated_frames, switches_come_back_as_they_were_made)
{
    struct board_config c = board_config_default(FRAME_KIND_SWITCHES);
    run_frames(&c, 2000, check_switches);
}
