/* board.h - a simulated sensor board: listens, scans the simulated runner, sends bytes through link/wire's
 * own encoder, exactly as a device would.
 *
 * In:  the runner, a sensor layout, faults, bytes from the host.   Out: bytes, one packet a sample.
 * How: its turn (scan, pack, send), what to say and what to obey are link/wire_device's, which the firmware of a real
 *      board runs too. Each sample: runner_now(), sensor_frame(), counts with faults, packets, the cable's faults. Counts: mat:
 * load / gain, 12 bits or 8; cells: load / gain, the deck's own weight taken off by the board when it starts;
 *      analog switches: 0..1023, binary 0/1. Lost packets use up a sequence number, as on a real cable.
 *
 * Device time moves only with board_step(): the same run is made in real time, paced, or as fast as possible.
 * Memory: the struct (about 100 kB: keep it static).  Threads: one at a time.  Errors: none.
 */
#ifndef SIM_BOARD_H
#define SIM_BOARD_H

#include "sim/faults.h"
#include "sim/runner_model.h"
#include "sim/sensor.h"
#include "wire/wire_device.h"

#define BOARD_MAT_FULL_KPA 500.0   /* pressure at a mat element's largest count */
#define BOARD_CELL_FULL_N  2000.0  /* load at a cell's largest count */
#define BOARD_CELL_FULL    4194304 /* half of a 24-bit converter: room for the deck */
#define BOARD_SWITCH_FULL  1023    /* a 10-bit converter */

struct board_config {
    struct sensor_layout layout;
    struct wire_form form;
    double rate_hz;
    bool is_binary_switches;
    double hello_every_s; /* under 4294 s; INFINITY = only at start and when asked */
    struct faults_config faults;
};

/* Rate 250 Hz for a mat, 1000 Hz for cells, 500 Hz for switches; binary, sparse mat; a good sensor's noise.
 */
struct board_config board_config_default(enum frame_kind kind);

struct board {
    struct board_config config;
    struct runner *runner; /* must outlive the board; stepped by it */
    struct faults faults;
    struct wire_device device; /* the same that hardware/firmware runs */
    bool was_resetting;
    int64_t n_samples;          /* since the start */
    double t_s;                 /* of the last sample */
    uint64_t n_packets, n_sent; /* made; put on the wire, repeated ones counted twice */
    struct runner_now now;      /* the runner at the last sample: truth for tests */
    struct frame ideal;         /* what a perfect sensor would have said; borrowed */
    struct frame_image image;
    struct frame_switches switches;
    struct packet packet; /* the last data packet: the counts that went out; its hello */
    uint8_t out[WIRE_ENCODED_MAX];
    size_t n_bytes; /* in bytes: of this sample */
    uint8_t bytes[3 * WIRE_ENCODED_MAX + 256];
};

void board_init(struct board *b, const struct board_config *c, struct runner *runner);

/* Bytes from the host: hello asked, start, stop, rate. */
void board_hear(struct board *b, const uint8_t *bytes, size_t len);

/* Takes the next sample. Returns how many bytes went out (0 when stopped, resetting, or lost); *bytes is
 * borrowed until the next call. b->t_s is the sample's time. */
size_t board_step(struct board *b, const uint8_t **bytes);

/* Newtons per count of a mat element, of a cell. */
double board_mat_gain_n(const struct board_config *c);
double board_cell_gain_n(void);

#endif
