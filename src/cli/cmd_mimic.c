/* cmd_mimic.c - `underfoot mimic`: a simulated sensor on a pseudo-terminal. */
#include "cli/commands.h"
#include "cli/demo.h"
#include "cli/mimic.h"
#include "cli/overwrite.h"
#include "cli/say_options.h"
#include "cli/say_table.h"
#include "gait/engine.h"
#include "sim/cast.h"

#include <errno.h>
#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define AHEAD_NEAR_MM 5.0

struct mimic_words {
    const char *kind, *wire, *runner, *scenario, *pace, *truth;
    double rate_hz, speed_m_s, cadence_spm, mass_kg, ahead_mm, strike_pct, seconds, seed, lost_pct, noise_n;
    double damaged_pct, reset_s, clock_s, vibration_n, seam_n, truth_at_n;
    bool is_list, is_forced;
};

/* NAN: as the runner or the kind of sensor has it. */
static struct mimic_words
mimic_words_default(void)
{
    return (struct mimic_words){ .kind = "mat",
                                 .wire = "binary",
                                 .runner = CAST_RUNNER_DEFAULT,
                                 .scenario = "steady",
                                 .pace = "1",
                                 .rate_hz = NAN,
                                 .speed_m_s = NAN,
                                 .cadence_spm = NAN,
                                 .mass_kg = NAN,
                                 .ahead_mm = NAN,
                                 .strike_pct = NAN,
                                 .seconds = INFINITY,
                                 .seed = 1,
                                 .noise_n = NAN,
                                 .truth_at_n = ENGINE_THRESHOLD_N,
                                 .reset_s = NAN,
                                 .vibration_n = NAN,
                                 .seam_n = NAN };
}

static void
print_list(void)
{
    static const char *const label[] = { NC_("table", "runner"), NC_("table", "scenario") };
    const int width = say_labels_width(label, 2);
    for (int i = 0; i < cast_runner_count(); i++) {
        struct cast_runner r;
        cast_runner_get(i, &r);
        say_label(stdout, label[0], width);
        printf("%-8s %s\n", r.code, say_word(r.summary));
    }
    for (int i = 0; i < cast_scenario_count(); i++) {
        say_label(stdout, label[1], width);
        printf("%-8s %s\n", cast_scenario_get(i)->name, say_word(cast_scenario_get(i)->summary));
    }
}

static int
fill_board(const struct options_spec *spec, const struct mimic_words *w, struct board_config *b)
{
    struct message why;
    if (!demo_board(w->kind, w->wire, b, &why))
        return say_refuse_of(spec, &why);
    enum frame_kind kind = b->layout.kind;
    if (!isnan(w->rate_hz))
        b->rate_hz = w->rate_hz;
    if (!isnan(w->noise_n))
        b->faults.noise_counts = kind == FRAME_KIND_MAT ? w->noise_n / board_mat_gain_n(b)
                                 : kind == FRAME_KIND_CELLS
                                     ? w->noise_n / board_cell_gain_n()
                                     : w->noise_n / b->layout.half_load_n * BOARD_SWITCH_FULL;
    if (!isnan(w->vibration_n))
        b->faults.vibration_n = w->vibration_n;
    if (!isnan(w->seam_n))
        b->faults.seam_bump_n = w->seam_n;
    b->faults.lost_share = w->lost_pct / 100;
    b->faults.corrupt_share = w->damaged_pct / 100;
    b->faults.seed = (uint64_t) w->seed;
    b->faults.reset_at_s = w->reset_s;
    b->faults.clock_start_us = (uint32_t) (uint64_t) (w->clock_s * 1e6);
    return 0;
}

