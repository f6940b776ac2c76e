/* station.h - the firmware's loop: wait for the sampling clock, scan, pack, send; listen in between.
 *
 * How: packing, the hello and what the host may ask are link/wire_device, the same code that the simulated
 *      board runs. Samples are whole numbers of sampling periods apart, so that step times hold the
 *      crystal's accuracy whatever the loop is busy with.
 *
 *      case 1   a period passes unseen, or the line has no room     dropped, its time passes, the overrun
 *                                                                   bit is told          (test: overrun)
 *      case 2   the line is free again for STATION_CALM_SAMPLES     the bit is taken back (test: overrun)
 *
 * Memory: the struct, under 1 kB with a mat of 128 elements. One at a time.
 */
#ifndef FIRMWARE_STATION_H
#define FIRMWARE_STATION_H

#include "link/wire_device.h"

#define STATION_PACKET_MAX     224 /* bytes on the wire: 128 elements of 12 bits are 205 */
#define STATION_HELLO_EVERY_US UINT32_C(5000000)
#define STATION_CALM_SAMPLES   1000

struct station {
    struct wire_device device;
    struct packet packet;
    uint32_t t_us;
    uint16_t n_calm; /* samples since the last dropped one */
    uint8_t out[STATION_PACKET_MAX];
};

void station_init(struct station *s);

/* Once round; returns at once when no sample is due. True when it took one. */
bool station_turn(struct station *s);

#endif
