/* cmd_calibrate.c - `underfoot calibrate`: zero, gain by a mass, even elements; with history and undo. */
#include "app/commands.h"
#include "app/options.h"
#include "app/sensor_profile.h"
#include "app/sensor_run.h"
#include "app/stop.h"
#include "base/fileio.h"
#include "base/log.h"
#include "base/monotime.h"
#include "base/str.h"
#include "gait/engine.h"
#include "sense/calib.h"
#include "sense/calib_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct words {
    const char *port, *profile;
    double seconds, baud;
};

struct job {
    const struct words *words;
    enum calib_what what;
    double mass_kg;
    char path[FILEIO_PATH_MAX]; /* of the calibration */
    struct sense_profile profile, changed;
    struct calib_state state;
    struct calib_history history;
    struct calib calib;
    struct sensor_run run;
    struct engine engine;
    char why[ERR_WHY_MAX];
};

static void
feed_calib(void *context, const struct packet *packet, const struct frame *frame)
{
    calib_feed(&((struct job *) context)->calib, packet, frame);
}

/* Steps are not wanted, only the momentum balance over them. */
static void
feed_engine(void *context, const struct packet *packet, const struct frame *frame)
{
    struct job *j = context;
    struct step step;
    (void) packet;
    engine_feed(&j->engine, frame);
    while (engine_take(&j->engine, &step))
        ;
}

static enum err
measure_running(struct job *j, struct calib_entry *entry)
{
    struct engine_config c = engine_config_default(j->profile.kind);
    c.rate_hz = sense_rate_hz(&j->run.sense);
    engine_init(&j->engine, &c);
    const enum err err = sensor_run_read(&j->run, j->words->seconds, feed_engine, j);
    if (err != ERR_OK) {
        str_copy(j->why, sizeof j->why, j->run.why);
        return err;
    }
    engine_finish(&j->engine);
    const double weight_n = engine_momentum_weight_n(&j->engine);
    if (isnan(weight_n)) {
        snprintf(j->why, sizeof j->why,
                 "no run of whole strides was seen: run steadily, all of it on the sensor");
        return ERR_FORMAT;
    }
    return calib_by_weight(&j->run.sense.profile, CALIB_RUNNING, weight_n, j->mass_kg, &j->changed, entry,
                           j->why);
}

static enum err
measure(struct job *j, struct calib_entry *entry)
{
    static const char *const please[CALIB_N_WHATS] = { "nobody on the sensor, the belt stopped, please",
                                                       "stand still in the middle, the belt stopped, please",
                                                       "run steadily, please",
                                                       "roll slowly over all of the mat, please" };
    log_note("%s: %s: %.0f s", j->run.source.path, please[j->what], j->words->seconds);
    if (j->what == CALIB_RUNNING)
        return measure_running(j, entry);
    calib_init(&j->calib, &j->run.sense.profile, j->what);
    const enum err err = sensor_run_read(&j->run, j->words->seconds, feed_calib, j);
    if (err != ERR_OK) {
        str_copy(j->why, sizeof j->why, j->run.why);
        return err;
    }
    return calib_finish(&j->calib, j->mass_kg, &j->changed, entry, j->why);
}

static void
print_entry(const struct calib_entry *e)
{
    char made[32];
    printf("%4d  %s  %-9s", e->number, calib_time_text(e->made_utc_ms, made, sizeof made),
           calib_what_name(e->what));
    if (!isnan(e->mass_kg))
        printf(" %.1f kg", e->mass_kg);
    if (!isnan(e->drift_pct))
        printf("; the gain was off by %+.1f %%", e->drift_pct);
    if (!isnan(e->spread_pct))
        printf(" elements were uneven by %.1f %%, %d left as they are", e->spread_pct, e->n_left);
    printf("%s\n", e->is_undone ? "  (taken back)" : "");
}

static enum err
calibrate(struct job *j)
{
    struct source_config source = source_config_default();
    struct calib_entry entry;
    source.baud = (int) j->words->baud;
    stop_catch_signals();
    enum err err = sensor_run_open(&j->run, j->words->port, &source, &j->profile);
    if (err != ERR_OK) {
        str_copy(j->why, sizeof j->why, j->run.why);
        return err;
    }
    err = measure(j, &entry);
    sensor_run_close(&j->run);
    if (err != ERR_OK)
        return err;
    entry.made_utc_ms = monotime_wall_us() / 1000;
    err = calib_file_append(j->path, &j->history, &j->changed, &entry, j->why);
    if (err != ERR_OK)
        return err;
    print_entry(&entry);
    if (!isnan(entry.drift_pct) && fabs(entry.drift_pct) > j->profile.drift_limit_pct)
        log_note(
            "mind: that is more than the %g %% that the profile allows: loads measured since the calibration "
            "before may be off by as much",
            j->profile.drift_limit_pct);
    return ERR_OK;
}

static enum err
undo(struct job *j)
{
    struct calib_entry entry;
    const enum err err = calib_file_undo(j->path, &j->history, &entry, j->why);
    if (err != ERR_OK)
        return err;
    entry.is_undone = true;
    print_entry(&entry);
    return ERR_OK;
}

