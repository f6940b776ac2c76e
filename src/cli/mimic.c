#define _GNU_SOURCE /* ptsname_r */
#include "cli/mimic.h"

#include "base/monotime.h"
#include "sim/cast.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#define ASK_EVERY_S 0.1
#define IDLE_MS     2
#define WAIT_MS     20
#define DRAIN_MS    2000
#define DRAIN_QUIET 5 /* looks in a row that find nothing left */

struct mimic_config
mimic_config_default(void)
{
    struct mimic_config c = { .runner = runner_config_default(),
                              .board = board_config_default(FRAME_KIND_MAT),
                              .seconds = INFINITY,
                              .pace_ratio = 1 };
    struct cast_runner runner;
    bool is_known = cast_runner_find(CAST_RUNNER_DEFAULT, &runner);
    assert(is_known);
    c.runner.style = runner.style;
    return c;
}

void
mimic_init(struct mimic *m, const struct mimic_config *c)
{
    m->config = *c;
    m->asked_s = -ASK_EVERY_S;
    m->n_truths = 0;
    message_init(&m->why, MESSAGE_NONE);
    memset(&m->last, 0, sizeof m->last);
    runner_init(&m->runner, &c->runner);
    board_init(&m->board, &c->board, &m->runner);
    if (c->truth)
        mimic_truth_header(c->truth);
}

static double
next_sample_s(const struct mimic *m)
{
    return (double) m->board.n_samples / m->config.board.rate_hz;
}

int
mimic_step(struct mimic *m, const uint8_t **bytes)
{
    double t_s = next_sample_s(m);
    if (t_s >= m->config.seconds)
        return -1;
    if (m->config.ask && t_s - m->asked_s >= ASK_EVERY_S) {
        struct mimic_feedback f = { NAN, NAN, false };
        m->config.ask(m->config.user, &f);
        runner_set_target(&m->runner, f.cadence_spm, f.ahead_mm);
        runner_set_feedback(&m->runner, f.is_shown);
        m->asked_s = t_s;
    }
    size_t len = board_step(&m->board, bytes);
    while (runner_take(&m->runner, &m->last)) {
        m->n_truths++;
        if (m->config.truth)
            mimic_truth_row(m->config.truth, &m->last);
    }
    return (int) len;
}

void
mimic_hear(struct mimic *m, const uint8_t *bytes, size_t len)
{
    board_hear(&m->board, bytes, len);
}

/* ------------------------------------------------------------------ pseudo-terminal */

static enum err
refuse(struct message *why)
{
    message_tell(why, MESSAGE_MIMIC_NO_PTY, message_errno(errno));
    return ERR_OS;
}

