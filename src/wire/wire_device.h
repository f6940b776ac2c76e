/* wire_device.h - the board's side of the wire: its turn (scan, pack, send), when it says hello, what it obeys, how its
 * packets count.
 *
 * In:  a board (a real one, or the simulated one) that scans its sensor and sends bytes; bytes from the host.
 * Out: bytes for the line.
 * How: a hello at the start, when it is asked for, and every hello_every_us, so that a reader that comes
 *      late can read on; data from the start until told to stop; a status whenever its bits change. One
 *      sequence number for all of them.
 *
 *      case 1   a period passes unseen, or the line has no room      dropped, its time passes, the overrun
 *                                                                    bit is told          (test: overrun)
 *      case 2   the line is free again for WIRE_DEVICE_CALM_SAMPLES  the bit is taken back (test: overrun)
 *
 * Portable: hardware/firmware compiles this file for an 8-bit processor, sim/board.c for the simulated
 * sensor: what differs is who scans and who sends. The caller keeps one struct packet and its hello; time comes in as
 * an argument.
 * Memory: the struct.  Threads: one at a time; a board hears outside of its interrupts.  Errors: none.
 */
#ifndef WIRE_WIRE_DEVICE_H
#define WIRE_WIRE_DEVICE_H

#include "wire/wire.h"

#define WIRE_DEVICE_CALM_SAMPLES 1000

struct wire_device {
    struct wire_form form;
    struct wire_ask ask;
    uint32_t hello_every_us; /* 0: only at the start and when asked */
    uint32_t hello_us;       /* of the last one */
    uint32_t status_code, status_told;
    uint16_t n_calm; /* samples since the last dropped one */
    bool is_started, owes_hello;
    uint8_t sequence; /* of the next packet */
};

void wire_device_init(struct wire_device *d, const struct wire_form *form, uint32_t hello_every_us);

/* As after a reset: sequence 0, a hello first. What the host asked for stays. */
void wire_device_restart(struct wire_device *d);

/* One byte from the host: hello asked, start, stop. A rate is not obeyed: the next hello says the real one.
 */
void wire_device_hear(struct wire_device *d, uint8_t byte);

/* A board, as its turn wants it. */
struct wire_board {
    /* Fills p's type, values and t_us with the newest whole sample, whose time may be before now_us. False: none. */
    bool (*scan)(void *context, struct packet *p, uint32_t now_us);
    /* Takes the bytes of a packet (copied), all or none: false when there is no room. */
    bool (*send)(void *context, const uint8_t *bytes, size_t len);
    void *context;
};

/* One sampling period: hello if one is due, the sample, the status if it changed. p: the caller's one packet, its hello
 * filled. was_late: periods passed unseen before this one. out: cap bytes to pack in. True: there was a sample. */
bool wire_device_turn(struct wire_device *d, const struct wire_board *board, struct packet *p, uint32_t now_us, bool was_late,
                      uint8_t *out, size_t cap);

/* Sets or clears bits of enum wire_status. */
void wire_device_set_status(struct wire_device *d, uint32_t bits, bool is_on);

/* The hello in p->hello, if one is due at t_us; sets p's type, sequence and time. Returns its length in out,
 * 0 when none is due or cap is too small (then it stays due). */
size_t wire_device_hello(struct wire_device *d, struct packet *p, uint32_t t_us, uint8_t *out, size_t cap);

/* The status, if its bits changed; likewise. Text cannot carry it: 0. */
size_t wire_device_status(struct wire_device *d, struct packet *p, uint32_t t_us, uint8_t *out, size_t cap);

/* The data in p (type and values are the caller's); sets sequence and time. 0 when stopped. */
size_t wire_device_data(struct wire_device *d, struct packet *p, uint32_t t_us, uint8_t *out, size_t cap);

#endif
