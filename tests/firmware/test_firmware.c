/* The built firmware in a simulated processor: a simulated runner's loads are driven into its converter as
 * volts, its line goes through a pseudo-terminal into `underfoot live`, and what the store holds afterwards
 * is compared with what was driven. Processor time runs up to four times as fast as the clock.
 *
 * Exit code 77 (skipped) when there is no simavr, or no built firmware, here. */
#ifndef HAS_SIMAVR

#include <stdio.h>

int
main(void)
{
    puts("simavr is not installed (libsimavr-dev)");
    return 77;
}

#else

#include "aid/process.h"
#include "aid/store_rig.h"
#include "base/monotime.h"
#include "cli/mimic.h"
#include "firmware/avr_board.h"
#include "sim/cast.h"
#include "sim/sensor.h"
#include "store/store.h"
#include "wire/wire.h"

#include <criterion/criterion.h>
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#define RUN_S          25.0
#define PACE           4.0
#define SLICE_S        0.005
#define LOOK_S         0.0001 /* how finely the driven loads are looked at for their truth */
#define IMAGE_S        0.0002 /* how long the mat's picture stands */
#define MAX_STEPS      200
#define N_ROWS         16
#define N_COLS         8
#define ON_RATIO       0.5 /* profiles/sensors/switches-4.ini */
#define OFF_RATIO      0.3
#define FULL_N         800.0 /* load of a mat element whose conductance is 1/R */
#define MASS_KG        70.0
/* hardware/load-cells.md: bridge, amplifier, reference. */
#define CELL_V_PER_N   1e-3
#define CELL_ZERO_V    (AVR_BOARD_VOLTS / 10.1)
#define CELL_LIFT_V    1.25e-3 /* of a quarter of a step, by the resistors that there are */
#define CELL_ENDS_V    0.05    /* of the amplifier, from either supply */
#define CELL_MIDDLE_US 892     /* a sample's time after its period's beginning */
#define CELL_N_PER_BIT (AVR_BOARD_VOLTS / 4096 / CELL_V_PER_N)

/* One contact that was driven. */
struct driven {
    bool is_right;
    double down_s, up_s, peak_bw, ahead_mm; /* the last two by the runner's truth; NAN for switches */
};

static struct world {
    struct runner runner;
    struct sensor_layout layout;
    struct frame_image image;
    struct frame_switches switches;
    double looked_s, image_s;
    bool is_empty;                 /* nobody on the cells */
    bool is_down[FRAME_MAX_ZONES]; /* zones, by the driven load */
    double down_s[2];              /* feet; NAN: up */
    struct driven driven[MAX_STEPS];
    int n_driven;
    double column_sum[N_COLS]; /* conductances over 1/R */
} W;

static struct avr_board BOARD;
static struct rig {
    struct store_rig files;
    struct process live;
    int port, line; /* the board's end; the program's, to see what it has not read yet */
    char path[MIMIC_PATH_MAX], record_path[128], profile_path[128];
    int n_steps;
    struct coached_step step[MAX_STEPS];
    char text[1 << 16];
} R;

/* ------------------------------------------------------------------ what is driven */

static void
world_init(enum frame_kind kind)
{
    struct runner_config c = runner_config_default();
    c.style.speed_m_s = 2.3;
    c.style.cadence_spm = 162;
    c.style.place_fwd_mm = 170; /* a mat of 960 mm holds the whole contact */
    c.truth_threshold_n = 50;   /* the engine's own */
    runner_init(&W.runner, &c);
    W.layout = sensor_layout_default(kind);
    W.layout.n_rows = N_ROWS;
    W.layout.n_cols = N_COLS;
    W.layout.pitch_fwd_mm = 60;
    W.layout.pitch_right_mm = 45;
    W.layout.origin_fwd_mm = -(N_ROWS - 1) / 2.0 * 60;
    W.layout.origin_right_mm = -(N_COLS - 1) / 2.0 * 45;
    W.down_s[0] = W.down_s[1] = NAN;
    W.image_s = -1;
}

