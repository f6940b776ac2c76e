/* The pipeline as one object, fed by the simulated board in virtual time: the sensor's states, cuts anywhere in
 * the bytes, a full queue. */
#include "cli/demo.h"
#include "cli/mimic.h"
#include "live/pipeline.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct rig {
    struct mimic mimic;
    struct pipeline pipeline;
    struct host_time now;
    struct verdict v;
};

static struct rig *
rig_new(const char *kind, const char *wire)
{
    struct rig *r = calloc(1, sizeof *r);
    struct mimic_config c = mimic_config_default();
    const struct pipeline_config p = pipeline_config_default();
    struct message why;
    cr_assert(r && demo_board(kind, wire, &c.board, &why));
    mimic_init(&r->mimic, &c);
    pipeline_init(&r->pipeline, &p);
    return r;
}

/* Runs the board for so long; every byte goes to feed. */
static void
run(struct rig *r, double seconds)
{
    const uint8_t *bytes;
    for (const double end_s = r->mimic.board.t_s + seconds; r->mimic.board.t_s < end_s;) {
        const int n = mimic_step(&r->mimic, &bytes);
        r->now.us = units_us_from_s(r->mimic.board.t_s);
        if (n > 0)
            cr_assert_eq(pipeline_feed(&r->pipeline, bytes, (size_t) n, r->now), (size_t) n);
    }
    pipeline_verdict(&r->pipeline, &r->v);
}

static enum verdict_sensor
state_after(struct rig *r, int64_t us)
{
    r->now.us += us;
    pipeline_tick(&r->pipeline, r->now);
    pipeline_verdict(&r->pipeline, &r->v);
    return r->v.sensor;
}

Test(pipeline, waits_for_the_first_frame_and_says_so)
{
    struct rig *r = rig_new("cells", "binary");
    cr_assert_eq(state_after(r, 5000000), VERDICT_SENSOR_WAITING);
    cr_assert(!message_is_none(&r->v.message));
    cr_assert(!pipeline_is_ready(&r->pipeline));
    cr_assert_str_eq(pipeline_kind_name(&r->pipeline), "");
    run(r, 0.1);
    cr_assert_eq(r->v.sensor, VERDICT_SENSOR_LIVE);
    cr_assert(message_is_none(&r->v.message));
    cr_assert(pipeline_is_ready(&r->pipeline));
    cr_assert_str_eq(pipeline_kind_name(&r->pipeline), "cells");
    free(r);
}

Test(pipeline, what_was_entered_of_the_runner_is_told_with_the_verdict)
{
    struct pipeline_config c = pipeline_config_default();
    struct rig *r = rig_new("cells", "binary");
    c.foot_length_mm = 263;
    pipeline_init(&r->pipeline, &c);
    pipeline_verdict(&r->pipeline, &r->v);
    cr_expect_eq(r->v.foot_length_mm, 263);
    free(r);
}

/* case 1 and 3 */
Test(pipeline, silence_of_a_quarter_second_is_quiet_and_a_packet_ends_it)
{
    struct rig *r = rig_new("cells", "binary");
    run(r, 0.5);
    cr_assert_eq(state_after(r, 250000), VERDICT_SENSOR_LIVE);
    cr_assert_eq(state_after(r, 1), VERDICT_SENSOR_QUIET);
    cr_assert(!message_is_none(&r->v.message));
    run(r, 0.01);
    cr_assert_eq(r->v.sensor, VERDICT_SENSOR_LIVE);
    free(r);
}

/* case 2 */
Test(pipeline, bytes_without_packets_are_garbled)
{
    struct rig *r = rig_new("cells", "binary");
    const uint8_t junk[] = { 0x55, 0xAA, 0x37, 0x00, 0x0A };
    run(r, 0.5);
    for (int i = 0; i < 24; i++) {
        r->now.us += 10000;
        pipeline_feed(&r->pipeline, junk, sizeof junk, r->now);
    }
    cr_assert_eq(state_after(r, 0), VERDICT_SENSOR_LIVE, "not yet a quarter of a second");
    for (int i = 0; i < 2; i++) {
        r->now.us += 10000;
        pipeline_feed(&r->pipeline, junk, sizeof junk, r->now);
    }
    cr_assert_eq(state_after(r, 0), VERDICT_SENSOR_GARBLED);
    cr_assert_eq(state_after(r, 300000), VERDICT_SENSOR_QUIET, "then nothing at all");
    free(r);
}

