/* cmd_calibrate.c - `underfoot calibrate`: zero, gain by a mass, even elements; with history and undo. */
#include "base/message_words.h"
#include "base/stop.h"
#include "base/str.h"
#include "base/utf8.h"
#include "cli/commands.h"
#include "cli/say_options.h"
#include "gait/engine.h"
#include "setup/calib.h"
#include "setup/calibration.h"
#include "setup/sensor_run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct words {
    const char *port, *profile;
    double seconds, baud;
    bool is_surely_empty;
};

struct job {
    const struct words *words;
    enum calib_what what;
    double mass_kg;
    struct calibration of; /* the profile */
    struct calib calib;
    struct sensor_run run;
    struct engine engine;
    struct message why;
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
    struct engine_config c = engine_config_default(j->of.profile.kind);
    c.rate_hz = sense_rate_hz(&j->run.sense);
    engine_init(&j->engine, &c);
    const enum err err = sensor_run_read(&j->run, j->words->seconds, feed_engine, j);
    if (err != ERR_OK) {
        j->why = j->run.why;
        return err;
    }
    engine_finish(&j->engine);
    const double weight_n = engine_momentum_weight_n(&j->engine);
    if (isnan(weight_n)) {
        message_init(&j->why, MESSAGE_CALIBRATE_NO_RUN);
        return ERR_FORMAT;
    }
    return calib_by_weight(&j->run.sense.profile, CALIB_RUNNING, weight_n, j->mass_kg, &j->of.changed, entry,
                           &j->why);
}

static enum err
measure(struct job *j, struct calib_entry *entry)
{
    say_note(MESSAGE_CALIBRATE_WATCHES, message_path(j->run.source.path), message_word(calib_please(j->what)),
             message_real(j->words->seconds, 0, MESSAGE_UNIT_S));
    if (j->what == CALIB_RUNNING)
        return measure_running(j, entry);
    calib_init(&j->calib, &j->run.sense.profile, j->what);
    j->calib.is_surely_empty = j->words->is_surely_empty;
    const enum err err = sensor_run_read(&j->run, j->words->seconds, feed_calib, j);
    if (err != ERR_OK) {
        j->why = j->run.why;
        return err;
    }
    return calib_finish(&j->calib, j->mass_kg, &j->of.changed, entry, &j->why);
}

static void
print_entry(const struct calib_entry *e)
{
    struct message told;
    char text[SAY_MAX];
    calibration_entry_tell(e, &told);
    utf8_print(stdout, "%s\n", say_text_of(&told, text));
}

static enum err
refused(struct job *j, enum err err)
{
    if (err != ERR_OK)
        j->why = j->of.why;
    return err;
}

static enum err
calibrate(struct job *j)
{
    struct source_config source = source_config_default();
    struct calib_entry entry;
    source.baud = (int) j->words->baud;
    stop_catch_signals();
    enum err err = sensor_run_open(&j->run, j->words->port, &source, &j->of.profile);
    if (err != ERR_OK) {
        j->why = j->run.why;
        return err;
    }
    err = measure(j, &entry);
    sensor_run_close(&j->run);
    if (err != ERR_OK)
        return err;
    err = refused(j, calibration_keep(&j->of, &entry));
    if (err != ERR_OK)
        return err;
    struct message mind;
    print_entry(&entry);
    if (calibration_was_off(&j->of, &entry, &mind))
        say_note(MESSAGE_CLI_MIND, message_of(&mind));
    return ERR_OK;
}

static enum err
undo(struct job *j)
{
    struct calib_entry entry;
    const enum err err = refused(j, calibration_undo(&j->of, &entry));
    if (err == ERR_OK)
        print_entry(&entry);
    return err;
}

static void
print_history(const struct job *j)
{
    struct message says;
    if (j->of.history.n_older > 0)
        say_line(stdout, MESSAGE_CALIBRATE_OLDER, j->of.history.n_older, message_path(j->of.path));
    for (int i = 0; i < j->of.history.n; i++)
        print_entry(&j->of.history.entry[i]);
    calibration_tell(&j->of, &says);
    if (!message_is_none(&says))
        say_line(stdout, MESSAGE_CALIBRATE_IN_FORCE, message_of(&says));
    else
        say_line(stdout, MESSAGE_CALIBRATE_PROFILE_ALONE);
}

/* Zeroing was refused since somebody seems to be on: each of those refusals ends so in English. */
static bool
may_be_empty(const struct job *j)
{
    char english[MESSAGE_WORDS_MAX];
    return j->what == CALIB_ZERO && strstr(message_words(&j->why, NULL, english, sizeof english), "and zero again");
}

