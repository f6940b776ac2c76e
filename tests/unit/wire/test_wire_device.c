#include "wire/wire_device.h"

#include <criterion/criterion.h>
#include <string.h>

static struct wire_device DEVICE;
static struct wire_decoder DECODER;
static struct packet DATA, WORDS;
static uint8_t OUT[256];

static void
start(uint32_t hello_every_us)
{
    struct wire_form form = { .bits = 16 };
    wire_device_init(&DEVICE, &form, hello_every_us);
    wire_init(&DECODER);
    WORDS.hello = (struct packet_hello){ .kind = PACKET_KIND_SWITCHES,
                                         .version_major = 1,
                                         .rate_hz = 500,
                                         .full_scale_counts = 1023,
                                         .n_channels = 1,
                                         .zone_name = { "LH" } };
    DATA.type = PACKET_SWITCHES;
    DATA.n_values = 1;
    DATA.channel_counts[0] = 512;
}

static void
hear(enum wire_type type)
{
    uint8_t ask[64];
    size_t n = wire_encode_ask(type, 0, 250, ask, sizeof ask);
    for (size_t i = 0; i < n; i++)
        wire_device_hear(&DEVICE, ask[i]);
}

/* What came out, read back; NULL for nothing. */
static const struct packet *
read_back(size_t len)
{
    if (len == 0)
        return NULL;
    cr_assert_eq(wire_feed(&DECODER, OUT, len, (struct host_time){ 0 }), len);
    return wire_take(&DECODER);
}

static const struct packet *
hello(uint32_t t_us)
{
    return read_back(wire_device_hello(&DEVICE, &WORDS, t_us, OUT, sizeof OUT));
}

static const struct packet *
data(uint32_t t_us)
{
    return read_back(wire_device_data(&DEVICE, &DATA, t_us, OUT, sizeof OUT));
}

static const struct packet *
status(uint32_t t_us)
{
    return read_back(wire_device_status(&DEVICE, &WORDS, t_us, OUT, sizeof OUT));
}

Test(wire_device, hello_comes_first_when_asked_and_by_the_clock_across_its_wrap)
{
    uint32_t t_us = UINT32_MAX - 3000;
    start(5000);
    cr_assert_not_null(hello(t_us));
    cr_assert_null(hello(t_us + 4999));
    cr_assert_not_null(hello(t_us + 5000));
    cr_assert_null(hello(t_us + 6000));
    hear(WIRE_ASK_HELLO);
    cr_assert_not_null(hello(t_us + 7000));
    cr_assert_null(hello(t_us + 7001));
    hear(WIRE_SET_RATE);
    cr_assert_eq(hello(t_us + 8000)->hello.rate_hz, 500);
}

Test(wire_device, hello_by_request_alone_when_no_interval_is_set)
{
    start(0);
    cr_assert_not_null(hello(0));
    cr_assert_null(hello(UINT32_MAX));
}

Test(wire_device, one_sequence_for_all_packets_and_no_hole_for_what_was_not_sent)
{
    start(5000);
    cr_assert_eq(hello(0)->sequence, 0);
    cr_assert_eq(data(0)->sequence, 1);
    cr_assert_eq(wire_device_data(&DEVICE, &DATA, 1, OUT, 5), 0); /* no room */
    cr_assert_null(status(1));
    const struct packet *p = data(2000);
    cr_assert_eq(p->sequence, 2);
    cr_assert_eq(p->t_us, 2000);
    cr_assert_eq(p->channel_counts[0], 512);
    wire_device_restart(&DEVICE);
    cr_assert_eq(hello(2001)->sequence, 0);
    cr_assert_eq(DECODER.health.n_lost, 0);
}

