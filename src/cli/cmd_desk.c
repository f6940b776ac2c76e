/* cmd_desk.c - `underfoot desk`, or `underfoot` without a command: the runners page, and a visit from there. */
#include "cli/commands.h"
#include "cli/run_words.h"
#include "cli/say_options.h"
#include "desk/desk.h"

struct desk_words {
    struct run_words run;
    bool is_apart;
};

static int
run(struct desk_words *w, const struct options_spec *spec)
{
    struct app_config c = app_config_default();
    if (!show_has_display()) {
        say_note(MESSAGE_DESK_NO_DISPLAY);
        return 1;
    }
    int refused = run_words_apply(&w->run, spec, &c);
    if (!refused)
        refused = run_words_apply_sensor(&w->run, spec, &c);
    return refused ? refused : desk_open(&c, w->is_apart);
}

int
cmd_desk(int argc, char **argv)
{
    static const char summary[] =
        N_("The physio's panel and the runner's screen: runners, visits, courses. With two displays each has its own; with\n"
        "one, Tab shows and hides the panel. Not a medical device: it shows what was measured against a range that a\n"
        "physiotherapist set.");
    struct desk_words w = { 0 };
    const struct option_row own[] = {
        { "port", OPTION_TEXT, "PORT", N_("serial port, pseudo-terminal or recording; auto: find it (auto)"),
          NULL, &w.run.port, NULL, 0, 0 },
        { "store", OPTION_TEXT, "DIR", N_("folder of the store (the user's data folder)"), NULL,
          &w.run.store, NULL, 0, 0 },
        { "profile", OPTION_TEXT, "FILE", N_("sensor profile (what the board says of itself)"), NULL,
          &w.run.profile_path, NULL, 0, 0 },
        { "panel-window", OPTION_FLAG, NULL, N_("the panel in a window of its own, also on one display"),
          &w.is_apart, NULL, NULL, 0, 0 },
        { "baud", OPTION_NUMBER, "N", N_("line speed of a serial port (115200)"), NULL, NULL, &w.run.baud,
          300, 12e6 },
    };
    run_words_init(&w.run, own, (int) (sizeof own / sizeof *own));
    const struct options_spec spec = { "desk", NULL, summary, w.run.rows, w.run.n_rows };
    const int n = say_options(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    return run(&w, &spec);
}