/* Bytes pass as they are, whoever opens the reader's end. */
static bool
set_raw(const char *path)
{
    int reader = open(path, O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (reader < 0)
        return false;
    struct termios t;
    bool is_set = tcgetattr(reader, &t) == 0;
    t.c_iflag &=
        (tcflag_t) ~(BRKINT | ICRNL | IGNBRK | IGNCR | INLCR | INPCK | ISTRIP | IXON | IXOFF | PARMRK);
    t.c_oflag &= (tcflag_t) ~OPOST;
    t.c_lflag &= (tcflag_t) ~(ECHO | ECHONL | ICANON | IEXTEN | ISIG);
    t.c_cflag |= CS8 | CREAD | CLOCAL;
    t.c_cc[VMIN] = 1;
    t.c_cc[VTIME] = 0;
    is_set = is_set && tcsetattr(reader, TCSANOW, &t) == 0;
    close(reader);
    return is_set;
}

enum err
mimic_open_pty(int *fd, char path[MIMIC_PATH_MAX], struct message *why)
{
    int master = posix_openpt(O_RDWR | O_NOCTTY);
    if (master < 0)
        return refuse(why);
    if (grantpt(master) != 0 || unlockpt(master) != 0 || ptsname_r(master, path, MIMIC_PATH_MAX) != 0)
        goto close_master;
    if (!set_raw(path) || fcntl(master, F_SETFL, O_RDWR | O_NONBLOCK) < 0 ||
        fcntl(master, F_SETFD, FD_CLOEXEC) < 0)
        goto close_master;
    *fd = master;
    return ERR_OK;
close_master:
    refuse(why);
    close(master);
    return ERR_OS;
}

/* ------------------------------------------------------------------ real time */

static bool
is_told_to_stop(const struct mimic *m)
{
    return m->config.should_stop && m->config.should_stop(m->config.user);
}

static bool
has_reader(int fd)
{
    struct pollfd p = { .fd = fd, .events = POLLOUT };
    return poll(&p, 1, 0) >= 0 && !(p.revents & (POLLHUP | POLLERR | POLLNVAL));
}

/* Takes what the host sent, waiting up to wait_ms for it. */
static void
listen_to_host(struct mimic *m, int fd, int wait_ms)
{
    struct pollfd p = { .fd = fd, .events = POLLIN };
    uint8_t heard[256];
    if (poll(&p, 1, wait_ms) > 0 && (p.revents & POLLIN)) {
        ssize_t n = read(fd, heard, sizeof heard);
        if (n > 0)
            mimic_hear(m, heard, (size_t) n);
    } else if (p.revents & (POLLHUP | POLLERR)) {
        monotime_sleep_us(wait_ms * UNITS_US_PER_MS); /* nobody there: poll does not wait */
    }
}

/* Writes all, or drops the rest when the reader has gone or the mimic is told to stop. */
static void
write_all(struct mimic *m, int fd, const uint8_t *bytes, size_t len)
{
    if (!has_reader(fd)) /* a terminal would keep old bytes for whoever opens it next */
        return;
    while (len > 0) {
        ssize_t n = write(fd, bytes, len);
        if (n > 0) {
            bytes += n;
            len -= (size_t) n;
            continue;
        }
        if (n < 0 && errno != EAGAIN && errno != EINTR)
            return;
        if (is_told_to_stop(m) || !has_reader(fd))
            return;
        struct pollfd p = { .fd = fd, .events = POLLOUT };
        poll(&p, 1, WAIT_MS);
    }
}

/* Closing a terminal throws away what was not read yet: looks from the reader's end until nothing is left. */
static void
let_reader_finish(struct mimic *m, int fd)
{
    char path[MIMIC_PATH_MAX];
    int reader = -1;
    if (ptsname_r(fd, path, sizeof path) == 0) /* not so for a pipe or a socket: they keep what was sent */
        reader = open(path, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (reader < 0)
        return;
    for (int waited_ms = 0, n_quiet = 0; waited_ms < DRAIN_MS && n_quiet < DRAIN_QUIET;
         waited_ms += WAIT_MS) {
        int left = 0;
        n_quiet = ioctl(reader, FIONREAD, &left) == 0 && left == 0 ? n_quiet + 1 : 0;
        if (is_told_to_stop(m))
            break;
        monotime_sleep_us(WAIT_MS * UNITS_US_PER_MS);
    }
    close(reader);
}

enum err
mimic_run(struct mimic *m, int fd)
{
    while (!has_reader(fd)) {
        if (is_told_to_stop(m))
            return ERR_OK;
        monotime_sleep_us(WAIT_MS * UNITS_US_PER_MS);
    }
    double pace = m->config.pace_ratio;
    struct host_time start = monotime_now();
    const double begun_s = next_sample_s(m); /* not 0 when it ran before, to another reader */
    bool is_over = false;
    while (!is_over && !is_told_to_stop(m)) {
        listen_to_host(m, fd, pace > 0 ? IDLE_MS : 0);
        double due_s = begun_s + units_s_from_us(units_host_since_us(monotime_now(), start)) * pace;
        /* With no pace, a handful of samples between two looks at the host. */
        for (int n = 0; pace > 0 ? next_sample_s(m) <= due_s : n < 16; n++) {
            const uint8_t *bytes;
            int len = mimic_step(m, &bytes);
            if (len < 0) {
                is_over = true;
                break;
            }
            write_all(m, fd, bytes, (size_t) len);
            if (pace > 0 && (n & 255) == 255 && is_told_to_stop(m))
                break;
        }
    }
    if (m->config.truth)
        fflush(m->config.truth);
    if (is_over && has_reader(fd))
        let_reader_finish(m, fd);
    return ERR_OK;
}

/* ------------------------------------------------------------------ truth */

#define TRUTH_LIST(X)                                                                                        \
    X(touchdown_s, 6)                                                                                        \
    X(toe_off_s, 6)                                                                                          \
    X(down_s, 6)                                                                                             \
    X(up_s, 6)                                                                                               \
    X(next_touchdown_s, 6) X(next_down_s, 6) X(step_time_s, 6) X(contact_ms, 3) X(contact_zero_ms, 3)        \
        X(flight_ms, 3) X(cadence_spm, 3) X(duty_factor, 5) X(peak_force_bw, 4) X(load_rate_bw_s, 3)         \
            X(load_rate_max_bw_s, 3) X(transient_bw, 4) X(transient_ms, 3) X(transient_dip_bw, 4)            \
                X(transient_lead_ms, 3) X(com_drop_mm, 3) X(com_drop_from_down_mm, 3) X(com_travel_mm, 3)    \
                    X(com_low_ms, 3) X(impulse_bw_s, 6) X(strike_index_pct, 3) X(strike_travel_mm, 3) X(landing_ahead_mm, 3) X(first_ahead_mm, 3)       \
                        X(ahead_at_load_mm, 3) X(cop_fwd_mm, 3) X(cop_right_mm, 3) X(step_width_mm, 3)       \
                            X(toe_out_deg, 3) X(belt_speed_m_s, 4) X(braking_impulse_bw_s, 6) X(peak_braking_bw, 4) X(braking_end_pct, 2)

void
mimic_truth_header(FILE *f)
{
    fprintf(f, "step,side,gait,strike_zone,impact_transient,whole_foot_at_load,threshold_n");
#define TRUTH_NAME(name, digits) fprintf(f, ",%s", #name);
    TRUTH_LIST(TRUTH_NAME)
#undef TRUTH_NAME
    fprintf(f, "\n");
}

static void
put_number(FILE *f, double value, int digits)
{
    if (isnan(value))
        fputc(',', f);
    else
        fprintf(f, ",%.*f", digits, value);
}

void
mimic_truth_row(FILE *f, const struct runner_truth *t)
{
    static const char *const zone[] = { [STEP_ZONE_UNKNOWN] = "",
                                        [STEP_ZONE_REAR] = "rear",
                                        [STEP_ZONE_MID] = "mid",
                                        [STEP_ZONE_FORE] = "fore",
                                        [STEP_ZONE_BORDER] = "border" };
    fprintf(f, "%u,%s,%s,%s,%d,%d,%g", (unsigned) t->number, t->foot == STEP_FOOT_RIGHT ? "right" : "left",
            t->gait == STEP_GAIT_RUNNING ? "running" : "walking", zone[t->zone], t->has_transient,
            t->whole_foot_at_load, t->threshold_n);
#define TRUTH_VALUE(name, digits) put_number(f, t->name, digits);
    TRUTH_LIST(TRUTH_VALUE)
#undef TRUTH_VALUE
    fprintf(f, "\n");
}