static int
run(struct job *j, const char *action)
{
    enum err err = refused(j, calibration_load(&j->of, j->words->profile));
    if (err != ERR_OK)
        say_note_of(&j->why);
    if (err != ERR_OK)
        return 2;
    if (strcmp(action, "history") == 0)
        print_history(j);
    else if (strcmp(action, "undo") == 0)
        err = undo(j);
    else
        err = calibrate(j);
    if (err != ERR_OK && may_be_empty(j))
        say_note(MESSAGE_CALIBRATE_UNCHANGED_IF_EMPTY, message_of(&j->why));
    else if (err != ERR_OK)
        say_note(MESSAGE_CALIBRATE_UNCHANGED, message_of(&j->why));
    return err == ERR_OK && fflush(stdout) == 0 ? 0 : 1;
}

/* "equalise", as a calibration's file has it, was the word of an earlier version for "even". */
static bool
what_of(const char *word, enum calib_what *what)
{
    if (strcmp(word, "equalise") == 0)
        say_note(MESSAGE_CALIBRATE_EQUALISE);
    return calib_what_from_name(strcmp(word, "even") == 0 ? "equalise" : word, what);
}

static int
read_action(const struct options_spec *spec, const char *const *word, int n, struct job *j)
{
    if (n == 0)
        return say_refuse(spec, MESSAGE_CALIBRATE_WHAT);
    const bool is_measured = what_of(word[0], &j->what);
    if (!is_measured && strcmp(word[0], "undo") != 0 && strcmp(word[0], "history") != 0)
        return say_refuse(spec, MESSAGE_CALIBRATE_NO_ACTION, word[0]);
    const bool wants_mass = is_measured && (j->what == CALIB_MASS || j->what == CALIB_RUNNING);
    if (wants_mass && (n < 2 || !str_to_double(word[1], &j->mass_kg) || j->mass_kg < 5 || j->mass_kg > 300))
        return say_refuse(spec, MESSAGE_CALIBRATE_NEEDS_MASS, word[0]);
    if (n > (wants_mass ? 2 : 1))
        return say_refuse(spec, MESSAGE_OPTION_WORD_TOO_MANY, word[n - 1]);
    if (!j->words->profile)
        return say_refuse(spec, MESSAGE_CALIBRATE_NEEDS_PROFILE);
    return 0;
}

int
cmd_calibrate(int argc, char **argv)
{
    static const char summary[] =
        N_("Calibrates the sensor of a profile:\n"
        "  zero         nobody on: what it reads now is 0\n"
        "  mass KG      somebody of that mass, as dressed, stands still: sets the gain\n"
        "  running KG   somebody of that mass runs: the mean force over whole strides is body weight; sets "
        "the gain\n"
        "  even         mat: an even roller goes over all of it: sets the gain of each element\n"
        "  undo         takes the last one back\n"
        "  history      all of them, and what is in force\n"
        "Kept in the data folder, under calibration/ and the profile's name; the profile stays as it is. "
        "Every\n"
        "command that is given the profile takes the calibration with it.");
    struct words w = { .port = "auto", .seconds = (double) NAN, .baud = WIRE_BAUD_DEFAULT };
    const struct option_row rows[] = {
        { "port", OPTION_TEXT, "PORT", N_("serial port, pseudo-terminal or recording; auto: find it (auto)"),
          NULL, &w.port, NULL, 0, 0 },
        { "profile", OPTION_TEXT, "FILE", N_("sensor profile, a file or a name from profiles/sensors; required"),
          NULL, &w.profile, NULL, 0, 0 },
        { "seconds", OPTION_NUMBER, "N", N_("how long it is watched (zero, mass 5; running 30; even 30)"),
          NULL, NULL, &w.seconds, 0.5, 600 },
        { "baud", OPTION_NUMBER, "N", N_("line speed of a serial port (115200)"), NULL, NULL, &w.baud, 300,
          12e6 },
        { "empty", OPTION_FLAG, NULL, N_("zero: nobody is on, whatever it looks like"), &w.is_surely_empty, NULL, NULL, 0,
          0 },
    };
    const struct options_spec spec = { "calibrate", "ACTION [KG]", summary, rows,
                                       (int) (sizeof rows / sizeof *rows) };
    const char *word[3];
    const int n = say_options(&spec, argc, argv, word, 3);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    struct job *j = calloc(1, sizeof *j);
    if (!j) {
        say_note(MESSAGE_CLI_NO_MEMORY);
        return 1;
    }
    j->words = &w;
    int code = read_action(&spec, word, n, j);
    if (code == 0) {
        if (isnan(w.seconds))
            w.seconds = calibration_seconds(j->what);
        code = run(j, word[0]);
    }
    free(j);
    return code;
}
