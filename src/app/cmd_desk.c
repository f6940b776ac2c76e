/* cmd_desk.c - `underfoot desk`, or `underfoot` without a command: the runners page, and a visit from there.
 */
#include "app/commands.h"
#include "app/desk.h"
#include "app/run_words.h"
#include "base/log.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

struct desk_words {
    struct run_words run;
    const char *port, *store;
    double baud;
    bool is_apart;
};

static int
run(const struct desk_words *w, const struct options_spec *spec, struct sense_profile *profile)
{
    struct app_config c = app_config_default();
    char store_path[STORE_PATH_MAX];
    if (!show_has_display()) {
        log_note("no display here: start a graphical session; `underfoot live --headless` runs without one");
        return 1;
    }
    const int refused = run_words_apply(&w->run, spec, profile, &c);
    if (refused)
        return refused;
    if (w->store) {
        if (snprintf(store_path, sizeof store_path, "%s/%s", w->store, STORE_FILE_NAME) >=
            (int) sizeof store_path)
            return options_refuse(spec, "--store '%.40s...' is too long a path", w->store);
        c.visit.store_path = store_path;
    }
    c.path = w->port;
    c.source.baud = (int) w->baud;
    c.source.pace_ratio = 1;
    c.is_stored = true;
    return desk_open(&c, w->is_apart);
}

int
cmd_desk(int argc, char **argv)
{
    static const char summary[] = "The physio's panel and the runner's screen: runners, visits, courses. "
                                  "With two displays each has its own; with\n"
                                  "one, Tab shows and hides the panel. Not a medical device: it shows what "
                                  "was measured against a range that a\n"
                                  "physiotherapist set.";
    struct desk_words w = { .port = "auto", .baud = WIRE_BAUD_DEFAULT };
    const struct option_row own[] = {
        { "port", OPTION_TEXT, "PORT", "serial port, pseudo-terminal or recording; auto: find it (auto)",
          NULL, &w.port, NULL, 0, 0 },
        { "store", OPTION_TEXT, "DIR", "folder of the store (the user's data folder)", NULL, &w.store, NULL,
          0, 0 },
        { "profile", OPTION_TEXT, "FILE", "sensor profile (what the board says of itself)", NULL,
          &w.run.profile_path, NULL, 0, 0 },
        { "panel-window", OPTION_FLAG, NULL, "the panel in a window of its own, also on one display",
          &w.is_apart, NULL, NULL, 0, 0 },
        { "baud", OPTION_NUMBER, "N", "line speed of a serial port (115200)", NULL, NULL, &w.baud, 300,
          12e6 },
    };
    run_words_init(&w.run, own, (int) (sizeof own / sizeof *own));
    const struct options_spec spec = { "desk", NULL, summary, w.run.rows, w.run.n_rows };
    const int n = options_parse(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    struct sense_profile *profile = malloc(sizeof *profile);
    if (!profile) {
        log_note("no memory left for a sensor profile");
        return 1;
    }
    const int code = run(&w, &spec, profile);
    free(profile);
    return code;
}