Test(wire_device, stop_is_obeyed_and_said_and_so_is_start)
{
    start(0);
    hello(0);
    hear(WIRE_STOP);
    cr_assert_null(data(1));
    cr_assert_eq(status(1)->status_code, WIRE_STATUS_STOPPED);
    cr_assert_null(status(2));
    hear(WIRE_START);
    cr_assert_not_null(data(3));
    cr_assert_eq(status(3)->status_code, 0);
}

Test(wire_device, text_boards_have_no_status_and_do_not_try_for_ever)
{
    start(0);
    DEVICE.form.is_text = true;
    wire_device_set_status(&DEVICE, WIRE_STATUS_OVERRUN, true);
    cr_assert_null(status(0));
    cr_assert_eq(DEVICE.status_told, WIRE_STATUS_OVERRUN);
}

/* ---------------------------------------------------------------- a board's turn */

static struct {
    bool has_sample, has_room;
    uint32_t behind_us;
    int n_taken;
    struct packet taken[4];
} BOARD;

static bool
scan(void *context, struct packet *p, uint32_t now_us)
{
    cr_assert_eq(context, &BOARD);
    p->t_us = now_us - BOARD.behind_us;
    p->type = PACKET_SWITCHES;
    p->n_values = 1;
    p->channel_counts[0] = 512;
    return BOARD.has_sample;
}

static bool
send(void *context, const uint8_t *bytes, size_t len)
{
    cr_assert_eq(context, &BOARD);
    if (!BOARD.has_room)
        return false;
    cr_assert_eq(wire_feed(&DECODER, bytes, len, (struct host_time){ 0 }), len);
    const struct packet *p = wire_take(&DECODER);
    cr_assert(p && BOARD.n_taken < 4);
    BOARD.taken[BOARD.n_taken++] = *p;
    return true;
}

static bool
turn(uint32_t now_us, bool was_late)
{
    static const struct wire_board board = { scan, send, &BOARD };
    BOARD.n_taken = 0;
    return wire_device_turn(&DEVICE, &board, &WORDS, now_us, was_late, OUT, sizeof OUT);
}

Test(wire_device, a_turn_sends_hello_then_the_sample_both_at_the_samples_own_time)
{
    start(0);
    BOARD.has_sample = BOARD.has_room = true;
    BOARD.behind_us = 300;
    cr_expect(turn(2000, false));
    cr_assert_eq(BOARD.n_taken, 2);
    cr_expect(BOARD.taken[0].type == PACKET_HELLO && BOARD.taken[0].t_us == 1700);
    cr_expect(BOARD.taken[1].type == PACKET_SWITCHES && BOARD.taken[1].t_us == 1700);
    BOARD.has_sample = false;
    cr_expect_not(turn(4000, false));
    cr_expect_eq(BOARD.n_taken, 0, "nothing to say");
}

Test(wire_device, a_line_without_room_costs_the_sample_owes_the_hello_and_is_told)
{
    start(0);
    BOARD.has_sample = true;
    BOARD.has_room = false;
    turn(2000, false);
    BOARD.has_room = true;
    turn(4000, false);
    cr_assert_eq(BOARD.n_taken, 3);
    cr_expect_eq(BOARD.taken[0].type, PACKET_HELLO, "it was owed");
    cr_expect_eq(BOARD.taken[1].n_lost_before + BOARD.taken[0].n_lost_before, 0, "the first packets of all");
    cr_expect(BOARD.taken[2].type == PACKET_STATUS && BOARD.taken[2].status_code == WIRE_STATUS_OVERRUN);
    turn(6000, true); /* a period passed unseen: the calm begins anew */
    for (uint32_t i = 1; i <= WIRE_DEVICE_CALM_SAMPLES; i++) {
        cr_assert_eq(BOARD.n_taken, 1, "no news before it has been calm for long enough: %u", i);
        turn(6000 + 2000 * i, false);
    }
    cr_assert_eq(BOARD.n_taken, 2);
    cr_expect(BOARD.taken[1].type == PACKET_STATUS && BOARD.taken[1].status_code == 0);
}
