/* cmd_visits.c - `underfoot visits` lists the stored visits; `underfoot visits show ID` sums one up.
 *
 * A read-only store is read as it is: the list needs no writing unless the store is from an older version. */
#include "app/commands.h"

#include "app/options.h"
#include "base/fileio.h"
#include "base/log.h"
#include "base/str.h"
#include "report/json.h"
#include "report/local_time.h"
#include "report/summary.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct visits_list {
    struct json json;
    bool is_json;
    int n;
};

static void
print_row(const struct store_visit *v)
{
    char started[LOCAL_TIME_MAX];
    char length[32] = "-";

    if (isfinite(v->length_s)) {
        long seconds = lround(v->length_s);
        snprintf(length, sizeof length, "%ld:%02ld", seconds / 60, seconds % 60);
    }
    printf("%6" PRId64 "  %-16s  %-12s  %8s  %7" PRId64 "  %s\n", v->id,
           local_time_short(started, v->started_utc_ms, v->zone_offset_min), v->runner_code, length,
           v->n_steps, v->is_finished ? "finished" : "unfinished");
}

static void
print_row_json(struct json *j, const struct store_visit *v)
{
    char started[LOCAL_TIME_MAX];

    json_open_object(j, NULL);
    json_int(j, "id", v->id);
    json_text(j, "started", local_time_iso(started, v->started_utc_ms, v->zone_offset_min));
    json_text(j, "runner", v->runner_code);
    json_number(j, "length_s", v->length_s);
    json_int(j, "steps", v->n_steps);
    json_text(j, "state", v->is_finished ? "finished" : "unfinished");
    json_close(j);
}

static bool
list_one(void *context, const struct store_visit *v)
{
    struct visits_list *list = context;

    if (list->is_json)
        print_row_json(&list->json, v);
    else if (list->n == 0)
        printf("%6s  %-16s  %-12s  %8s  %7s  %s\n", "id", "started", "runner", "min:s", "steps", "state");
    if (!list->is_json)
        print_row(v);
    list->n++;
    return true;
}

static enum err
list_visits(struct store *s, const char *code, bool is_json)
{
    struct visits_list list = { .is_json = is_json };
    struct store_runner runner = { .id = 0 };
    enum err err = code == NULL ? ERR_OK : store_runner_get(s, code, &runner);

    if (err != ERR_OK)
        return err;
    json_init(&list.json, stdout);
    if (is_json)
        json_open_array(&list.json, NULL);
    err = store_visits(s, runner.id, list_one, &list);
    if (is_json)
        json_close(&list.json);
    if (err == ERR_OK && list.n == 0)
        log_note("no visits in %s yet", s->path);
    return err;
}

static enum err
show_visit(struct store *s, int64_t id, bool is_json)
{
    struct store_visit visit;
    /* Some kilobytes: fine on this thread's stack. */
    struct summary summary;
    enum err err = summary_of_visit(s, id, &visit, &summary);

    if (err != ERR_OK)
        return err;
    if (is_json)
        summary_print_json(stdout, &summary, &visit);
    else
        summary_print(stdout, &summary, &visit);
    return ERR_OK;
}

static enum err
open_for_reading(struct store *s, const char *folder)
{
    char path[STORE_PATH_MAX];
    const char *at = NULL; /* the usual place */
    enum err err;

    if (folder != NULL) {
        err = fileio_join(path, sizeof path, folder, STORE_FILE_NAME, s->why);
        if (err != ERR_OK)
            return err;
        at = path;
    }
    err = store_open(s, at, STORE_MUST_EXIST);

    /* May be a read-only file: reading still works then. What is damaged or newer stays refused. */
    return err == ERR_OS ? store_open(s, at, STORE_READ_ONLY) : err;
}

int
cmd_visits(int argc, char **argv)
{
    bool is_json = false;
    const char *runner = NULL, *folder = NULL;
    const char *word[2];
    int64_t id = 0;
    const struct option_row rows[] = {
        { .name = "json", .type = OPTION_FLAG, .help = "print JSON instead of text", .flag = &is_json },
        { .name = "runner",
          .type = OPTION_TEXT,
          .argument = "CODE",
          .help = "list only this runner's visits",
          .text = &runner },
        { .name = "store",
          .type = OPTION_TEXT,
          .argument = "DIR",
          .help = "folder of the store (the user's data folder)",
          .text = &folder },
    };
    const struct options_spec spec = { .command = "visits",
                                       .positional = "[show ID]",
                                       .summary =
                                           "Lists the stored visits, the newest first; show ID sums one up.",
                                       .rows = rows,
                                       .n_rows = (int) (sizeof rows / sizeof rows[0]) };
    int n = options_parse(&spec, argc, argv, word, 2);

    if (n == OPTIONS_HELP)
        return 0;
    if (n == OPTIONS_BAD)
        return 2;
    if (n > 0 && strcmp(word[0], "show") != 0)
        return options_refuse(&spec, "%s is not known here: say `show ID`, or nothing for the list", word[0]);
    if (n > 0 && (n < 2 || !str_to_i64(word[1], &id) || id < 1))
        return options_refuse(&spec, "show needs the number of a visit, as in the list");

    struct store store = { .db = NULL };
    enum err err = open_for_reading(&store, folder);
    if (err == ERR_GONE && n == 0) {
        log_note("no visits yet: %s", store.why);
        if (is_json)
            puts("[]");
        return 0;
    }
    if (err == ERR_OK)
        err = n == 0 ? list_visits(&store, runner, is_json) : show_visit(&store, id, is_json);
    if (err == ERR_OK && (fflush(stdout) != 0 || ferror(stdout))) {
        str_copy(store.why, sizeof store.why, "can't write to the standard output");
        err = ERR_OS;
    }
    if (err != ERR_OK)
        log_note("%s", store.why);
    store_close(&store);
    return err == ERR_OK ? 0 : 1;
}