static void
foot_changes(int foot, bool is_down, double t_s)
{
    if (is_down && isnan(W.down_s[foot])) {
        W.down_s[foot] = t_s;
    } else if (!is_down && !isnan(W.down_s[foot])) {
        cr_assert_lt(W.n_driven, MAX_STEPS);
        W.driven[W.n_driven++] = (struct driven){ foot == 1, W.down_s[foot], t_s, NAN, NAN };
        W.down_s[foot] = NAN;
    }
}

/* A foot is down from the first zone's reaching ON_RATIO until its last zone is below OFF_RATIO: what a
 * switch of that kind means by contact, seen twenty times as finely as the board samples. */
static void
look_at_switches(double until_s)
{
    for (; W.looked_s < until_s; W.looked_s += LOOK_S) {
        struct runner_now now;
        struct frame frame;
        bool is_down[2] = { false, false };
        runner_now(&W.runner, W.looked_s, &now);
        sensor_frame(&W.layout, &now, 0, NULL, &W.switches, &frame);
        for (int z = 0; z < W.layout.n_zones; z++) {
            W.is_down[z] = W.switches.load[z] >= (W.is_down[z] ? OFF_RATIO : ON_RATIO);
            is_down[W.layout.is_right[z]] |= W.is_down[z];
        }
        foot_changes(0, is_down[0], W.looked_s);
        foot_changes(1, is_down[1], W.looked_s);
    }
}

static double
switch_volts(void *user, double t_s, int input, int row, int col)
{
    (void) user, (void) row, (void) col;
    look_at_switches(t_s);
    return input < W.layout.n_zones ? W.switches.load[input] * AVR_BOARD_VOLTS : 0;
}

/* Total force over a threshold; the body's own truth. */
static void
look_at_runner(void)
{
    struct runner_truth truth;
    while (runner_take(&W.runner, &truth)) {
        cr_assert_lt(W.n_driven, MAX_STEPS);
        W.driven[W.n_driven++] = (struct driven){ truth.foot == STEP_FOOT_RIGHT, truth.down_s, truth.up_s,
                                                  truth.peak_force_bw, truth.landing_ahead_mm };
    }
}

static double
mat_volts(void *user, double t_s, int input, int row, int col)
{
    (void) user;
    if (t_s - W.image_s >= IMAGE_S) {
        struct runner_now now;
        struct frame frame;
        runner_now(&W.runner, t_s, &now);
        sensor_frame(&W.layout, &now, 0, &W.image, NULL, &frame);
        W.image_s = t_s;
        memset(W.column_sum, 0, sizeof W.column_sum);
        for (int i = 0; i < N_ROWS * N_COLS; i++)
            W.column_sum[i % N_COLS] += (double) W.image.load_n[i] / FULL_N;
        look_at_runner();
    }
    double g = (double) W.image.load_n[row * N_COLS + col] / FULL_N;
    return input == 0 ? AVR_BOARD_VOLTS * g / (1 + W.column_sum[col]) : 0;
}

/* The deck's balance of moments for the force and its place, which the belt carries; the treadmill's own
 * weight, and bridges that are not quite balanced. */
static double
cell_volts(void *user, double t_s, int input, int row, int col)
{
    static const double empty_n[4] = { 230, 195, 260, 240 };
    struct runner_now now;
    double load_n[SENSOR_MAX_CELLS] = { 0 };
    (void) user, (void) row;
    if (input >= W.layout.n_cells)
        return 0;
    if (!W.is_empty) {
        runner_now(&W.runner, t_s, &now);
        look_at_runner();
    }
    if (!W.is_empty && now.force_n > 0)
        sensor_cell_loads(&W.layout, now.force_n, now.cop_fwd_mm, now.cop_right_mm, load_n);
    double volts = CELL_ZERO_V + CELL_LIFT_V * (col & 3) + CELL_V_PER_N * (load_n[input] + empty_n[input]);
    return fmin(fmax(volts, CELL_ENDS_V), AVR_BOARD_VOLTS - CELL_ENDS_V);
}

