#include "firmware/station.h"

#include "firmware/mcu.h"
#include "firmware/sensor.h"

#include <string.h>

static bool
scan(void *context, struct packet *p, uint32_t now_us)
{
    (void) context;
    return sensor_scan(p, now_us);
}

static bool
send(void *context, const uint8_t *bytes, size_t len)
{
    (void) context;
    return mcu_send(bytes, (uint8_t) len);
}

void
station_init(struct station *s)
{
    struct wire_form form = sensor_form();
    memset(s, 0, sizeof *s);
    wire_device_init(&s->device, &form, STATION_HELLO_EVERY_US);
    sensor_describe(&s->packet.hello);
    s->packet.hello.version_major = WIRE_VERSION_MAJOR;
    s->packet.hello.version_minor = WIRE_VERSION_MINOR;
    s->packet.hello.rate_hz = 1e6 / sensor_period_us;
    static const uint8_t end_of_noise = 0; /* what the line saw at power-up ends here */
    mcu_send(&end_of_noise, 1);
}

bool
station_turn(struct station *s)
{
    static const struct wire_board board = { scan, send, 0 };
    uint8_t byte;
    while (mcu_hear(&byte))
        wire_device_hear(&s->device, byte);
    uint8_t n_periods = mcu_periods();
    if (n_periods == 0)
        return false;
    s->t_us += (uint32_t) n_periods * sensor_period_us;
    wire_device_turn(&s->device, &board, &s->packet, s->t_us, n_periods > 1, s->out, sizeof s->out);
    return true;
}