static int
fill_runner(const struct options_spec *spec, const struct mimic_words *w, struct runner_config *r)
{
    struct cast_runner demo;
    if (!cast_runner_find(w->runner, &demo))
        return say_refuse(spec, MESSAGE_MIMIC_NO_RUNNER, w->runner);
    const struct cast_scenario *scenario = cast_scenario_find(w->scenario);
    if (!scenario)
        return say_refuse(spec, MESSAGE_MIMIC_NO_SCENARIO, w->scenario);
    *r = runner_config_default();
    r->style = demo.style;
    r->script = scenario->script;
    r->n_segments = scenario->n_segments;
    r->seed = (uint64_t) w->seed;
    if (!isnan(w->speed_m_s))
        r->style.speed_m_s = w->speed_m_s;
    if (!isnan(w->cadence_spm))
        r->style.cadence_spm = w->cadence_spm;
    if (!isnan(w->mass_kg))
        r->style.mass_kg = w->mass_kg;
    if (!isnan(w->strike_pct))
        r->style.strike_index_pct = w->strike_pct;
    r->style.ahead_mm = w->ahead_mm;
    r->truth_threshold_n = w->truth_at_n;
    return 0;
}

static int
fill_config(const struct options_spec *spec, const struct mimic_words *w, struct mimic_config *c)
{
    int refused = fill_board(spec, w, &c->board);
    if (refused == 0)
        refused = fill_runner(spec, w, &c->runner);
    if (refused != 0)
        return refused;
    c->seconds = w->seconds;
    if (isinf(c->seconds))
        c->seconds = runner_script_s(&c->runner);
    if (strcmp(w->pace, "max") == 0) {
        c->pace_ratio = 0;
        return 0;
    }
    char *end;
    errno = 0;
    c->pace_ratio = strtod(w->pace, &end);
    if (end == w->pace || *end || errno || !(c->pace_ratio > 0 && c->pace_ratio <= 1000))
        return say_refuse(spec, MESSAGE_MIMIC_NO_PACE, w->pace);
    return 0;
}

/* SIGINT and SIGTERM are blocked and looked for, so that no handler is needed. */
static bool
is_signalled(void *user)
{
    (void) user;
    sigset_t pending;
    return sigpending(&pending) == 0 &&
           (sigismember(&pending, SIGINT) == 1 || sigismember(&pending, SIGTERM) == 1);
}

static int
run(struct mimic_config *c, const char *truth_path)
{
    int fd = -1, exit_code = 1;
    char path[MIMIC_PATH_MAX];
    struct message why;
    sigset_t stops;
    sigemptyset(&stops);
    sigaddset(&stops, SIGINT);
    sigaddset(&stops, SIGTERM);
    sigprocmask(SIG_BLOCK, &stops, NULL);
    struct mimic *m = malloc(sizeof *m);
    if (!m) {
        say_as("mimic", MESSAGE_CLI_NO_MEMORY);
        return 1;
    }
    if (truth_path && !(c->truth = fopen(truth_path, "w"))) {
        say_as("mimic", MESSAGE_CLI_FILE_REFUSED, message_path(truth_path), message_errno(errno));
        goto free_mimic;
    }
    c->should_stop = is_signalled;
    mimic_init(m, c);
    double wanted_mm = c->runner.style.ahead_mm;
    if (!isnan(wanted_mm) && fabs(m->runner.base_ahead_mm - wanted_mm) > AHEAD_NEAR_MM)
        say_as("mimic", MESSAGE_MIMIC_AHEAD, message_real(wanted_mm, 0, MESSAGE_UNIT_MM),
               message_real(m->runner.base_ahead_mm, 0, MESSAGE_UNIT_MM));
    if (mimic_open_pty(&fd, path, &why) != ERR_OK) {
        say_as_of("mimic", &why);
        goto close_truth;
    }
    printf("%s\n", path);
    fflush(stdout);
    exit_code = mimic_run(m, fd) == ERR_OK ? 0 : 1;
    close(fd);
close_truth:
    if (c->truth && (ferror(c->truth) | fclose(c->truth)) != 0) {
        say_as("mimic", MESSAGE_MIMIC_NOT_WRITTEN, message_path(truth_path));
        exit_code = 1;
    }
free_mimic:
    free(m);
    return exit_code;
}