static void
print_history(const struct job *j)
{
    char says[160];
    for (int i = 0; i < j->history.n; i++)
        print_entry(&j->history.entry[i]);
    if (sensor_profile_says(&j->state, &j->profile, says, sizeof says) || says[0] != '\0')
        printf("in force: %s\n", says);
    else
        printf("in force: the profile's own values\n");
}

static enum err
load(struct job *j)
{
    const enum err err = sensor_profile_load(&j->profile, j->words->profile, NULL, &j->state, j->why);
    return err != ERR_OK ? err
                         : sensor_profile_calibration(j->words->profile, j->path, sizeof j->path, j->why);
}

/* The history is read by itself: the profile has all of it in force already. */
static enum err
load_history(struct job *j)
{
    j->changed = j->profile;
    struct calib_state state;
    return calib_file_load(j->path, NULL, &j->changed, &state, &j->history, j->why);
}

static int
run(struct job *j, const char *action)
{
    enum err err = load(j);
    if (err == ERR_OK)
        err = load_history(j);
    if (err != ERR_OK)
        log_note("%s", j->why);
    if (err != ERR_OK)
        return 2;
    if (strcmp(action, "history") == 0)
        print_history(j);
    else if (strcmp(action, "undo") == 0)
        err = undo(j);
    else
        err = calibrate(j);
    if (err != ERR_OK)
        log_note("nothing is changed: %s", j->why);
    return err == ERR_OK && fflush(stdout) == 0 ? 0 : 1;
}

static int
read_action(const struct options_spec *spec, const char *const *word, int n, struct job *j)
{
    if (n == 0)
        return options_refuse(spec,
                              "what is to be done? zero, mass KG, running KG, equalise, undo, or history");
    const bool is_measured = calib_what_from_name(word[0], &j->what);
    if (!is_measured && strcmp(word[0], "undo") != 0 && strcmp(word[0], "history") != 0)
        return options_refuse(spec, "'%.40s' is none of zero, mass, running, equalise, undo, history",
                              word[0]);
    const bool wants_mass = is_measured && (j->what == CALIB_MASS || j->what == CALIB_RUNNING);
    if (wants_mass && (n < 2 || !str_to_double(word[1], &j->mass_kg) || j->mass_kg < 5 || j->mass_kg > 300))
        return options_refuse(spec, "%s needs a mass from 5 to 300 kg after it", word[0]);
    if (n > (wants_mass ? 2 : 1))
        return options_refuse(spec, "'%.40s' is one word too many", word[n - 1]);
    if (!j->words->profile)
        return options_refuse(spec, "--profile is needed: the calibration belongs to it");
    return 0;
}

int
cmd_calibrate(int argc, char **argv)
{
    static const char summary[] =
        "Calibrates the sensor of a profile:\n"
        "  zero         nobody on: what it reads now is 0\n"
        "  mass KG      somebody of that mass, as dressed, stands still: sets the gain\n"
        "  running KG   somebody of that mass runs: the mean force over whole strides is body weight; sets "
        "the gain\n"
        "  equalise     mat: an even roller goes over all of it: sets the gain of each element\n"
        "  undo         takes the last one back\n"
        "  history      all of them, and what is in force\n"
        "Kept in the data folder, under calibration/ and the profile's name; the profile stays as it is. "
        "Every\n"
        "command that is given the profile takes the calibration with it.";
    struct words w = { .port = "auto", .seconds = (double) NAN, .baud = WIRE_BAUD_DEFAULT };
    const struct option_row rows[] = {
        { "port", OPTION_TEXT, "PORT", "serial port, pseudo-terminal or recording; auto: find it (auto)",
          NULL, &w.port, NULL, 0, 0 },
        { "profile", OPTION_TEXT, "FILE", "sensor profile, a file or a name from profiles/sensors; required",
          NULL, &w.profile, NULL, 0, 0 },
        { "seconds", OPTION_NUMBER, "N", "how long it is watched (zero, mass 5; running 30; equalise 30)",
          NULL, NULL, &w.seconds, 0.5, 600 },
        { "baud", OPTION_NUMBER, "N", "line speed of a serial port (115200)", NULL, NULL, &w.baud, 300,
          12e6 },
    };
    const struct options_spec spec = { "calibrate", "ACTION [KG]", summary, rows,
                                       (int) (sizeof rows / sizeof *rows) };
    const char *word[3];
    const int n = options_parse(&spec, argc, argv, word, 3);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    struct job *j = calloc(1, sizeof *j);
    if (!j) {
        log_note("no memory left to calibrate");
        return 1;
    }
    j->words = &w;
    int code = read_action(&spec, word, n, j);
    if (code == 0) {
        if (isnan(w.seconds))
            w.seconds = j->what == CALIB_ZERO || j->what == CALIB_MASS ? 5 : 30;
        code = run(j, word[0]);
    }
    free(j);
    return code;
}
