/* The firmware's portable part on this computer, with a board that is made of arrays: what is sent when, what
 * happens when the line is full or the loop is late, and the mat's arithmetic against Kirchhoff's law.
 * Built three times: with the switches' sensor, with the mat's (TEST_MAT), with the cells' (TEST_CELLS). */
#include "firmware/mcu.h"
#include "firmware/sensor.h"
#include "firmware/station.h"
#include "wire/wire.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#define N_ELEMENTS 128

static struct {
    uint8_t periods, heard[128], sent[4096];
    size_t n_heard, n_taken, n_sent, room;
    double volts[N_ELEMENTS]; /* share of the supply */
} BOARD;
static struct station STATION;
static struct wire_decoder DECODER;

void
mcu_start(void)
{
}

uint8_t
mcu_periods(void)
{
    uint8_t n = BOARD.periods;
    BOARD.periods = 0;
    return n;
}

void
mcu_rest(void)
{
}

uint16_t
mcu_read(uint8_t input)
{
    return (uint16_t) (1023 * BOARD.volts[input] + 0.5);
}

void
mcu_sweep(uint16_t *readings)
{
#ifdef TEST_CELLS
    static const int input[16] = { 0, 1, 2, 3, 3, 2, 1, 0, 0, 1, 2, 3, 3, 2, 1, 0 };
    for (int i = 0; i < 16; i++)
        readings[i] = (uint16_t) fmin(1023, floor(1024 * BOARD.volts[input[i]] + 0.25 * (i / 4)));
#else
    for (int i = 0; i < N_ELEMENTS; i++)
        readings[i] = (uint16_t) (1023 * BOARD.volts[i] + 0.5);
#endif
}

bool
mcu_sweep_is_over(void)
{
    return true;
}

bool
mcu_send(const uint8_t *bytes, uint8_t len)
{
    if (len > BOARD.room)
        return false;
    cr_assert_leq(BOARD.n_sent + len, sizeof BOARD.sent);
    memcpy(BOARD.sent + BOARD.n_sent, bytes, len);
    BOARD.n_sent += len;
    return true;
}

bool
mcu_hear(uint8_t *byte)
{
    if (BOARD.n_taken == BOARD.n_heard)
        return false;
    *byte = BOARD.heard[BOARD.n_taken++];
    return true;
}

static void
start(void)
{
    memset(&BOARD, 0, sizeof BOARD);
    BOARD.room = SIZE_MAX;
    wire_init(&DECODER);
    station_init(&STATION);
}

/* Lets periods pass and returns the last packet that came; NULL without one. */
static const struct packet *
pass(uint8_t n_periods)
{
    static struct packet last;
    bool has_one = false;
    BOARD.periods = n_periods;
    BOARD.n_sent = 0;
    station_turn(&STATION);
    for (size_t at = 0; at < BOARD.n_sent;) {
        at += wire_feed(&DECODER, BOARD.sent + at, BOARD.n_sent - at, (struct host_time){ 0 });
        const struct packet *p = wire_take(&DECODER);
        if (p) {
            last = *p;
            has_one = true;
        }
    }
    return has_one ? &last : NULL;
}

Test(station, says_hello_first_and_then_a_sample_each_period, .init = start)
{
    cr_assert_null(pass(0));
    pass(1);
    cr_assert(DECODER.has_hello);
    cr_assert_float_eq(DECODER.hello.rate_hz, 1e6 / sensor_period_us, 1e-3);
    uint32_t last_us = 0;
    for (int i = 0; i < 300; i++) {
        const struct packet *p = pass(1);
        cr_assert_not_null(p);
        if (i > 0)
            cr_assert_eq(p->t_us - last_us, sensor_period_us);
        last_us = p->t_us;
    }
    cr_assert_eq(DECODER.health.n_lost, 0);
    cr_assert_eq(DECODER.health.n_bad_crc + DECODER.health.n_malformed, 0);
}

Test(station, overrun_is_told_counted_by_the_sequence_and_taken_back, .init = start)
{
    pass(1);
    pass(1);
    BOARD.room = 0;
    cr_assert_null(pass(1));
    BOARD.room = SIZE_MAX;
    const struct packet *p = pass(1); /* data, then the status */
    cr_assert_eq(p->type, PACKET_STATUS);
    cr_assert_eq(p->status_code, WIRE_STATUS_OVERRUN);
    cr_assert_gt(DECODER.health.n_lost, 0);
    for (int i = 0; i < WIRE_DEVICE_CALM_SAMPLES - 2; i++)
        cr_assert_neq(pass(1)->type, PACKET_STATUS);
    p = pass(1);
    cr_assert_eq(p->type, PACKET_STATUS);
    cr_assert_eq(p->status_code, 0);
}

Test(station, a_loop_that_was_late_keeps_the_time_and_says_so, .init = start)
{
    pass(1);
    uint32_t before_us = pass(1)->t_us;
    const struct packet *p = pass(3);
    cr_assert_eq(p->type, PACKET_STATUS);
    cr_assert_eq(pass(1)->t_us - before_us, 4U * sensor_period_us);
}