int
cmd_mimic(int argc, char **argv)
{
    static const char summary[] =
        N_("A simulated sensor on a pseudo-terminal, whose path is printed. It waits for a reader, then sends what a\n"
        "board would send, until its time is over or it is interrupted.");
    struct mimic_words w = mimic_words_default();
    const struct option_row rows[] = {
        { "kind", OPTION_TEXT, "KIND", N_("mat, cells or switches (mat)"), NULL, &w.kind, NULL, 0, 0 },
        { "wire", OPTION_TEXT, "WIRE", N_("text or binary (binary)"), NULL, &w.wire, NULL, 0, 0 },
        { "rate", OPTION_NUMBER, "HZ", N_("samples a second (mat 250, cells 1000, switches 500)"), NULL, NULL,
          &w.rate_hz, 10, 5000 },
        { "runner", OPTION_TEXT, "CODE", N_("simulated runner (R-014)"), NULL, &w.runner, NULL,
          0, 0 },
        { "scenario", OPTION_TEXT, "NAME", N_("what the runner does (steady)"), NULL, &w.scenario, NULL, 0, 0 },
        { "list", OPTION_FLAG, NULL, N_("list the runners and scenarios and end"), &w.is_list, NULL, NULL, 0, 0 },
        { "speed", OPTION_NUMBER, "M_S", N_("belt speed, m/s (the runner's)"), NULL, NULL, &w.speed_m_s, 1.5, 8 },
        { "cadence", OPTION_NUMBER, "SPM", N_("steps a minute (the runner's)"), NULL, NULL, &w.cadence_spm, 120,
          260 },
        { "mass", OPTION_NUMBER, "KG", N_("body mass, kg (the runner's)"), NULL, NULL, &w.mass_kg, 20, 250 },
        { "ahead", OPTION_NUMBER, "MM", N_("landing ahead of the mass centre, mm; sets the contact time"), NULL,
          NULL, &w.ahead_mm, 50, 800 },
        { "strike", OPTION_NUMBER, "PCT", N_("strike index, % of foot length from the heel"), NULL, NULL,
          &w.strike_pct, 5, 90 },
        { "seconds", OPTION_NUMBER, "N", N_("end after so long (the scenario's length, or never)"), NULL, NULL,
          &w.seconds, 0.01, 1e7 },
        { "pace", OPTION_TEXT, "X", N_("1 real time, 2 twice as fast, max as fast as it is read (1)"), NULL,
          &w.pace, NULL, 0, 0 },
        { "seed", OPTION_NUMBER, "N", N_("equal seeds give equal bytes (1)"), NULL, NULL, &w.seed, 0,
          4294967295.0 },
        { "noise", OPTION_NUMBER, "NEWTON", N_("noise of an element, standard deviation"), NULL, NULL, &w.noise_n,
          0, 1000 },
        { "vibration", OPTION_NUMBER, "NEWTON", N_("amplitude of the deck's vibration by the motor (6)"), NULL, NULL,
          &w.vibration_n, 0, 1000 },
        { "seam", OPTION_NUMBER, "NEWTON", N_("the belt's seam as it passes, once a turn of 3.2 m (12)"), NULL, NULL,
          &w.seam_n, 0, 1000 },
        { "lost", OPTION_NUMBER, "PCT", N_("share of packets lost, % (0)"), NULL, NULL, &w.lost_pct, 0, 100 },
        { "damaged", OPTION_NUMBER, "PCT", N_("share of packets damaged, % (0)"), NULL, NULL, &w.damaged_pct, 0,
          100 },
        { "reset", OPTION_NUMBER, "S", N_("the board restarts after so many seconds"), NULL, NULL, &w.reset_s, 0,
          1e7 },
        { "clock", OPTION_NUMBER, "S", N_("where the board's clock starts; it wraps at 4294.967 s (0)"), NULL,
          NULL, &w.clock_s, 0, 4294.967295 },
        { "truth", OPTION_TEXT, "FILE", N_("write what is true of every step as CSV"), NULL, &w.truth, NULL, 0,
          0 },
        { "truth-at", OPTION_NUMBER, "NEWTON", N_("load at which the truth's contact begins and ends (50, as in steps)"),
          NULL, NULL, &w.truth_at_n, 1, 300 },
        overwrite_row(&w.is_forced),
    };
    const struct options_spec spec = { "mimic", NULL, summary, rows, (int) (sizeof rows / sizeof *rows) };
    int n = say_options(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    if (w.is_list) {
        print_list();
        return 0;
    }
    struct mimic_config c = mimic_config_default();
    int refused = fill_config(&spec, &w, &c);
    if (refused != 0)
        return refused;
    return overwrite_refuses(w.truth, w.is_forced) ? 1 : run(&c, w.truth);
}
