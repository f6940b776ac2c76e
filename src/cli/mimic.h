/* mimic.h - a simulated sensor as one object: the runner, the board, the truth, and what the display asks
 * for.
 *
 * Two ways to use it:
 *      virtual time    mimic_init(), then mimic_step() again and again: bytes for the pipeline, no clock, no
 *                      descriptor. For headless runs at full pace.
 *      real time       mimic_open_pty(), then mimic_run() in a thread or a process of its own: waits for a
 *                      reader, keeps the sensor's clock in step with this computer's, answers the host.
 *
 * Feedback: config.ask is called about ten times a simulated second, from the thread that runs the mimic; it
 * fills what the runner is shown at that moment. It must be safe to call there (a mailbox or an atomic does).
 *
 * Memory: struct mimic (about 300 kB: static or heap at start), nothing else.
 * Threads: one at a time per mimic; ask and should_stop are called in it.
 */
#ifndef CLI_MIMIC_H
#define CLI_MIMIC_H

#include "base/err.h"
#include "base/message.h"
#include "sim/board.h"
#include "sim/runner_model.h"

#include <stdio.h>

#define MIMIC_PATH_MAX 128

struct mimic_feedback {
    double cadence_spm, ahead_mm; /* targets; NAN = none */
    bool is_shown;
};

struct mimic_config {
    struct runner_config runner;
    struct board_config board;
    double seconds;    /* of simulated time; INFINITY = until stopped */
    double pace_ratio; /* mimic_run: 1 real time, 2 twice as fast, 0 as fast as it is read */
    FILE *truth;       /* a CSV row for each finished step; NULL = none; borrowed */
    void (*ask)(void *user, struct mimic_feedback *out); /* NULL = the runner is left alone */
    bool (*should_stop)(void *user);                     /* NULL = never */
    void *user;
};

struct mimic {
    struct mimic_config config;
    struct runner runner;
    struct board board;
    double asked_s;           /* when ask was last called */
    struct runner_truth last; /* newest finished step */
    uint64_t n_truths;
    struct message why;
};

/* Runner R-014 running steadily on a mat, for ever, in real time. */
struct mimic_config mimic_config_default(void);

void mimic_init(struct mimic *m, const struct mimic_config *c);

/* Next sample: > 0 bytes in *bytes (borrowed until the next call), 0 when the sample gave none (lost,
 * stopped), -1 when config.seconds are over. */
int mimic_step(struct mimic *m, const uint8_t **bytes);

/* Bytes that the host sent. */
void mimic_hear(struct mimic *m, const uint8_t *bytes, size_t len);

/* Makes a pseudo-terminal in raw mode. *fd is the board's end, path the reader's. ERR_OS: why says it. */
enum err mimic_open_pty(int *fd, char path[MIMIC_PATH_MAX], struct message *why);

/* Waits until a reader has the other end of fd open, then runs until should_stop() or config.seconds are
 * over; waits for the reader to have read all, at most two seconds. A reader that closes loses what is sent
 * meanwhile, as with a real board. Does not close fd. ERR_OS: m->why. */
enum err mimic_run(struct mimic *m, int fd);

/* The truth file's columns, and one row. */
void mimic_truth_header(FILE *f);
void mimic_truth_row(FILE *f, const struct runner_truth *t);

#endif
