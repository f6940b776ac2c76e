/* main.c - one table of commands; picks one and hands it its words. */
#include "base/fileio.h"
#include "base/log.h"
#include "base/utf8.h"
#include "base/version.h"
#include "cli/commands.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

struct command {
    const char *name;
    int (*run)(int argc, char **argv);
    const char *summary;
};

static const struct command COMMANDS[] = {
    { "desk", cmd_desk, "the physio's panel and the runner's screen; the same without a command" },
    { "demo", cmd_demo, "the runner's screen with a simulated runner; nothing is kept" },
    { "live", cmd_live, "a sensor on a port, the runner's screen, and the store" },
    { "replay", cmd_replay, "a recording through the runner's screen, or to text" },
    { "steps", cmd_steps, "a recording or a force trace to a step table" },
    { "mimic", cmd_mimic, "a simulated sensor on a pseudo-terminal" },
    { "ports", cmd_ports, "serial ports and the sensors on them, one a line" },
    { "check", cmd_check, "is the sensor fit for use? noise, dead elements, rate, losses" },
    { "calibrate", cmd_calibrate, "zero, gain by a mass, even elements; history and undo" },
    { "runner", cmd_runner, "runners: add, list, show, edit, forget" },
    { "visits", cmd_visits, "stored visits: list, show, add what was seen and said" },
    { "report", cmd_report, "a page to print of a visit or of a course" },
    { "export", cmd_export, "a visit as CSV, JSON, or FHIR R4 bundle" },
    { "keep", cmd_keep, "a copy of the store" },
    { "restore", cmd_restore, "a copy in the place of the store; the store of today is kept" },
    { "repair", cmd_repair, "what can be read of a damaged store, in a new one" },
    { "remeasure", cmd_remeasure, "visits measured again from their recordings, by today's engine" },
    { NULL, NULL, NULL },
};

static void
print_usage(FILE *out)
{
    fprintf(out, "usage: underfoot [options]\n       underfoot COMMAND [options]\n\n"
                 "Without a command: as underfoot desk.\n\ncommands:\n");
    for (const struct command *c = COMMANDS; c->name; c++)
        fprintf(out, "  %-10s%s\n", c->name, c->summary);
    fprintf(out, "\n`underfoot COMMAND --help` tells more of each; `underfoot --version` the version.\n"
                 "Underfoot shows what was measured against a range that a physiotherapist set. It is not a\n"
                 "medical device and makes no diagnosis: the treating clinician decides.\n");
}

static int
run(int argc, char **argv)
{
    if (argc < 2)
        return cmd_desk(argc, argv);
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0 || strcmp(argv[1], "help") == 0) {
        print_usage(stdout);
        return 0;
    }
    if (strcmp(argv[1], "--version") == 0) {
        printf("underfoot %s\n", VERSION_TEXT);
        return 0;
    }
    if (argv[1][0] == '-')
        return cmd_desk(argc, argv);
    for (const struct command *c = COMMANDS; c->name; c++)
        if (strcmp(argv[1], c->name) == 0)
            return c->run(argc - 1, argv + 1);
    utf8_print(stderr, "underfoot: '%s' is no command; `underfoot --help` lists them\n", argv[1]);
    return 2;
}

/* What could not be printed was not done, whatever the command thinks. */
int
main(int argc, char **argv)
{
    /* Whoever's umask it was: it neither opens a runner's data to others nor shuts them to us. */
    umask(0077);
    const int code = run(argc, argv);
    const int number = fileio_flush_error(stdout);
    if (number == 0 || code != 0)
        return code;
    log_note("can't write to the standard output: %s", strerror(number));
    return 1;
}
