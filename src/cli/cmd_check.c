/* cmd_check.c - `underfoot check`: is the sensor fit for use? A table on stdout, or JSON; kept in the store.
 */
#include "base/stop.h"
#include "base/utf8.h"
#include "cli/commands.h"
#include "cli/say_options.h"
#include "cli/say_table.h"
#include "paper/phrase.h"
#include "report/check_report.h"
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
    say_note(MESSAGE_CHECK_EMPTY, message_path(j->run.source.path), message_real(w->seconds, 0, MESSAGE_UNIT_S));
    enum err err = sensor_run_read(&j->run, w->seconds, take, &j->check);
    if (err != ERR_OK || w->loaded_s <= 0)
        return err;
    say_note(MESSAGE_CHECK_LOAD, message_real(w->loaded_s, 0, MESSAGE_UNIT_S));
    check_begin_loaded(&j->check);
    return sensor_run_read(&j->run, w->loaded_s, take, &j->check);
}

/* Of the items' names, the verdicts and the units. */
enum { COLUMN_ITEM, COLUMN_VERDICT, COLUMN_FIGURE, COLUMN_UNIT, COLUMN_SAYS, N_COLUMNS };
static const struct say_column COLUMNS[N_COLUMNS] = {
    [COLUMN_ITEM] = { NC_("table", "item"), 9, 0, false },
    [COLUMN_VERDICT] = { NC_("table", "verdict"), 8, 2, false },
    [COLUMN_FIGURE] = { NC_("table", "figure"), 10, 2, true },
    [COLUMN_UNIT] = { "", 12, 1, false },
    [COLUMN_SAYS] = { NC_("table", "what was seen"), 0, 0, false },
};

/* Wide enough for what stands in them in this language. */
static void
fit_columns(struct say_column column[N_COLUMNS])
{
    for (int i = 0; i < N_COLUMNS; i++)
        column[i] = COLUMNS[i];
    for (int i = 0; i < CHECK_N_ITEMS; i++)
        say_widen(&column[COLUMN_ITEM], say_word(check_item_name((enum check_item) i)));
    for (int i = 0; i <= CHECK_BAD; i++)
        say_widen(&column[COLUMN_VERDICT], say_word(check_grade_name((enum check_grade) i)));
}

static void
print_elements(const struct sense_profile *p, const struct check_finding *f, int indent)
{
    char name[16];
    for (int k = 0; k < f->n_elements && k < CHECK_MAX_NAMED; k++) {
        if (k == 0)
            printf("%*s%s ", indent, "", say_table_word(NC_("table", "at")));
        else if (k % 12 == 0)
            printf("\n%*s", indent + phrase_columns(say_table_word("at")) + 1, "");
        else
            printf(" ");
        printf("%s", check_element_name(p, f->element[k], name, sizeof name));
    }
    if (f->n_elements > 0)
        printf("%s\n", f->n_elements > CHECK_MAX_NAMED ? " ..." : "");
}

static void
print_table(const struct job *j)
{
    static const char *const label[] = { NC_("table", "sensor"), NC_("table", "verdict") };
    const struct sense_profile *p = &j->run.sense.profile;
    const int width = say_labels_width(label, 2);
    struct say_column column[N_COLUMNS];
    char text[SAY_NUMBER_MAX], says[SAY_MAX];
    fit_columns(column);
    const int indent = column[COLUMN_ITEM].width + 2;
    say_label(stdout, label[0], width + 2);
    utf8_print(stdout, "%s, %s (%s)\n\n", check_report_kind(p), j->run.source.path, p->name);
    say_head(stdout, column, N_COLUMNS);
    for (int i = 0; i < CHECK_N_ITEMS; i++) {
        const struct check_finding *f = &j->report.finding[i];
        const char *const cell[N_COLUMNS] = { say_word(check_item_name((enum check_item) i)),
                                              say_word(check_grade_name(f->grade)), say_number(text, f->value, 2),
                                              say_word(check_item_unit((enum check_item) i, p->kind)), say_text_of(&f->says, says) };
        say_row(stdout, column, N_COLUMNS, cell);
        print_elements(p, f, indent);
    }
    bool has_todo = false;
    for (int i = 0; i < CHECK_N_ITEMS; i++) {
        const struct check_finding *f = &j->report.finding[i];
        if (f->todo[0] == '\0')
            continue;
        if (!has_todo)
            printf("\n%s\n", say_table_word(NC_("table", "what to do")));
        say_cell(stdout, say_word(check_item_name((enum check_item) i)), indent, false);
        printf("%s\n", say_word(f->todo));
        has_todo = true;
    }
    printf("\n");
    say_label(stdout, label[1], width + 2);
    printf("%s\n", say_word(check_grade_name(j->report.grade)));
}