Test(pipeline, a_lost_port_is_told_and_the_values_stay)
{
    struct rig *r = rig_new("cells", "binary");
    run(r, 8);
    struct coached_step step;
    while (pipeline_take_step(&r->pipeline, &step))
        continue;
    const double before = r->v.bar[0].value;
    struct message gone;
    message_say(&gone, "Unplugged.");
    pipeline_set_gone(&r->pipeline, &gone);
    pipeline_verdict(&r->pipeline, &r->v);
    cr_assert_eq(r->v.sensor, VERDICT_SENSOR_GONE);
    cr_assert_str_eq(message_english(&r->v.message), "Unplugged.");
    cr_assert(!isnan(before) && r->v.bar[0].value == before);
    free(r);
}

static uint64_t
mix(uint64_t hash, const void *bytes, size_t len)
{
    const uint8_t *b = bytes;
    for (size_t i = 0; i < len; i++)
        hash = (hash ^ b[i]) * UINT64_C(1099511628211);
    return hash;
}

/* All that a step record says, but when its bytes arrived. */
static uint64_t
hash_steps(struct rig *r, uint64_t hash, int *n_steps)
{
    struct coached_step s;
    while (pipeline_take_step(&r->pipeline, &s)) {
        const int flags[] = { (int) s.step.number, s.step.is_settled, (int) s.step.foot, (int) s.step.gait,
                              (int) s.step.zone, (int) s.step.flags, s.block, s.is_feedback_shown };
        hash = mix(hash, flags, sizeof flags);
        hash = mix(hash, &s.step.touchdown, sizeof s.step.touchdown);
        hash = mix(hash, &s.step.toe_off, sizeof s.step.toe_off);
        hash = mix(hash, s.step.value, sizeof s.step.value);
        hash = mix(hash, s.step.standing, sizeof s.step.standing);
        ++*n_steps;
    }
    return hash;
}

/* Steps of 20 s, the bytes of a sample cut into pieces of at most `piece`. */
static uint64_t
run_in_pieces(const char *kind, const char *wire, size_t piece, int *n_steps)
{
    struct rig *r = rig_new(kind, wire);
    uint64_t hash = UINT64_C(14695981039346656037);
    const uint8_t *bytes;
    *n_steps = 0;
    while (r->mimic.board.t_s < 20) {
        const int n = mimic_step(&r->mimic, &bytes);
        r->now.us = units_us_from_s(r->mimic.board.t_s);
        for (size_t at = 0; n > 0 && at < (size_t) n; at += piece) {
            const size_t len = (size_t) n - at < piece ? (size_t) n - at : piece;
            pipeline_feed(&r->pipeline, bytes + at, len, r->now);
        }
        hash = hash_steps(r, hash, n_steps);
    }
    pipeline_finish(&r->pipeline);
    hash = hash_steps(r, hash, n_steps);
    free(r);
    return hash;
}

Test(pipeline, steps_do_not_depend_on_how_the_bytes_are_cut, .timeout = 500)
{
    static const char *const kinds[] = { "cells", "switches", "mat" };
    for (int i = 0; i < 3; i++)
        for (int is_text = 0; is_text < 2; is_text++) {
            const char *wire = is_text ? "text" : "binary";
            int n_whole, n_bytes, n_odd;
            const uint64_t whole = run_in_pieces(kinds[i], wire, SIZE_MAX, &n_whole);
            cr_assert_geq(n_whole, 60, "%s %s: %d records", kinds[i], wire, n_whole);
            cr_assert_eq(whole, run_in_pieces(kinds[i], wire, 1, &n_bytes), "%s %s byte by byte", kinds[i], wire);
            cr_assert_eq(whole, run_in_pieces(kinds[i], wire, 7, &n_odd), "%s %s in sevens", kinds[i], wire);
        }
}

/* 30 s of a sorry link: packets lost and damaged, a restart of the board, silences, and bytes of a second board
 * between. Arrival times begin at `from`, as a live session's do, or at 0, as a replay's do. */
