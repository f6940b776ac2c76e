/* needs: link/wire_device.c link/wire_ask.c link/wire_binary.c link/wire_cobs.c link/wire_encode.c */
/* needs: link/wire.c link/wire_text.c link/wire_text_write.c */
#include "link/wire_device.h"

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
