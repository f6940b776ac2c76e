#include "sim/board.h"
#include "sim/cast.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct board BOARD;
static struct runner RUNNER;
static struct wire_decoder DECODER;

struct heard {
    int n_hellos, n_data, n_wrong_counts;
    uint32_t n_lost, status_code;
    struct packet_hello hello;
    uint32_t last_t_us;
};

static void
start(const struct board_config *c, const struct runner_config *r)
{
    struct runner_config standard = runner_config_default();
    runner_init(&RUNNER, r ? r : &standard);
    board_init(&BOARD, c, &RUNNER);
    wire_init(&DECODER);
}

static bool
same_counts(const struct packet *a, const struct packet *b)
{
    if (a->type != b->type || a->t_us != b->t_us || a->n_values != b->n_values)
        return false;
    if (a->type != PACKET_MAT)
        return memcmp(a->channel_counts, b->channel_counts, (size_t) a->n_values * sizeof(int32_t)) == 0;
    int noise = BOARD.config.form.is_sparse ? BOARD.config.form.noise_counts : 0;
    for (int i = 0; i < a->n_values; i++)
        if (a->mat_counts[i] != b->mat_counts[i] && (a->mat_counts[i] != 0 || b->mat_counts[i] > noise))
            return false;
    return true;
}

/* Steps the board n times; every packet is decoded and compared with what the board meant. */
static void
listen(struct heard *h, int n)
{
    for (int i = 0; i < n; i++) {
        const uint8_t *bytes;
        size_t len = board_step(&BOARD, &bytes);
        for (size_t at = 0; at < len;) {
            at += wire_feed(&DECODER, bytes + at, len - at, (struct host_time){ 0 });
            const struct packet *p = wire_take(&DECODER);
            if (!p)
                continue;
            h->n_lost += p->n_lost_before;
            h->last_t_us = p->t_us;
            if (p->type == PACKET_HELLO) {
                h->n_hellos++;
                h->hello = p->hello;
                continue;
            }
            if (p->type == PACKET_STATUS) {
                h->status_code = p->status_code;
                continue;
            }
            h->n_data++;
            h->n_wrong_counts += !same_counts(p, &BOARD.packet);
        }
    }
}

Test(board, every_kind_and_tongue_decodes_to_the_same_counts)
{
    static const enum frame_kind kinds[] = { FRAME_KIND_MAT, FRAME_KIND_CELLS, FRAME_KIND_SWITCHES };
    static const enum packet_kind packet_kinds[] = { PACKET_KIND_MAT, PACKET_KIND_CELLS,
                                                     PACKET_KIND_SWITCHES };
    for (int k = 0; k < 8; k++) {
        struct board_config c = board_config_default(kinds[k % 3]);
        struct heard h = { 0 };
        c.form.is_text = k >= 3;
        c.form.has_crc = k >= 3;
        c.is_binary_switches = k >= 6;
        c.form.is_sparse = k < 6;
        if (c.layout.kind == FRAME_KIND_MAT && c.form.is_text) {
            c.layout.n_rows = 48;
            c.layout.n_cols = 16;
        }
        start(&c, NULL);
        listen(&h, 500);
        cr_assert_eq(h.n_hellos, 1, "kind %d", k);
        cr_assert_eq(h.hello.kind, packet_kinds[k % 3]);
        cr_assert_float_eq(h.hello.rate_hz, c.rate_hz, 1e-3);
        cr_assert_eq(h.n_data, 500, "kind %d: %d", k, h.n_data);
        cr_assert_eq(h.n_wrong_counts, 0, "kind %d", k);
        cr_assert_eq(h.n_lost, 0);
        cr_assert_eq(DECODER.health.n_malformed + DECODER.health.n_bad_crc, 0);
    }
}

Test(board, lost_packets_show_by_sequence)
{
    struct board_config c = board_config_default(FRAME_KIND_CELLS);
    struct heard h = { 0 };
    c.faults.lost_share = 0.02;
    start(&c, NULL);
    listen(&h, 5000);
    cr_assert(BOARD.faults.n_lost > 50);
    cr_assert_eq(h.n_data + h.n_hellos + (int) BOARD.faults.n_lost, (int) BOARD.n_packets);
    /* Those lost before the first or after the last good packet cannot be seen. */
    cr_assert(h.n_lost >= BOARD.faults.n_lost - 3 && h.n_lost <= BOARD.faults.n_lost);
}