static uint64_t
run_sorry_link(const char *kind, struct host_time from, uint32_t seed, int *n_steps)
{
    struct rig *r = rig_new(kind, "binary"), *other = rig_new(kind, "binary");
    struct mimic_config c = r->mimic.config;
    uint64_t hash = UINT64_C(14695981039346656037);
    const uint8_t *bytes;
    int64_t silent_us = 0;
    *n_steps = 0;
    c.board.faults.lost_share = 0.01;
    c.board.faults.corrupt_share = 0.005;
    c.board.faults.reset_at_s = 7;
    mimic_init(&r->mimic, &c);
    bool has_begun = false;
    while (r->mimic.board.t_s < 30) {
        seed = seed * 1664525u + 1013904223u;
        const int n = mimic_step(&r->mimic, &bytes);
        if (!has_begun && n > 0) {
            has_begun = true;
            silent_us = -units_us_from_s(r->mimic.board.t_s);
        }
        if (seed >> 19 == 1) /* now and then a silence of up to 4 s */
            silent_us += (seed & 0x3FFFFF);
        r->now.us = from.us + silent_us + units_us_from_s(r->mimic.board.t_s);
        if (n > 0 && has_begun)
            pipeline_feed(&r->pipeline, bytes, (size_t) n, r->now);
        if (seed >> 20 == 2) {
            const int n_other = mimic_step(&other->mimic, &bytes);
            if (n_other > 0 && has_begun)
                pipeline_feed(&r->pipeline, bytes, (size_t) n_other, r->now);
        }
        hash = hash_steps(r, hash, n_steps);
    }
    pipeline_finish(&r->pipeline);
    hash = hash_steps(r, hash, n_steps);
    free(other);
    free(r);
    return hash;
}

Test(pipeline, steps_do_not_depend_on_when_the_clock_began, .timeout = 500)
{
    static const char *const kinds[] = { "cells", "switches", "mat" };
    for (int i = 0; i < 3; i++)
        for (uint32_t seed = 1; seed <= 4; seed++) {
            int n_live, n_replayed;
            const uint64_t live = run_sorry_link(kinds[i], (struct host_time){ 98765432123 }, seed, &n_live);
            const uint64_t replayed = run_sorry_link(kinds[i], (struct host_time){ 0 }, seed, &n_replayed);
            cr_assert_geq(n_live, 20, "%s: %d records", kinds[i], n_live);
            cr_assert_eq(n_live, n_replayed, "%s seed %u: %d records live, %d replayed", kinds[i], seed, n_live,
                         n_replayed);
            cr_assert_eq(live, replayed, "%s seed %u", kinds[i], seed);
        }
}

Test(pipeline, a_full_queue_takes_no_bytes_until_a_step_is_taken)
{
    struct rig *r = rig_new("switches", "binary");
    const uint8_t *bytes;
    size_t n_used = 1;
    int n = 0;
    while (n_used > 0) { /* nobody takes a step */
        n = mimic_step(&r->mimic, &bytes);
        cr_assert(r->mimic.board.t_s < 120, "the queue never filled");
        r->now.us = units_us_from_s(r->mimic.board.t_s);
        n_used = n > 0 ? pipeline_feed(&r->pipeline, bytes, (size_t) n, r->now) : 1;
    }
    cr_assert(pipeline_is_full(&r->pipeline));
    struct coached_step step;
    cr_assert(pipeline_take_step(&r->pipeline, &step));
    cr_assert_eq(step.step.number, 1, "the oldest is still there");
    cr_assert_eq(pipeline_feed(&r->pipeline, bytes, (size_t) n, r->now), (size_t) n);
    free(r);
}

Test(pipeline, a_long_silence_drops_a_half_packet)
{
    struct rig *r = rig_new("cells", "binary");
    run(r, 1);
    const uint64_t n_bad = r->pipeline.wire.health.n_malformed + r->pipeline.wire.health.n_bad_crc;
    const uint8_t half[] = { 0x05, 0x04, 0x11 };
    pipeline_feed(&r->pipeline, half, sizeof half, r->now);
    const double end_s = r->mimic.board.t_s + 0.5;
    const uint8_t *bytes;
    while (r->mimic.board.t_s < end_s) /* unplugged meanwhile */
        mimic_step(&r->mimic, &bytes);
    run(r, 0.1);
    cr_assert_eq(r->pipeline.wire.health.n_malformed + r->pipeline.wire.health.n_bad_crc, n_bad);
    cr_assert_eq(r->v.sensor, VERDICT_SENSOR_LIVE);
    free(r);
}