Test(station, obeys_stop_and_start, .init = start)
{
    pass(1);
    pass(1);
    BOARD.n_heard = wire_encode_ask(WIRE_STOP, 0, 0, BOARD.heard, sizeof BOARD.heard);
    cr_assert_eq(pass(1)->type, PACKET_STATUS);
    cr_assert_null(pass(1));
    BOARD.n_taken = 0;
    BOARD.n_heard = wire_encode_ask(WIRE_START, 0, 0, BOARD.heard, sizeof BOARD.heard);
    pass(1);
    cr_assert_neq(pass(1)->type, PACKET_STATUS);
}

#ifdef TEST_CELLS
Test(cells, four_readings_of_a_quiet_cell_are_four_times_as_fine_as_one, .init = start)
{
    pass(1);
    for (int i = 0; i < 4000; i += 3) {
        for (int cell = 0; cell < 4; cell++)
            BOARD.volts[cell] = (i + cell + 0.3) / 4096;
        pass(1); /* the burst that ends now began before */
        const struct packet *p = pass(1);
        cr_assert_eq(p->type, PACKET_CELLS);
        cr_assert_eq(p->n_values, 4);
        for (int cell = 0; cell < 4; cell++)
            cr_assert_eq(p->channel_counts[cell], i + cell, "cell %d: %d", cell,
                         (int) p->channel_counts[cell]);
    }
}

Test(cells, an_amplifier_at_its_end_is_full_scale_and_no_count_goes_beyond, .init = start)
{
    BOARD.volts[0] = 4.95 / 5;
    BOARD.volts[1] = 1.2;
    BOARD.volts[2] = 4.92 / 5;
    pass(1);
    const struct packet *p = pass(1);
    cr_assert_eq(p->channel_counts[0], DECODER.hello.full_scale_counts);
    cr_assert_eq(p->channel_counts[1], DECODER.hello.full_scale_counts);
    cr_assert_lt(p->channel_counts[2], DECODER.hello.full_scale_counts);
}
#endif

#ifdef TEST_MAT
#define N_ROWS 16
#define N_COLS 8

/* Volts of a column's node by Kirchhoff's current law, R = 1: selected row at the supply, the others at
 * ground. */
static void
wire_up(const double *g)
{
    for (int col = 0; col < N_COLS; col++) {
        double sum = 1;
        for (int row = 0; row < N_ROWS; row++)
            sum += g[row * N_COLS + col];
        for (int row = 0; row < N_ROWS; row++)
            BOARD.volts[row * N_COLS + col] = g[row * N_COLS + col] / sum;
    }
}

/* A reading is off by half a count at most; what that does to the answer, by the two derivatives. */
static double
tolerance_counts(const double *g, int i)
{
    double load = 1, half = 0.5 / 1023;
    for (int row = 0; row < N_ROWS; row++)
        load += g[row * N_COLS + i % N_COLS];
    return 255 * (half * load + g[i] * load * N_ROWS * half) + 0.6;
}

Test(mat, counts_are_conductances_whatever_else_the_column_carries, .init = start)
{
    uint32_t random = 12345;
    for (int round = 0; round < 200; round++) {
        double g[N_ELEMENTS];
        for (int i = 0; i < N_ELEMENTS; i++) {
            random = random * 1664525 + 1013904223;
            g[i] = (random >> 16 & 3) == 0 ? 0.05 + 0.95 * (random >> 24) / 255 : 0;
        }
        wire_up(g);
        pass(1);
        const struct packet *p = pass(1);
        for (int i = 0; i < N_ELEMENTS; i++)
            cr_assert_float_eq(p->mat_counts[i], 255 * g[i], tolerance_counts(g, i),
                               "element %d: %d counts for %.2f", i, p->mat_counts[i], 255 * g[i]);
    }
}

Test(mat, an_element_of_the_column_s_resistor_is_full_scale_and_no_count_goes_beyond, .init = start)
{
    double g[N_ELEMENTS] = { 0 };
    g[11] = 1;
    g[12] = 50;
    for (int row = 0; row < N_ROWS; row++)
        g[row * N_COLS + 7] = 5;
    wire_up(g);
    pass(1);
    const struct packet *p = pass(1);
    cr_assert_float_eq(p->mat_counts[11], 255, 1);
    cr_assert_eq(p->mat_counts[12], 255);
    cr_assert_eq(p->mat_counts[7], 255);
    cr_assert_eq(p->mat_counts[13], 0);
}

Test(mat, noise_of_the_converter_is_no_load, .init = start)
{
    for (int i = 0; i < N_ELEMENTS; i++)
        BOARD.volts[i] = (i % 3) / 1023.0;
    pass(1);
    const struct packet *p = pass(1);
    for (int i = 0; i < N_ELEMENTS; i++)
        cr_assert_eq(p->mat_counts[i], 0);
}
#endif