/* ------------------------------------------------------------------ board and program */

static void
make_rig(void)
{
    cr_assert_eq(store_rig_make(&R.files), 0);
    snprintf(R.record_path, sizeof R.record_path, "%s/visit.rec", R.files.folder);
    snprintf(R.profile_path, sizeof R.profile_path, "%s/mat.ini", R.files.folder);
    R.port = R.line = -1;
}

static void
close_port(void)
{
    if (R.line >= 0)
        close(R.line);
    if (R.port >= 0)
        close(R.port);
    R.port = R.line = -1;
}

static void
remove_rig(void)
{
    process_signal(&R.live, SIGKILL);
    process_wait(&R.live, 1000);
    close_port();
    avr_board_destroy(&BOARD);
    store_rig_remove(&R.files);
}

TestSuite(firmware, .init = make_rig, .fini = remove_rig, .timeout = 500);

static void
load_firmware(const char *kind, double (*volts)(void *, double, int, int, int))
{
    char path[512];
    snprintf(path, sizeof path, "%s/%s.elf", FIRMWARE_DIR, kind);
    if (access(path, R_OK) != 0) {
        fprintf(stderr, "skipped: %s is not built (gcc-avr)\n", path);
        cr_skip_test("no firmware");
    }
    cr_assert(avr_board_init(&BOARD, path), "%s can't be loaded", path);
    BOARD.volts = volts;
}

static void
write_all(const uint8_t *bytes, size_t len)
{
    while (len > 0) {
        ssize_t n = write(R.port, bytes, len);
        if (n < 0) {
            cr_assert_eq(errno, EAGAIN);
            struct pollfd p = { .fd = R.port, .events = POLLOUT };
            cr_assert_eq(poll(&p, 1, 5000), 1, "the program reads no more");
            continue;
        }
        bytes += n;
        len -= (size_t) n;
    }
}

/* The board's line to the pseudo-terminal and back, until a time of the board. */
static void
bridge(double until_s)
{
    const struct host_time start = monotime_now();
    for (double t_s = SLICE_S; t_s <= until_s; t_s += SLICE_S) {
        uint8_t heard[64];
        cr_assert(avr_board_run(&BOARD, t_s), "the processor stopped");
        write_all(BOARD.bytes, BOARD.n_bytes);
        BOARD.n_bytes = 0;
        ssize_t n = read(R.port, heard, sizeof heard);
        if (n > 0)
            cr_assert(avr_board_hear(&BOARD, heard, (size_t) n));
        int64_t early_us = units_us_from_s(t_s / PACE) - units_host_since_us(monotime_now(), start);
        if (early_us > 0)
            monotime_sleep_us(early_us);
    }
}

static bool
keep_step(void *context, const struct coached_step *step)
{
    (void) context;
    cr_assert_lt(R.n_steps, MAX_STEPS);
    R.step[R.n_steps++] = *step;
    return true;
}

