/* mcu.h - what the firmware wants of a processor and its board. mcu_m328p.c is one; a port to another board
 * is another file with these functions. Tests have one of their own.
 *
 * Nothing here allocates; nothing but mcu_read() and mcu_rest() waits.
 */
#ifndef FIRMWARE_MCU_H
#define FIRMWARE_MCU_H

#include <stdbool.h>
#include <stdint.h>

/* Pins, converter, line and clock; the sampling clock runs from here on. */
void mcu_start(void);

/* Sampling periods that have begun since the last call. */
uint8_t mcu_periods(void);

/* Sleeps until something has happened: a period began, the host spoke, a byte went out. May return early. */
void mcu_rest(void);

/* Converts one analog input: 0..1023, as a share of the supply. */
uint16_t mcu_read(uint8_t input);

/* Begins to read everything, in the background; readings must outlive it.
 * Mat: all elements, row by row: each row driven, the others at ground, each column led to input 0.
 * Cells: four rounds of inputs 0 to 3, mcu_burst_input() says which when; in round k the amplifiers'
 * reference is lifted by k quarters of the converter's step. */
void mcu_sweep(uint16_t *readings);
bool mcu_sweep_is_over(void);

/* Cells: the input of the i-th reading; there and back: 0 1 2 3 3 2 1 0 ... */
static inline uint8_t
mcu_burst_input(uint8_t i)
{
    return (uint8_t) ((i & 4 ? ~i : i) & 3);
}

/* Hands bytes (copied) to the line; false when there is no room for all, then none is sent. */
bool mcu_send(const uint8_t *bytes, uint8_t len);

/* One byte that the host sent; false when there is none. */
bool mcu_hear(uint8_t *byte);

#endif
