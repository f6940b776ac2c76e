/* cmd_replay.c - `underfoot replay FILE`: a recording through the display, or to text.
 *
 * The same bytes with the same differences of arrival give the same step records as the live session, bit for
 * bit; --steps prints them with every digit, so that two runs can be compared.
 */
#include "base/stop.h"
#include "base/str.h"
#include "cli/commands.h"
#include "cli/run_words.h"
#include "cli/say_options.h"
#include "report/summary.h"
#include "visit/app.h"
#include "visit/rerun.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct replay_words {
    struct run_words run;
    const char *path, *pace;
    bool is_steps;
};

/* What becomes of the steps: lines on stdout, or a summary at the end. */
struct sink {
    bool is_steps;
    enum err err;
    struct summary_maker maker;
};

static void
print_step_header(void)
{
    printf("step,settled,foot,gait,zone,flags,touchdown_us,toe_off_us,cop_fwd_mm,cop_right_mm,body_weight_n,block,"
           "feedback");
    for (int m = 0; m < METRIC_COUNT; m++)
        printf(",%s,%s_standing", metric_info((enum metric) m)->name, metric_info((enum metric) m)->name);
    printf("\n");
}

static void
print_number(double x)
{
    if (isnan(x))
        printf(",");
    else
        printf(",%.17g", x);
}

static void
print_step(const struct coached_step *record)
{
    const struct step *s = &record->step;
    printf("%" PRIu32 ",%d,%d,%d,%d,%" PRIu32 ",%" PRId64 ",%" PRId64, s->number, s->is_settled, (int) s->foot,
           (int) s->gait, (int) s->zone, s->flags, s->touchdown.us, s->toe_off.us);
    print_number(s->cop_fwd_mm);
    print_number(s->cop_right_mm);
    print_number(s->body_weight_n);
    printf(",%d,%d", record->block, record->is_feedback_shown);
    for (int m = 0; m < METRIC_COUNT; m++) {
        print_number(s->value[m]);
        printf(",%d", s->standing[m]);
    }
    printf("\n");
}

static void
take_step(void *context, const struct coached_step *step)
{
    struct sink *k = context;
    if (k->is_steps)
        print_step(step);
    else if (summary_maker_feed(&k->maker, step) != ERR_OK)
        k->err = ERR_MEMORY;
}

static bool
should_stop(void *context)
{
    (void) context;
    return stop_is_asked();
}

/* No screen, no thread: read, feed, until the end. is_lost: some of the recording is damaged or cut; the rest went
 * its way. */
static int
replay_plainly(struct rerun *r, const struct app_config *c, bool *is_lost)
{
    const struct rerun_config rerun = { .session = c->session, .should_stop = should_stop };
    stop_catch_signals();
    app_note_screen(c);
    const enum err err = rerun_play(r, &rerun);
    if (!message_is_none(&r->why) && !(err == ERR_FORMAT && stop_is_asked()))
        say_note_of(&r->why);
    *is_lost = recording_has_lost(&r->recording);
    return err == ERR_OK ? 0 : 1;
}

/* The recording says with what figures and what profile it was made. */
static enum err
open_recording(struct rerun *r, struct app_config *c)
{
    enum err err = rerun_open(r, c->path);
    if (err == ERR_OK)
        err = rerun_set_up(r, &c->session);
    if (err == ERR_OK)
        return ERR_OK;
    say_note_of(&r->why);
    rerun_close(r);
    return err;
}

static enum err
print_summary(const struct sink *k)
{
    struct summary summary;
    struct summary_config c = summary_config_default();
    if (k->err != ERR_OK || summary_make(&k->maker, &c, &summary) != ERR_OK) {
        say_note(MESSAGE_CLI_NO_MEMORY);
        return ERR_MEMORY;
    }
    summary_print(stdout, say_catalogue(), &summary, NULL);
    return ERR_OK;
}

static int
run(struct replay_words *w, const struct options_spec *spec)
{
    struct app_config c = app_config_default();
    struct sink sink = { .is_steps = w->is_steps };
    w->run.is_headless |= w->is_steps;
    int refused = run_words_apply(&w->run, spec, &c);
    if (refused)
        return refused;
    c.path = w->path;
    c.source.pace_ratio = c.has_screen ? 1 : 0;
    if (w->pace && strcmp(w->pace, "max") == 0)
        c.source.pace_ratio = 0;
    else if (w->pace &&
             (!str_to_double(w->pace, &c.source.pace_ratio) || c.source.pace_ratio <= 0 || c.source.pace_ratio > 1000))
        return say_refuse(spec, MESSAGE_REPLAY_NO_PACE, w->pace);
    struct rerun rerun;
    if (open_recording(&rerun, &c) != ERR_OK)
        return 1;
    c.is_rerun = true;
    c.session.on_step = take_step;
    c.session.context = &sink;
    summary_maker_init(&sink.maker);
    if (w->is_steps)
        print_step_header();
    bool is_lost = false;
    int code = c.has_screen || c.shot_path ? app_run(&c) : replay_plainly(&rerun, &c, &is_lost);
    rerun_close(&rerun);
    if (code == 0 && !w->is_steps)
        code = print_summary(&sink) == ERR_OK ? 0 : 1;
    summary_maker_destroy(&sink.maker);
    return is_lost ? 1 : code;
}

int
cmd_replay(int argc, char **argv)
{
    static const char summary[] =
        N_("A recording of `underfoot live --record FILE` through the runner's screen, or without one. Figures and\n"
        "targets are those of the recording unless given here. Nothing is stored. A damaged place in it is passed over\n"
        "and told; without a screen the exit code is 1 then, after all that could be read.");
    struct replay_words w = { 0 };
    const struct option_row own[] = {
        { "pace", OPTION_TEXT, "X", N_("1 as it was, 2 twice as fast, max (1; max without a screen)"), NULL, &w.pace, NULL,
          0, 0 },
        { "steps", OPTION_FLAG, NULL, N_("every step record as CSV on stdout, all digits; no screen"), &w.is_steps, NULL,
          NULL, 0, 0 },
        { "profile", OPTION_TEXT, "FILE", N_("sensor profile (the recording's)"), NULL, &w.run.profile_path, NULL, 0, 0 },
    };
    run_words_init(&w.run, own, (int) (sizeof own / sizeof *own));
    const struct options_spec spec = { "replay", "FILE", summary, w.run.rows, w.run.n_rows };
    const int n = say_options(&spec, argc, argv, &w.path, 1);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    if (n == 0)
        return say_refuse(&spec, MESSAGE_REPLAY_WHICH);
    return run(&w, &spec);
}
