/* cmd_check.c - `underfoot check`: is the sensor fit for use? A table on stdout, or JSON; kept in the store.
 */
#include "app/commands.h"
#include "app/options.h"
#include "app/sensor_profile.h"
#include "app/sensor_run.h"
#include "app/stop.h"
#include "base/log.h"
#include "base/str.h"
#include "report/json.h"
#include "report/number.h"
#include "sense/check.h"
#include "store/store.h"

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

static const char *
board_says(uint32_t code)
{
    if ((code & WIRE_STATUS_FAULT) != 0)
        return "one of its sensor lines is open or shorted";
    if ((code & WIRE_STATUS_LOW_SUPPLY) != 0)
        return "its battery or supply is low";
    if ((code & WIRE_STATUS_OVERRUN) != 0)
        return "it can't keep up with its own samples: lower its rate";
    return NULL;
}

static void
judge(struct job *j)
{
    const struct wire_health *h = &j->run.wire.health;
    const struct check_line line = { .n_bytes = h->n_bytes,
                                     .n_damaged = h->n_bad_crc + h->n_malformed + h->n_too_long,
                                     .n_repeated = h->n_duplicates + j->run.sense.health.n_dropped,
                                     .board_says = board_says(j->run.sense.health.status_code) };
    check_judge(&j->check, &line, &j->report);
}

static const char *
kind_name(const struct sense_profile *p)
{
    return p->kind == FRAME_KIND_MAT ? "mat" : p->kind == FRAME_KIND_CELLS ? "cells" : "switches";
}

static void
put_report(struct json *json, const struct job *j)
{
    const struct sense_profile *p = &j->run.sense.profile;
    char name[16];
    json_open_object(json, NULL);
    json_text(json, "sensor", kind_name(p));
    json_text(json, "port", j->run.source.path);
    json_text(json, "profile", p->name);
    json_text(json, "verdict", check_grade_name(j->report.grade));
    json_number(json, "seconds_empty", j->report.seconds_empty);
    json_number(json, "seconds_loaded", j->report.seconds_loaded);
    json_bool(json, "is_calibrated", !j->report.is_relative && p->kind != FRAME_KIND_SWITCHES);
    for (int i = 0; i < CHECK_N_ITEMS; i++) {
        const struct check_finding *f = &j->report.finding[i];
        json_open_object(json, check_item_name((enum check_item) i));
        json_text(json, "verdict", check_grade_name(f->grade));
        json_number(json, "value", f->value);
        json_text(json, "unit", check_item_unit((enum check_item) i, p->kind));
        json_text(json, "says", f->says);
        json_text(json, "todo", f->todo[0] == '\0' ? NULL : f->todo);
        json_int(json, "n_elements", f->n_elements);
        json_open_array(json, "elements");
        for (int k = 0; k < f->n_elements && k < CHECK_MAX_NAMED; k++)
            json_text(json, NULL, check_element_name(p, f->element[k], name, sizeof name));
        json_close(json);
        json_close(json);
    }
    json_close(json);
}

static void
print_table(const struct job *j)
{
    const struct sense_profile *p = &j->run.sense.profile;
    char text[NUMBER_MAX], name[16];
    printf("sensor     %s, %s (%s)\n\n", kind_name(p), j->run.source.path, p->name);
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

/* The report as a text in memory. False when there is no memory. */
static bool
report_text(const struct job *j, char *out, size_t cap)
{
    char *text = NULL;
    size_t len = 0;
    struct json json;
    FILE *f = open_memstream(&text, &len);
    if (!f)
        return false;
    json_init(&json, f);
    put_report(&json, j);
    const bool is_whole = fclose(f) == 0 && str_copy(out, cap, text);
    free(text);
    return is_whole;
}

/* A check that can't be kept is a check all the same. */
static void
keep(const struct job *j, struct store_check *row)
{
    struct store s;
    char path[STORE_PATH_MAX];
    const char *folder = j->words->store;
    if (folder && snprintf(path, sizeof path, "%s/%s", folder, STORE_FILE_NAME) >= (int) sizeof path) {
        log_note("--store '%.40s...' is too long a path: the check is not kept", folder);
        return;
    }
    enum err err = store_open(&s, folder ? path : NULL, 0);
    if (err == ERR_OK)
        err = store_check_put(&s, row);
    if (err != ERR_OK)
        log_note("the check is not kept: %s", s.why);
    store_close(&s);
}

static int
run(struct job *j)
{
    const struct check_words *w = j->words;
    struct source_config source = source_config_default();
    struct calib_state calibration;
    char why[ERR_WHY_MAX];
    source.baud = (int) w->baud;
    if (w->profile && sensor_profile_load(&j->profile, w->profile, NULL, &calibration, why) != ERR_OK) {
        log_note("--profile %s", why);
        return 2;
    }
    stop_catch_signals();
    enum err err = sensor_run_open(&j->run, w->port, &source, w->profile ? &j->profile : NULL);
    if (err == ERR_OK)
        err = measure(j);
    if (err != ERR_OK) {
        log_note("%s", j->run.why);
        sensor_run_close(&j->run);
        return 1;
    }
    judge(j);
    struct store_check *row = calloc(1, sizeof *row);
    if (!row || !report_text(j, row->report, sizeof row->report)) {
        log_note("no memory left for the report");
        err = ERR_MEMORY;
    } else {
        if (w->is_json)
            fputs(row->report, stdout);
        else
            print_table(j);
        str_copy(row->sensor_kind, sizeof row->sensor_kind, kind_name(&j->run.sense.profile));
        str_copy(row->sensor_name, sizeof row->sensor_name, j->run.source.path);
        str_copy(row->grade, sizeof row->grade, check_grade_name(j->report.grade));
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
