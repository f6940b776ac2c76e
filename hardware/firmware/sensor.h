/* sensor.h - what is wired to the board: sensor_switches.c, sensor_mat.c or sensor_cells.c, one of them in a
 * firmware.
 *
 * Portable: reaches the pins through mcu.h only. Plain C11, integers, no allocation.
 */
#ifndef FIRMWARE_SENSOR_H
#define FIRMWARE_SENSOR_H

#include "wire/packet.h"
#include "wire/wire.h"

extern const uint16_t sensor_period_us; /* between samples; fits the line and the converter */

/* How its packets are coded. */
struct wire_form sensor_form(void);

/* Fills what the board says of itself. */
void sensor_describe(struct packet_hello *hello);

/* Called at the start of each sampling period, at now_us. Fills p's type, values and t_us with the newest
 * whole sample, whose time may be one period back. False when there is none yet. */
bool sensor_scan(struct packet *p, uint32_t now_us);

#endif
