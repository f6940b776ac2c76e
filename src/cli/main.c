/* main.c - one table of commands; picks one and hands it its words. */
#include "base/fileio.h"
#include "base/version.h"
#include "cli/commands.h"
#include "cli/say.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

struct command {
    const char *name;
    int (*run)(int argc, char **argv);
    const char *summary;
};

static const struct command COMMANDS[] = {
    { "desk", cmd_desk, N_("the physio's panel and the runner's screen; the same without a command") },
    { "demo", cmd_demo, N_("the runner's screen with a simulated runner; nothing is kept") },
    { "live", cmd_live, N_("a sensor on a port, the runner's screen, and the store") },
    { "replay", cmd_replay, N_("a recording through the runner's screen, or to text") },
    { "steps", cmd_steps, N_("a recording or a force trace to a step table") },
    { "mimic", cmd_mimic, N_("a simulated sensor on a pseudo-terminal") },
    { "ports", cmd_ports, N_("serial ports and the sensors on them, one a line") },
    { "check", cmd_check, N_("is the sensor fit for use? noise, dead elements, rate, losses") },
    { "calibrate", cmd_calibrate, N_("zero, gain by a mass, even elements; history and undo") },
    { "runner", cmd_runner, N_("runners: add, list, show, edit, forget") },
    { "visits", cmd_visits, N_("stored visits: list, show, add what was seen and said") },
    { "report", cmd_report, N_("a page to print of a visit or of a course") },
    { "export", cmd_export, N_("a visit as CSV, JSON, or FHIR R4 bundle") },
    { "keep", cmd_keep, N_("a copy of the store") },
    { "restore", cmd_restore, N_("a copy in the place of the store; the store of today is kept") },
    { "repair", cmd_repair, N_("what can be read of a damaged store, in a new one") },
    { "remeasure", cmd_remeasure, N_("visits measured again from their recordings, by today's engine") },
    { NULL, NULL, NULL },
};

static void
print_usage(FILE *out)
{
    say_line(out, MESSAGE_CLI_USAGE);
    for (const struct command *c = COMMANDS; c->name; c++)
        fprintf(out, "  %-10s%s\n", c->name, say_word(c->summary));
    fputc('\n', out);
    say_line(out, MESSAGE_CLI_USAGE_END);
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
    say_note(MESSAGE_CLI_NO_COMMAND, argv[1]);
    return 2;
}

/* What could not be printed was not done, whatever the command thinks. */
int
main(int argc, char **argv)
{
    /* Whoever's umask it was: it neither opens a runner's data to others nor shuts them to us. */
    umask(0077);
    say_open();
    int code = run(argc, argv);
    const int number = fileio_flush_error(stdout);
    if (number != 0 && code == 0) {
        say_note(MESSAGE_CLI_OUTPUT_REFUSED, message_errno(number));
        code = 1;
    }
    say_close();
    return code;
}
