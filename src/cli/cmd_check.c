/* cmd_check.c - `underfoot check`: is the sensor fit for use? A table on stdout, or JSON; kept in the store.
 */
#include "base/log.h"
#include "base/options.h"
#include "base/stop.h"
#include "base/utf8.h"
#include "cli/commands.h"
#include "report/check_report.h"
#include "paper/number.h"
#include "setup/sensor_profile.h"
#include "setup/sensor_run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct check_words {
    const char *port, *profile, *store;
    double seconds, loaded_s, baud;
    bool is_json, is_unkept;
};

struct job {
    const struct check_words *words;
    struct sensor_run run;
    struct check check;
    struct check_report report;
    struct sense_profile profile;
};

static void
take(void *context, const struct packet *packet, const struct frame *frame)
{
    check_feed(context, packet, frame);
}

static enum err
measure(struct job *j)
{
    const struct check_words *w = j->words;
    check_init(&j->check, &j->run.sense.profile, sense_rate_hz(&j->run.sense));
    log_note("%s: nobody on the sensor, please: %.0f s", j->run.source.path, w->seconds);
    enum err err = sensor_run_read(&j->run, w->seconds, take, &j->check);
    if (err != ERR_OK || w->loaded_s <= 0)
        return err;
    log_note("now load all of it: walk over it, press single spots with a thumb: %.0f s", w->loaded_s);
    check_begin_loaded(&j->check);
    return sensor_run_read(&j->run, w->loaded_s, take, &j->check);
}

static void
print_table(const struct job *j)
{
    const struct sense_profile *p = &j->run.sense.profile;
    char text[NUMBER_MAX], name[16];
    utf8_print(stdout, "sensor     %s, %s (%s)\n\n", check_report_kind(p), j->run.source.path, p->name);
    printf("%-11s%-10s%10s %-12s%s\n", "item", "verdict", "figure", "", "what was seen");
    for (int i = 0; i < CHECK_N_ITEMS; i++) {
        const struct check_finding *f = &j->report.finding[i];
        printf("%-11s%-10s%10s %-12s%s\n", check_item_name((enum check_item) i), check_grade_name(f->grade),
               isnan(f->value) || isinf(f->value) ? "-" : number_fixed(text, f->value, 2),
               check_item_unit((enum check_item) i, p->kind), f->says);
        for (int k = 0; k < f->n_elements && k < CHECK_MAX_NAMED; k++)
            printf("%s%s",
                   k == 0        ? "           at "
                   : k % 12 == 0 ? "\n              "
                                 : " ",
                   check_element_name(p, f->element[k], name, sizeof name));
        if (f->n_elements > 0)
            printf("%s\n", f->n_elements > CHECK_MAX_NAMED ? " ..." : "");
    }
    bool has_todo = false;
    for (int i = 0; i < CHECK_N_ITEMS; i++) {
        const struct check_finding *f = &j->report.finding[i];
        if (f->todo[0] == '\0')
            continue;
        printf("%s%-11s%s\n", has_todo ? "" : "\nwhat to do\n", check_item_name((enum check_item) i),
               f->todo);
        has_todo = true;
    }
    printf("\nverdict    %s\n", check_grade_name(j->report.grade));
}

/* A check that can't be kept is a check all the same. */
static void
keep(const struct job *j, struct store_check *row)
{
    char path[STORE_PATH_MAX];
    struct message why;
    const char *folder = j->words->store;
    if (folder && snprintf(path, sizeof path, "%s/%s", folder, STORE_FILE_NAME) >= (int) sizeof path) {
        log_note("--store '%.40s...' is too long a path: the check is not kept", folder);
        return;
    }
    if (check_report_keep(row, folder ? path : NULL, &why) != ERR_OK)
        log_note("the check is not kept: %s", message_english(&why));
}

static int
run(struct job *j)
{
    const struct check_words *w = j->words;
    struct source_config source = source_config_default();
    struct calib_state calibration;
    struct message why;
    source.baud = (int) w->baud;
    if (w->profile && sensor_profile_load(&j->profile, w->profile, NULL, &calibration, &why) != ERR_OK) {
        log_note("--profile %s", message_english(&why));
        return 2;
    }
    stop_catch_signals();
    enum err err = sensor_run_open(&j->run, w->port, &source, w->profile ? &j->profile : NULL);
    if (err == ERR_OK)
        err = measure(j);
    if (err != ERR_OK) {
        log_note("%s", message_english(&j->run.why));
        sensor_run_close(&j->run);
        return 1;
    }
    const struct check_line line = check_report_line(&j->run.wire.health, &j->run.sense.health);
    check_judge(&j->check, &line, &j->report);
    struct store_check *row = calloc(1, sizeof *row);
    if (!row || !check_report_row(&j->report, &j->run.sense.profile, j->run.source.path, row)) {
        log_note("no memory left for the report");
        err = ERR_MEMORY;
    } else {
        if (w->is_json)
            fputs(row->report, stdout);
        else
            print_table(j);
        if (!w->is_unkept)
            keep(j, row);
    }
    free(row);
    sensor_run_close(&j->run);
    return err != ERR_OK || j->report.grade == CHECK_BAD || fflush(stdout) != 0 ? 1 : 0;
}

int
cmd_check(int argc, char **argv)
{
    static const char summary[] =
        "Is the sensor fit for use? Watches it with nobody on: rate, jitter and losses, noise, offset, "
        "drift, stuck\n"
        "elements; with --loaded also while somebody loads it: dead, saturated and cross-talking ones. "
        "Prints a\n"
        "verdict for each and what to do. The result is kept, and belongs to the visits of the next 12 hours "
        "with\n"
        "the same sensor. Exit code 1 when something is bad. Let the belt stand still.";
    struct check_words w = { .port = "auto", .seconds = 10, .baud = WIRE_BAUD_DEFAULT };
    const struct option_row rows[] = {
        { "port", OPTION_TEXT, "PORT", "serial port, pseudo-terminal or recording; auto: find it (auto)",
          NULL, &w.port, NULL, 0, 0 },
        { "profile", OPTION_TEXT, "FILE", "sensor profile (what the board says of itself)", NULL, &w.profile,
          NULL, 0, 0 },
        { "seconds", OPTION_NUMBER, "N", "how long with nobody on (10)", NULL, NULL, &w.seconds, 1, 600 },
        { "loaded", OPTION_NUMBER, "N", "then so long while somebody loads all of it (0: not)", NULL, NULL,
          &w.loaded_s, 0, 600 },
        { "baud", OPTION_NUMBER, "N", "line speed of a serial port (115200)", NULL, NULL, &w.baud, 300,
          12e6 },
        { "json", OPTION_FLAG, NULL, "print the report as JSON", &w.is_json, NULL, NULL, 0, 0 },
        { "store", OPTION_TEXT, "DIR", "folder of the store (the user's data folder)", NULL, &w.store, NULL,
          0, 0 },
        { "no-store", OPTION_FLAG, NULL, "do not keep the result", &w.is_unkept, NULL, NULL, 0, 0 },
    };
    const struct options_spec spec = { "check", NULL, summary, rows, (int) (sizeof rows / sizeof *rows) };
    const int n = options_parse(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    struct job *j = calloc(1, sizeof *j);
    if (!j) {
        log_note("no memory left for a check");
        return 1;
    }
    j->words = &w;
    const int code = run(j);
    free(j);
    return code;
}
