#include "firmware/station.h"

#include "firmware/mcu.h"
#include "firmware/sensor.h"

#include <string.h>

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
    s->n_calm = STATION_CALM_SAMPLES;
    static const uint8_t end_of_noise = 0; /* what the line saw at power-up ends here */
    mcu_send(&end_of_noise, 1);
}

static void
note(struct station *s, bool is_dropped)
{
    if (is_dropped)
        s->n_calm = 0;
    else if (s->n_calm < STATION_CALM_SAMPLES)
        s->n_calm++;
    wire_device_set_status(&s->device, WIRE_STATUS_OVERRUN, s->n_calm < STATION_CALM_SAMPLES);
}

/* A packet that finds no room leaves a hole in the sequence: the host counts it. */
static bool
put(struct station *s, size_t len)
{
    return len == 0 || mcu_send(s->out, (uint8_t) len);
}

bool
station_turn(struct station *s)
{
    struct wire_device *d = &s->device;
    struct packet *p = &s->packet;
    uint8_t byte;
    while (mcu_hear(&byte))
        wire_device_hear(d, byte);
    uint8_t n_periods = mcu_periods();
    if (n_periods == 0)
        return false;
    s->t_us += (uint32_t) n_periods * sensor_period_us;
    bool has_sample = sensor_scan(p, s->t_us), is_sent = true;
    uint32_t sample_us = p->t_us;
    enum packet_type type = p->type;
    if (!put(s, wire_device_hello(d, p, sample_us, s->out, sizeof s->out)))
        d->owes_hello = true;
    p->type = type;
    if (has_sample)
        is_sent = put(s, wire_device_data(d, p, sample_us, s->out, sizeof s->out));
    note(s, !is_sent || n_periods > 1);
    if (!put(s, wire_device_status(d, p, sample_us, s->out, sizeof s->out)))
        d->status_told = ~d->status_code;
    return true;
}
