/* station.h - the firmware on a board: waits for the sampling clock and takes the wire's turn each period.
 *
 * How: scan, pack, send and what the host may ask are link/wire_device's, the same code that the simulated board runs;
 *      here it meets the pins (sensor.h) and the line (mcu.h). Samples are whole numbers of sampling periods apart, so
 *      that step times hold the crystal's accuracy whatever the loop is busy with.
 *
 * Memory: the struct, under 1 kB with a mat of 128 elements. One at a time.
 */
#ifndef FIRMWARE_STATION_H
#define FIRMWARE_STATION_H

#include "wire/wire_device.h"

#define STATION_PACKET_MAX     224 /* bytes on the wire: 128 elements of 12 bits are 205 */
#define STATION_HELLO_EVERY_US UINT32_C(5000000)

struct station {
    struct wire_device device;
    struct packet packet;
    uint32_t t_us;
    uint8_t out[STATION_PACKET_MAX];
};

void station_init(struct station *s);

/* Once round; returns at once when no sample is due. True when a period was served. */
bool station_turn(struct station *s);

#endif
