/* sensor_cells.c - four load cells, each a bridge with an amplifier of its own, at 500 Hz.
 *
 * What limits the rate (16 MHz):
 *      converter    at 125 kHz (full 10 bits) a conversion takes 13 clocks, and one that is started by hand
 *                   waits for the next clock: 14, 112 us. 16 of them, four of each cell, are 1.79 ms: 558 a
 *                   second
 *      line         a packet of four cells is 27 bytes: 426 a second at 115200 baud, 1851 at 500000
 *      processor    0.6 ms a sample, interrupts and all (counted in the simulator), while the next one is
 *                   converted
 *
 * So 500 Hz it is, at 500000 baud: every figure of a cell counts as measured from 250 Hz on. 1000 Hz would
 * leave two readings of each cell, a coarser force, for 0.4 % of the transient's time and less of everything
 * else (tests/VALIDITY.md, down-sampling).
 *
 * One instant. The cells share a converter, but are read there and back, 0 1 2 3 3 2 1 0 0 1 2 3 3 2 1 0: the
 * mean time of each cell's four readings is the same, the burst's middle. That is the time the packet bears:
 * a force that rises is not mistaken for a centre of pressure that moves.
 *
 * Finer than a step. The amplifier is too quiet for the sum of equal readings to say more than one of them.
 * So the board lifts all amplifiers' reference by 0, 1, 2 and 3 quarters of a converter's step from round to
 * round; with x the input in steps, whatever it is,
 *
 *      floor(x) + floor(x + 1/4) + floor(x + 2/4) + floor(x + 3/4) = floor(4 x)
 *
 * (Hermite's identity): the sum is a reading of 12 bits. In newtons: hardware/load-cells.md.
 */
#include "firmware/mcu.h"
#include "firmware/sensor.h"

#define N_CELLS    4
#define N_READINGS 16
#define FULL       4040 /* 4.93 V of 5: amplifiers end 50 mV below their supply, short of the converter's end */
#define MIDDLE_US  892 /* after a period begins: 40 to the burst, 7.5 conversions, 12 to the hold */

const uint16_t sensor_period_us = 2000;

struct wire_form
sensor_form(void)
{
    return (struct wire_form){ 0 };
}

void
sensor_describe(struct packet_hello *hello)
{
    hello->kind = PACKET_KIND_CELLS;
    hello->full_scale_counts = FULL;
    hello->n_channels = N_CELLS;
}

static void
add_up(const uint16_t *readings, struct packet *p)
{
    uint16_t sum[N_CELLS] = { 0 };
    for (uint8_t i = 0; i < N_READINGS; i++) {
        uint8_t cell = mcu_burst_input(i);
        sum[cell] = (uint16_t) (sum[cell] + readings[i]);
    }
    for (uint8_t cell = 0; cell < N_CELLS; cell++)
        p->channel_counts[cell] = sum[cell] < FULL ? sum[cell] : FULL;
}

/* The burst that was begun a period ago is over: it is added up, and the next one runs while this is packed.
 */
bool
sensor_scan(struct packet *p, uint32_t now_us)
{
    static uint16_t readings[N_READINGS];
    static uint32_t begun_us;
    static bool is_begun;
    bool is_over = is_begun && mcu_sweep_is_over();
    p->t_us = begun_us + MIDDLE_US;
    if (is_over)
        add_up(readings, p);
    if (is_over || !is_begun) {
        mcu_sweep(readings);
        begun_us = now_us;
        is_begun = true;
    }
    p->type = PACKET_CELLS;
    p->n_values = N_CELLS;
    return is_over;
}