static void
load_steps(void)
{
    struct store s;
    cr_assert_eq(store_open(&s, R.files.path, 0), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_steps(&s, 1, keep_step, NULL), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
}

/* Holds the board's time until the program asks it for its hello: a busy computer may take a second to start
 * the program, and what the board did before would be missing. */
static void
wait_for_reader(void)
{
    for (int i = 0; i < 1000; i++) {
        struct pollfd p = { .fd = R.port, .events = POLLIN };
        if (poll(&p, 1, 0) > 0 && (p.revents & POLLIN))
            return;
        monotime_sleep_us(10000);
    }
    cr_assert(false, "nobody asks at the port: %s", process_read(R.live.err_path, R.text, sizeof R.text));
}

/* Until the program has taken all that was written: on a busy computer the last seconds of the run may still
 * wait in the line, and would be missing. */
static void
wait_until_read(void)
{
    int n_empty = 0;
    for (int i = 0; i < 1000 && n_empty < 10; i++) {
        int n = 0;
        cr_assert_eq(ioctl(R.line, FIONREAD, &n), 0);
        n_empty = n == 0 ? n_empty + 1 : 0; /* it fills up again from behind */
        monotime_sleep_us(10000);
    }
    cr_assert_eq(n_empty, 10, "the program reads no more");
}

static void
open_port(void)
{
    struct message why;
    close_port();
    cr_assert_eq(mimic_open_pty(&R.port, R.path, &why), ERR_OK, "%s", message_english(&why));
    R.line = open(R.path, O_RDONLY | O_NOCTTY | O_NONBLOCK); /* before the program, which may want it alone */
    cr_assert_geq(R.line, 0);
}

/* The board before the run, nobody on it: its time is gone again afterwards. */
static void
calibrate_zero(const char *profile)
{
    const char *argv[] = { process_program(), "calibrate", "zero",      "--port", R.path,
                           "--profile",       profile,     "--seconds", "1.5",    NULL };
    open_port();
    cr_assert(process_start(&R.live, R.files.folder, "zero", argv));
    wait_for_reader();
    bridge(1.52); /* no more than it reads */
    cr_assert_eq(process_wait(&R.live, 10000), 0, "%s", process_read(R.live.err_path, R.text, sizeof R.text));
    avr_board_destroy(&BOARD);
}

static void
run_live(const char *profile)
{
    struct process p;
    cr_assert_eq(process_run_words(&p, R.files.folder, 10000, "runner add R-014"), 0);
    open_port();
    const char *argv[] = { process_program(),
                           "live",
                           "--port",
                           R.path,
                           "--headless",
                           "--runner",
                           "R-014",
                           "--mass",
                           "70",
                           "--speed",
                           "2.3",
                           "--record",
                           R.record_path,
                           profile ? "--profile" : NULL,
                           profile,
                           NULL };
    cr_assert(process_start(&R.live, R.files.folder, "live", argv));
    wait_for_reader();
    bridge(RUN_S);
    wait_until_read();
    monotime_sleep_us(300000);
    process_signal(&R.live, SIGTERM);
    cr_assert_eq(process_wait(&R.live, 10000), 0, "%s", process_read(R.live.err_path, R.text, sizeof R.text));
    load_steps();
}

/* ------------------------------------------------------------------ comparing */

/* A time of the board's own clock as the processor's: the clock starts a little after the processor. */
static double
board_clock_s(double period_us, double t_us)
{
    return BOARD.first_period_s + (t_us - period_us) * 1e-6;
}

/* The contact that was driven then; NULL without one. */
static const struct driven *
driven_at(double down_s)
{
    const struct driven *found = NULL;
    for (int k = 0; k < W.n_driven; k++)
        if (fabs(W.driven[k].down_s - down_s) < 0.06)
            found = &W.driven[k];
    return found;
}

/* Each step of the store with the contact that was driven then. first_s: the processor's time of the
 * board's first packet, where the program's begins. */
static void
compare(double first_s, double contact_ms_at_most, double place_ms_at_most)
{
    int n = 0, n_cadence = 0;
    double worst_ms = 0, sum_ms = 0, place_ms = 0, sum_spm = 0;
    cr_assert_geq(R.n_steps, W.n_driven - 6, "%d steps of %d; the program says: %s", R.n_steps, W.n_driven,
                  process_read(R.live.out_path, R.text, sizeof R.text));
    for (int i = 0; i < R.n_steps; i++) {
        const struct step *s = &R.step[i].step;
        const double down_s = first_s + units_s_from_us(s->touchdown.us);
        const struct driven *d = driven_at(down_s);
        if (!d && down_s > RUN_S - 1)
            continue; /* the last one, cut */
        cr_assert_not_null(d, "a step at %.3f s that nobody drove", down_s);
        cr_assert_eq(s->foot, d->is_right ? STEP_FOOT_RIGHT : STEP_FOOT_LEFT, "step %u is on the wrong side",
                     s->number);
        cr_assert_eq(s->gait, STEP_GAIT_RUNNING);
        const double off_ms = s->value[METRIC_CONTACT_MS] - 1e3 * (d->up_s - d->down_s);
        worst_ms = fmax(worst_ms, fabs(off_ms));
        sum_ms += off_ms;
        place_ms = fmax(place_ms, fabs(1e3 * (down_s - d->down_s)));
        n++;
        if (d + 1 < W.driven + W.n_driven && !isnan(s->value[METRIC_CADENCE_SPM])) {
            sum_spm += s->value[METRIC_CADENCE_SPM] - 60 / (d[1].down_s - d->down_s);
            n_cadence++;
        }
    }
    cr_log_info(
        "%d steps: contact off by %.2f ms in the mean, %.2f at most; touchdown %.2f ms at most; cadence %.3f",
        n, sum_ms / n, worst_ms, place_ms, sum_spm / n_cadence);
    cr_assert_geq(n, 50);
    cr_assert_leq(worst_ms, contact_ms_at_most, "contact off by %.2f ms", worst_ms);
    cr_assert_leq(place_ms, place_ms_at_most, "touchdown off by %.2f ms", place_ms);
    cr_assert_leq(fabs(sum_spm / n_cadence), 0.2, "cadence off by %.3f steps/min", sum_spm / n_cadence);
}

Test(firmware, live_measures_the_switches_that_were_driven)
{
    world_init(FRAME_KIND_SWITCHES);
    load_firmware("switches", switch_volts);
    run_live(NULL);
    compare(board_clock_s(2000, 2000), 4, 4);
}

static void
write_mat_profile(void)
{
    FILE *f = fopen(R.profile_path, "w");
    cr_assert_not_null(f);
    fprintf(f,
            "[sensor]\nname = mat 16 x 8\nkind = mat\nrate_hz = 250\n[mat]\nrows = 16\ncols = "
            "8\npitch_fwd_mm = 60\n"
            "pitch_right_mm = 45\ngain_n_per_count = %.6f\n",
            FULL_N / 255);
    fclose(f);
}

Test(firmware, live_measures_the_run_that_the_mat_was_given)
{
    world_init(FRAME_KIND_MAT);
    load_firmware("mat", mat_volts);
    write_mat_profile();
    run_live(R.profile_path);
    compare(board_clock_s(4000, 4000), 4, 4);
}

/* Force and place of each step. The steps' ahead_mm is the program's and the runner's mean over them. */
static void
compare_force(double first_s, double peak_bw_at_most, double ahead_mm_at_most)
{
    int n = 0, n_ahead = 0;
    double worst_bw = 0, sum_bw = 0, sum_mm = 0;
    for (int i = 0; i < R.n_steps; i++) {
        const struct step *s = &R.step[i].step;
        const struct driven *d = driven_at(first_s + units_s_from_us(s->touchdown.us));
        if (!d)
            continue;
        cr_assert_eq(s->standing[METRIC_PEAK_FORCE_BW], METRIC_MEASURED);
        cr_assert_eq(s->flags & STEP_FLAG_LOW_RATE, 0);
        const double off_bw = s->value[METRIC_PEAK_FORCE_BW] - d->peak_bw;
        worst_bw = fmax(worst_bw, fabs(off_bw));
        sum_bw += off_bw;
        n++;
        if (!isnan(s->value[METRIC_LANDING_AHEAD_MM])) {
            sum_mm += s->value[METRIC_LANDING_AHEAD_MM] - d->ahead_mm;
            n_ahead++;
        }
    }
    cr_log_info(
        "%d steps: peak force off by %.4f BW in the mean, %.4f at most (allowed %.4f); landing ahead by %.1f "
        "mm in the mean of %d",
        n, sum_bw / n, worst_bw, peak_bw_at_most, sum_mm / n_ahead, n_ahead);
    cr_assert(n >= 50 && n_ahead >= 40);
    cr_assert_leq(worst_bw, peak_bw_at_most, "peak force off by %.4f BW", worst_bw);
    cr_assert_leq(fabs(sum_mm / n_ahead), ahead_mm_at_most, "landing ahead off by %.1f mm", sum_mm / n_ahead);
}

/* The peak's tolerance: each of four counts, and each of their zeros, is cut off by less than one, so the
 * force is right within four counts; and what the program itself is off by at 500 Hz (tests/VALIDITY.md: 0.0
 * % of the simulated runs' peaks, so 0.05 %). Landing ahead: 4.6 mm of its own there, and cells that change
 * places would be far off. */
Test(firmware, live_measures_the_run_that_the_cells_were_given)
{
    static const char profile[] = "profiles/sensors/cells-4-amp.ini";
    const double count_bw = CELL_N_PER_BIT / (MASS_KG * UNITS_GRAVITY_M_S2);
    world_init(FRAME_KIND_CELLS);
    W.is_empty = true;
    load_firmware("cells", cell_volts);
    calibrate_zero(profile);
    W.is_empty = false;
    load_firmware("cells", cell_volts);
    run_live(profile);
    const double first_s = board_clock_s(2000, 2000 + CELL_MIDDLE_US);
    compare(first_s, 4, 4);
    compare_force(first_s, 4 * count_bw + 0.0005 * 2.5, 10);
}

/* ------------------------------------------------------------------ the board alone */

static double
steady_volts(void *user, double t_s, int input, int row, int col)
{
    (void) user, (void) t_s;
    return input == 0 && row == 0 && col == 0 ? 1.0 : 0.5 * input;
}

struct heard {
    struct wire_decoder decoder;
    int n_hellos, n_data, n_uneven;
    uint32_t last_us, period_us, status;
    void (*look)(const struct packet *p); /* at each packet of data; NULL: at none */
};
static struct heard H;

static void
listen(double until_s)
{
    for (double t_s = avr_board_now_s(&BOARD); t_s < until_s; t_s += 0.1) {
        cr_assert(avr_board_run(&BOARD, fmin(t_s + 0.1, until_s)));
        for (size_t at = 0; at < BOARD.n_bytes;) {
            at += wire_feed(&H.decoder, BOARD.bytes + at, BOARD.n_bytes - at, (struct host_time){ 0 });
            const struct packet *p = wire_take(&H.decoder);
            if (!p)
                continue;
            H.n_hellos += p->type == PACKET_HELLO;
            if (p->type == PACKET_STATUS)
                H.status = p->status_code;
            if (p->type != PACKET_MAT && p->type != PACKET_SWITCHES && p->type != PACKET_CELLS)
                continue;
            if (H.look)
                H.look(p);
            H.n_uneven += H.n_data > 0 && p->t_us - H.last_us != H.period_us;
            H.last_us = p->t_us;
            H.n_data++;
        }
        BOARD.n_bytes = 0;
        cr_assert(!BOARD.has_overflown);
    }
}

/* Even periods, nothing dropped by the board, hellos on the way, room on the stack. */
static void
listen_to(const char *kind, uint32_t period_us, double (*volts)(void *, double, int, int, int))
{
    load_firmware(kind, volts);
    wire_init(&H.decoder);
    H.period_us = period_us;
    listen(11);
    cr_assert_eq(H.n_hellos, 3);
    cr_assert_geq(H.n_data, (int) (10.99e6 / period_us) - 2);
    cr_assert_eq(H.n_uneven, 0);
    cr_assert_eq(H.status, 0);
    cr_assert_eq(H.decoder.health.n_lost, 0);
    cr_assert_eq(H.decoder.health.n_bad_crc + H.decoder.health.n_malformed, 0);
    cr_assert_gt(BOARD.least_stack, 0x100 + 1536, "the stack reaches down to %#x", BOARD.least_stack);
}

static void
tell(enum wire_type type)
{
    uint8_t ask[64];
    cr_assert(avr_board_hear(&BOARD, ask, wire_encode_ask(type, 0, 0, ask, sizeof ask)));
}

Test(firmware, switches_keep_their_rate_and_hear_the_host)
{
    listen_to("switches", 2000, steady_volts);
    tell(WIRE_STOP);
    listen(11.2);
    cr_assert_eq(H.status, WIRE_STATUS_STOPPED);
    int n_data = H.n_data;
    tell(WIRE_ASK_HELLO);
    listen(11.5);
    cr_assert_eq(H.n_data, n_data);
    cr_assert_eq(H.n_hellos, 4, "the host speaks both tongues within a period: one hello answers both");
    tell(WIRE_START);
    listen(12);
    cr_assert_eq(H.status, 0);
    cr_assert_geq(H.n_data, n_data + 240);
}

Test(firmware, mat_keeps_its_rate_and_addresses_no_element_before_the_last_is_held)
{
    listen_to("mat", 4000, steady_volts);
    cr_assert_geq(BOARD.least_address_cycles, 24, "1.5 clocks of the converter are 24 cycles");
    cr_assert_leq(BOARD.most_address_cycles, 160, "3 us and more to settle");
}

/* A fast ramp, 82 counts in a millisecond, the same on all inputs. */
#define RAMP_S         0.04
#define RAMP_V_S       100.0
#define RAMP_LOW_V     0.5

static double
ramp_volts_at(double t_s)
{
    return RAMP_LOW_V + RAMP_V_S * fmod(t_s, RAMP_S);
}

static double
ramp_volts(void *user, double t_s, int input, int row, int col)
{
    (void) user, (void) row;
    return input < 4 ? ramp_volts_at(t_s) + (col & 3) * AVR_BOARD_VOLTS / 4096 : 0;
}

/* 0.1 ms is 8 counts; cutting off, four. */
static void
look_at_ramp(const struct packet *p)
{
    const double t_s = board_clock_s(2000, p->t_us), at_s = fmod(t_s, RAMP_S);
    if (at_s < 0.002 || at_s > RAMP_S - 0.002)
        return; /* the burst has the ramp's end in it */
    for (int i = 0; i < 4; i++) {
        cr_assert_float_eq(p->channel_counts[i], ramp_volts_at(t_s) * 4096 / AVR_BOARD_VOLTS, 12,
                           "cell %d at %.6f s: %d counts", i + 1, t_s, (int) p->channel_counts[i]);
        cr_assert_leq(abs((int) (p->channel_counts[i] - p->channel_counts[0])), 4,
                      "cell %d was read at another time", i + 1);
    }
}

Test(firmware, cells_keep_their_rate_and_the_four_are_of_the_instant_that_is_said)
{
    H.look = look_at_ramp;
    listen_to("cells", 2000, ramp_volts);
    cr_assert_leq(BOARD.most_conversion_cycles, 14 * 128, "the next conversion misses its clock");
}

static void
look_at_quiet(const struct packet *p)
{
    static const int expected[4] = { 405, 1001, 2002, 4040 };
    for (int i = 0; i < 4; i++)
        cr_assert_eq(p->channel_counts[i], expected[i], "cell %d: %d", i + 1, (int) p->channel_counts[i]);
}

static double
quiet_volts(void *user, double t_s, int input, int row, int col)
{
    static const double counts[4] = { 405.5, 1001.5, 2002.5, 4055 };
    (void) user, (void) t_s, (void) row;
    return input < 4 ? (counts[input] + (col & 3)) * AVR_BOARD_VOLTS / 4096 : 0;
}

Test(firmware, cells_are_read_four_times_as_fine_as_the_converter_s_step)
{
    H.look = look_at_quiet;
    listen_to("cells", 2000, quiet_volts);
    tell(WIRE_STOP);
    listen(11.2);
    cr_assert_eq(H.status, WIRE_STATUS_STOPPED);
    tell(WIRE_START);
    listen(11.4);
    cr_assert_eq(H.status, 0);
}

#endif
