/* sensor_switches.c - four resistive elements in two shoes, each the upper half of a divider, at 500 Hz.
 *
 * What limits the rate: the converter at 125 kHz (full 10 bits) takes 13 clocks, 104 us, a zone: 0.42 ms of
 * the 2 ms. The line at 115200 baud carries 11520 bytes/s; a packet of four 16-bit zones is 20 bytes: 576 a
 * second at most. So 500 Hz it is; the hello of 41 bytes every 5 s waits in the queue.
 */
#include "firmware/mcu.h"
#include "firmware/sensor.h"

#include <string.h>

#define N_ZONES 4

const uint16_t sensor_period_us = 2000;

struct wire_form
sensor_form(void)
{
    return (struct wire_form){ .bits = 16 };
}

void
sensor_describe(struct packet_hello *hello)
{
    static const char names[N_ZONES][PACKET_ZONE_NAME_MAX] = { "LH", "LF", "RH", "RF" };
    hello->kind = PACKET_KIND_SWITCHES;
    hello->full_scale_counts = 1023;
    hello->n_channels = N_ZONES;
    memcpy(hello->zone_name, names, sizeof names);
}

bool
sensor_scan(struct packet *p, uint32_t now_us)
{
    p->t_us = now_us;
    p->type = PACKET_SWITCHES;
    p->n_values = N_ZONES;
    for (uint8_t i = 0; i < N_ZONES; i++)
        p->channel_counts[i] = mcu_read(i);
    return true;
}