Test(board, repeated_packets_are_dropped_and_damaged_ones_counted)
{
    struct board_config c = board_config_default(FRAME_KIND_CELLS);
    struct heard h = { 0 };
    c.faults.duplicate_share = 0.05;
    c.faults.corrupt_share = 0.03;
    start(&c, NULL);
    listen(&h, 5000);
    cr_assert(DECODER.health.n_duplicates > 100);
    cr_assert(BOARD.faults.n_corrupt > 80);
    cr_assert_eq(h.n_wrong_counts, 0);
    cr_assert(h.n_data > 4700 && h.n_data <= 5000);
}

Test(board, clock_wraps_on_the_wire)
{
    struct board_config c = board_config_default(FRAME_KIND_SWITCHES);
    struct heard h = { 0 };
    c.faults.clock_start_us = 4294967295U - 499999U;
    start(&c, NULL);
    listen(&h, 1);
    cr_assert_eq(h.last_t_us, 4294967295U - 499999U);
    listen(&h, 500);
    cr_assert_eq(h.last_t_us, 500000U);
    cr_assert_eq(h.n_wrong_counts, 0);
}

Test(board, reset_is_silence_then_hello_and_a_clock_at_zero)
{
    struct board_config c = board_config_default(FRAME_KIND_CELLS);
    struct heard h = { 0 };
    c.hello_every_s = INFINITY;
    c.faults.reset_at_s = 1;
    c.faults.reset_for_s = 0.25;
    start(&c, NULL);
    listen(&h, 1000);
    cr_assert_eq(h.n_data, 1000);
    listen(&h, 250);
    cr_assert_eq(h.n_data, 1000);
    cr_assert_eq(h.n_hellos, 1);
    listen(&h, 1);
    cr_assert_eq(h.n_hellos, 2);
    cr_assert_eq(h.last_t_us, 0);
}

Test(board, obeys_the_host_in_both_tongues)
{
    struct board_config c = board_config_default(FRAME_KIND_SWITCHES);
    struct heard h = { 0 };
    uint8_t ask[64];
    c.hello_every_s = INFINITY;
    start(&c, NULL);
    listen(&h, 10);
    cr_assert_eq(h.n_hellos, 1);
    board_hear(&BOARD, ask, wire_encode_ask(WIRE_ASK_HELLO, 0, 0, ask, sizeof ask));
    listen(&h, 10);
    cr_assert_eq(h.n_hellos, 2);
    board_hear(&BOARD, ask, wire_encode_ask(WIRE_STOP, 1, 0, ask, sizeof ask));
    int n_before = h.n_data;
    listen(&h, 10);
    cr_assert_eq(h.n_data, n_before);
    cr_assert_eq(h.status_code, WIRE_STATUS_STOPPED);
    board_hear(&BOARD, ask, wire_encode_ask(WIRE_START, 2, 0, ask, sizeof ask));
    listen(&h, 10);
    cr_assert_eq(h.n_data, n_before + 10);
    cr_assert_eq(h.status_code, 0);
}

Test(board, cells_counts_are_the_runner_s_force)
{
    struct board_config c = board_config_default(FRAME_KIND_CELLS);
    struct heard h = { 0 };
    c.faults = faults_config_default();
    start(&c, NULL);
    for (int i = 0; i < 2000; i++) {
        double sum_n = 0, fwd = 0;
        listen(&h, 1);
        for (int k = 0; k < 4; k++) {
            sum_n += BOARD.packet.channel_counts[k] * board_cell_gain_n();
            fwd += BOARD.packet.channel_counts[k] * board_cell_gain_n() * c.layout.cell_fwd_mm[k];
        }
        cr_assert_float_eq(sum_n, BOARD.now.force_n, 0.01);
        if (sum_n > 50)
            cr_assert_float_eq(fwd / sum_n, BOARD.now.cop_fwd_mm, 0.05);
    }
}

Test(board, no_demo_runner_saturates_or_leaves_the_mat)
{
    for (int i = 0; i < cast_runner_count(); i++) {
        struct cast_runner demo;
        cast_runner_get(i, &demo);
        struct runner_config r = runner_config_default();
        struct board_config c = board_config_default(FRAME_KIND_MAT);
        struct heard h = { 0 };
        int n_edge = 0;
        r.style = demo.style;
        start(&c, &r);
        for (int k = 0; k < 5000; k++) {
            listen(&h, 1);
            n_edge += (BOARD.ideal.flags & FRAME_AT_EDGE) != 0;
        }
        cr_assert_eq(BOARD.faults.n_saturated, 0, "%s", demo.code);
        cr_assert_eq(n_edge, 0, "%s", demo.code);
        cr_assert_eq(h.n_wrong_counts, 0);
    }
}
