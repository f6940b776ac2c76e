/* wire_device.c - see the header. No floating point, no division: a small board runs this for each sample. */
#include "wire/wire_device.h"

#include <string.h>

void
wire_device_init(struct wire_device *d, const struct wire_form *form, uint32_t hello_every_us)
{
    memset(d, 0, sizeof *d);
    d->form = *form;
    d->hello_every_us = hello_every_us;
    d->is_started = true;
    d->n_calm = WIRE_DEVICE_CALM_SAMPLES;
    wire_ask_init(&d->ask);
    wire_device_restart(d);
}

void
wire_device_restart(struct wire_device *d)
{
    d->sequence = 0;
    d->owes_hello = true;
}

void
wire_device_hear(struct wire_device *d, uint8_t byte)
{
    int type = wire_ask_feed(&d->ask, byte);
    switch (type) {
    case WIRE_START:
    case WIRE_STOP:
        d->is_started = type == WIRE_START;
        wire_device_set_status(d, WIRE_STATUS_STOPPED, !d->is_started);
        break;
    case WIRE_ASK_HELLO:
    case WIRE_SET_RATE:
        d->owes_hello = true;
        break;
    default:
        break;
    }
}

void
wire_device_set_status(struct wire_device *d, uint32_t bits, bool is_on)
{
    d->status_code = is_on ? d->status_code | bits : d->status_code & ~bits;
}

static size_t
encode(struct wire_device *d, struct packet *p, uint32_t t_us, uint8_t *out, size_t cap)
{
    p->has_sequence = true;
    p->sequence = d->sequence;
    p->t_us = t_us;
    size_t len = wire_encode(p, &d->form, out, cap);
    if (len > 0)
        d->sequence++;
    return len;
}

size_t
wire_device_hello(struct wire_device *d, struct packet *p, uint32_t t_us, uint8_t *out, size_t cap)
{
    bool is_time = d->hello_every_us > 0 && t_us - d->hello_us >= d->hello_every_us;
    if (!d->owes_hello && !is_time)
        return 0;
    p->type = PACKET_HELLO;
    size_t len = encode(d, p, t_us, out, cap);
    if (len > 0) {
        d->owes_hello = false;
        d->hello_us = t_us;
    }
    return len;
}

size_t
wire_device_status(struct wire_device *d, struct packet *p, uint32_t t_us, uint8_t *out, size_t cap)
{
    if (d->status_code == d->status_told)
        return 0;
    p->type = PACKET_STATUS;
    p->status_code = d->status_code;
    size_t len = encode(d, p, t_us, out, cap);
    if (len > 0 || d->form.is_text)
        d->status_told = d->status_code;
    return len;
}

size_t
wire_device_data(struct wire_device *d, struct packet *p, uint32_t t_us, uint8_t *out, size_t cap)
{
    return d->is_started ? encode(d, p, t_us, out, cap) : 0;
}

static void
note_overrun(struct wire_device *d, bool is_dropped)
{
    if (is_dropped)
        d->n_calm = 0;
    else if (d->n_calm < WIRE_DEVICE_CALM_SAMPLES)
        d->n_calm++;
    wire_device_set_status(d, WIRE_STATUS_OVERRUN, d->n_calm < WIRE_DEVICE_CALM_SAMPLES);
}

/* A packet that finds no room leaves a hole in the sequence: the host counts it. */
static bool
put(const struct wire_board *board, const uint8_t *out, size_t len)
{
    return len == 0 || board->send(board->context, out, len);
}

bool
wire_device_turn(struct wire_device *d, const struct wire_board *board, struct packet *p, uint32_t now_us, bool was_late,
                 uint8_t *out, size_t cap)
{
    bool has_sample = board->scan(board->context, p, now_us), is_sent = true;
    uint32_t sample_us = p->t_us;
    enum packet_type type = p->type;
    if (!put(board, out, wire_device_hello(d, p, sample_us, out, cap)))
        d->owes_hello = true;
    p->type = type;
    if (has_sample)
        is_sent = put(board, out, wire_device_data(d, p, sample_us, out, cap));
    note_overrun(d, !is_sent || was_late);
    if (!put(board, out, wire_device_status(d, p, sample_us, out, cap)))
        d->status_told = ~d->status_code;
    return has_sample;
}
