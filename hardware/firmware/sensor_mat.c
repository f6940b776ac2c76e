/* sensor_mat.c - a mat of 16 rows by 8 columns of resistive elements, rows driven one at a time, columns read
 * through a multiplexer, each column with a resistor R to ground.
 *
 * What limits the rate (16 MHz):
 *      converter    at 1 MHz, the most for 8 good bits, 13 us an element, 128 of them 1.664 ms: 601 frames/s
 *      line         a dense frame of 8 bits is 141 bytes: 81 frames/s at 115200 baud, 354 at 500000, 709
 *                   at 1000000
 *      processor    one sweep runs by interrupt while the one before is solved, packed and sent: together
 *                   3.3 ms a frame with a foot on the mat (counted in the simulator): 303 frames/s
 *
 * So 500000 baud is enough, and 250 Hz it is: a sixth of the time is left to hellos and to the host's words.
 * A frame's time is its sweep's beginning; its last element is 1.65 ms younger.
 *
 * What a divider reads. All rows but one are at ground, so the column's node sees, from the supply through
 * the element's conductance g, and to ground through 1/R and all other elements of the column:
 *
 *      r_i = g_i / (1/R + sum of g)    hence    g_i R = r_i / (1 - sum of r)
 *
 * (all conductances of one column, r as a share of the supply; Kirchhoff's current law at the node). So a
 * loaded column reads low, but the sum of its own readings takes that out exactly: no ghosts, no amplifiers.
 * What remains is the drivers' resistance: a row that feeds many loaded elements sags by about its driver's
 * resistance over theirs in parallel. Counts are 255 g R: full scale at an element that is as low as R.
 */
#include "firmware/mcu.h"
#include "firmware/sensor.h"

#include <string.h>

#define N_ROWS       16
#define N_COLS       8
#define FULL_READING 1023
#define QUIET        3  /* readings under it are the converter's own noise: sixteen of them would add up */
#define LEAST_LEFT   64 /* of FULL_READING: a column that is loaded more is saturated */
#define SCALE_BITS   14
#define SATURATED    UINT16_MAX

const uint16_t sensor_period_us = 4000;

struct wire_form
sensor_form(void)
{
    return (struct wire_form){ .bits = 8 };
}

void
sensor_describe(struct packet_hello *hello)
{
    hello->kind = PACKET_KIND_MAT;
    hello->full_scale_counts = 255;
    hello->n_rows = N_ROWS;
    hello->n_cols = N_COLS;
    hello->pitch_fwd_mm = 60;
    hello->pitch_right_mm = 45;
}

/* Copies a sweep and sums each column. */
static void
take_sweep(const uint16_t *readings, uint16_t *out, uint16_t *sum)
{
    memset(sum, 0, N_COLS * sizeof *sum);
    for (uint8_t i = 0; i < N_ROWS * N_COLS; i++) {
        uint16_t r = *readings++;
        if (r < QUIET)
            r = 0;
        *out++ = r;
        sum[i % N_COLS] = (uint16_t) (sum[i % N_COLS] + r);
    }
}

/* What one count of a reading is worth in its column: 255 / (1 - sum of r), times 2^14 / 1023; at most 65280,
 * SATURATED when too little is left to divide by. Two divisions of 16 bits: one of 32 takes longer. */
static uint16_t
scale_of(uint16_t sum)
{
    if (sum > FULL_READING - LEAST_LEFT)
        return SATURATED;
    uint16_t left = (uint16_t) (FULL_READING - sum);
    return (uint16_t) ((65280U / left << 6) + (65280U % left << 6) / left);
}

/* Readings to conductances, in place. */
static void
solve(uint16_t *r, const uint16_t *sum)
{
    uint16_t scale[N_COLS];
    for (uint8_t col = 0; col < N_COLS; col++)
        scale[col] = scale_of(sum[col]);
    for (uint8_t i = 0; i < N_ROWS * N_COLS; i++, r++) {
        if (*r == 0)
            continue;
        uint32_t scaled = (uint32_t) *r * scale[i % N_COLS] + (1UL << (SCALE_BITS - 1));
        uint16_t counts =
            (uint16_t) (scaled << (16 - SCALE_BITS) >> 16); /* whole words: no shift by single bits */
        *r = counts > 255 || scale[i % N_COLS] == SATURATED ? 255 : counts;
    }
}

/* The sweep that was begun a period ago is over: it is copied out, and the next one runs while this is
 * packed. */
bool
sensor_scan(struct packet *p, uint32_t now_us)
{
    static uint16_t readings[N_ROWS * N_COLS];
    static uint32_t swept_us;
    static bool is_swept;
    uint16_t sum[N_COLS];
    bool is_over = is_swept && mcu_sweep_is_over();
    p->t_us = swept_us;
    if (is_over)
        take_sweep(readings, p->mat_counts, sum);
    if (is_over || !is_swept) {
        mcu_sweep(readings);
        swept_us = now_us;
        is_swept = true;
    }
    if (!is_over)
        return false;
    p->type = PACKET_MAT;
    p->n_rows = N_ROWS;
    p->n_cols = N_COLS;
    p->n_values = N_ROWS * N_COLS;
    solve(p->mat_counts, sum);
    return true;
}