/* A check that can't be kept is a check all the same. */
static void
keep(const struct job *j, struct store_check *row)
{
    char path[STORE_PATH_MAX];
    struct message why;
    const char *folder = j->words->store;
    if (folder && snprintf(path, sizeof path, "%s/%s", folder, STORE_FILE_NAME) >= (int) sizeof path) {
        say_note(MESSAGE_CHECK_PATH_TOO_LONG, folder);
        return;
    }
    if (check_report_keep(row, folder ? path : NULL, &why) != ERR_OK)
        say_note(MESSAGE_CHECK_NOT_KEPT, message_of(&why));
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
        say_note(MESSAGE_CLI_OPTION_REFUSED, "profile", message_of(&why));
        return 2;
    }
    stop_catch_signals();
    enum err err = sensor_run_open(&j->run, w->port, &source, w->profile ? &j->profile : NULL);
    if (err == ERR_OK)
        err = measure(j);
    if (err != ERR_OK) {
        say_note_of(&j->run.why);
        sensor_run_close(&j->run);
        return 1;
    }
    const struct check_line line = check_report_line(&j->run.wire.health, &j->run.sense.health);
    check_judge(&j->check, &line, &j->report);
    struct store_check *row = calloc(1, sizeof *row);
    if (!row || !check_report_row(&j->report, &j->run.sense.profile, j->run.source.path, row)) {
        say_note(MESSAGE_CLI_NO_MEMORY);
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
        N_("Is the sensor fit for use? Watches it with nobody on: rate, jitter and losses, noise, offset, "
        "drift, stuck\n"
        "elements; with --loaded also while somebody loads it: dead, saturated and cross-talking ones. "
        "Prints a\n"
        "verdict for each and what to do. The result is kept, and belongs to the visits of the next 12 hours "
        "with\n"
        "the same sensor. Exit code 1 when something is bad. Let the belt stand still.");
    struct check_words w = { .port = "auto", .seconds = 10, .baud = WIRE_BAUD_DEFAULT };
    const struct option_row rows[] = {
        { "port", OPTION_TEXT, "PORT", N_("serial port, pseudo-terminal or recording; auto: find it (auto)"),
          NULL, &w.port, NULL, 0, 0 },
        { "profile", OPTION_TEXT, "FILE", N_("sensor profile (what the board says of itself)"), NULL, &w.profile,
          NULL, 0, 0 },
        { "seconds", OPTION_NUMBER, "N", N_("how long with nobody on (10)"), NULL, NULL, &w.seconds, 1, 600 },
        { "loaded", OPTION_NUMBER, "N", N_("then so long while somebody loads all of it (0: not)"), NULL, NULL,
          &w.loaded_s, 0, 600 },
        { "baud", OPTION_NUMBER, "N", N_("line speed of a serial port (115200)"), NULL, NULL, &w.baud, 300,
          12e6 },
        { "json", OPTION_FLAG, NULL, N_("print the report as JSON"), &w.is_json, NULL, NULL, 0, 0 },
        { "store", OPTION_TEXT, "DIR", N_("folder of the store (the user's data folder)"), NULL, &w.store, NULL,
          0, 0 },
        { "no-store", OPTION_FLAG, NULL, N_("do not keep the result"), &w.is_unkept, NULL, NULL, 0, 0 },
    };
    const struct options_spec spec = { "check", NULL, summary, rows, (int) (sizeof rows / sizeof *rows) };
    const int n = say_options(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    struct job *j = calloc(1, sizeof *j);
    if (!j) {
        say_note(MESSAGE_CLI_NO_MEMORY);
        return 1;
    }
    j->words = &w;
    const int code = run(j);
    free(j);
    return code;
}
