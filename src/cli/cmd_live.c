/* cmd_live.c - `underfoot live`: a sensor on a port, the runner's screen, and the store. */
#include "base/log.h"
#include "cli/commands.h"
#include "cli/overwrite.h"
#include "cli/plan_words.h"
#include "cli/run_words.h"
#include "cli/say_options.h"
#include "cli/store_word.h"
#include "visit/app.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define RUNNER_DEFAULT "R-000" /* the one nobody named: made when it is needed; any other is added first */

struct live_words {
    struct run_words run;
    const char *runner, *record;
};

/* Figures and display choices that the command line leaves open come from the runner's row. A code that was never added is more often
 * mistyped than new, and would have no pain limit: 2, after one line. Pain at the runner's own limit begins no visit:
 * 1, likewise. */
static int
fill_from_runner(struct live_words *w, const struct options_spec *spec, struct app_config *c,
                 struct caution_case *cautions)
{
    struct store_runner runner;
    struct pipeline_config *p = &c->session.pipeline;
    const double pain = w->run.pain_before;
    const enum err err = visit_known_runner(c->visit.store_path, w->runner, &runner);
    if (err == ERR_GONE && strcmp(w->runner, RUNNER_DEFAULT) != 0) {
        char words[STORE_PATH_MAX + 64];
        snprintf(words, sizeof words, "%.40s%s%s", w->runner, w->run.store ? " --store " : "", w->run.store ? w->run.store : "");
        return say_refuse(spec, MESSAGE_LIVE_NO_RUNNER, w->runner, words);
    }
    if (err != ERR_OK)
        return 0; /* nobody yet; what else is wrong with the store visit_begin() says */
    if (isnan(p->body_mass_kg))
        p->body_mass_kg = runner.body_mass_kg;
    if (isnan(p->foot_length_mm))
        p->foot_length_mm = runner.foot_length_mm;
    if (isnan(p->leg_length_mm))
        p->leg_length_mm = runner.leg_length_mm;
    run_words_apply_choices(&w->run, runner.code, runner.display, c);
    cautions->pain_limit = runner.pain_limit;
    if (!(pain >= runner.pain_limit)) /* also when either is unknown */
        return 0;
    say_note(MESSAGE_LIVE_AT_LIMIT, pain, runner.pain_limit, runner.code);
    return 1;
}

static void
fill_visit(const struct live_words *w, struct app_config *c)
{
    const struct pipeline_config *p = &c->session.pipeline;
    c->visit.body_mass_kg = w->run.mass_kg;
    c->visit.foot_length_mm = w->run.foot_mm;
    c->visit.leg_length_mm = w->run.leg_mm;
    c->visit.belt_speed_m_s = p->belt_speed_m_s;
    c->visit.pain_before = w->run.pain_before;
    c->visit.n_targets = p->coach.n_targets;
    c->visit.targets = p->coach.target;
    c->visit.focus = p->coach.focus;
}

/* Once the sensor is there: a start that is refused says that alone. */
static void
say_what_comes(const struct app_config *c)
{
    const struct coach_config *coach = &c->session.pipeline.coach;
    struct message told;
    for (int i = 0; caution_tell(c->cautions, i, &told); i++)
        log_tell(&told);
    for (int i = 0; i < coach->n_targets; i++)
        for (unsigned bit = 1; bit <= TARGET_WARN_MANY; bit <<= 1)
            if (target_warnings(coach->target, coach->n_targets, i, (double) NAN) & bit) {
                target_warning_tell(coach->target, i, (double) NAN, (enum target_warning) bit, &told);
                say_note(MESSAGE_CLI_MIND, message_of(&told));
            }
    if (coach->n_targets == 0 && coach->baseline_s > 0 && coach->plan.n_blocks == 0) /* a plan says it itself */
        say_note(MESSAGE_LIVE_BASELINE_FIRST, message_real(coach->baseline_s, 0, MESSAGE_UNIT_S));
}

static int
run(struct live_words *w, const struct options_spec *spec)
{
    struct app_config c = app_config_default();
    int refused = run_words_apply(&w->run, spec, &c);
    if (!refused)
        refused = run_words_apply_sensor(&w->run, spec, &c);
    if (refused)
        return refused;
    if (overwrite_refuses(w->record, w->run.is_forced))
        return 1;
    c.record_path = w->record;
    c.is_record_forced = w->run.is_forced;
    c.visit.runner_code = w->runner;
    store_word_settle(c.visit.store_path);
    struct caution_case cautions = { w->runner, (double) NAN, w->run.pain_before };
    const int no_visit = fill_from_runner(w, spec, &c, &cautions);
    if (no_visit)
        return no_visit;
    const int no_course = plan_words_apply(w->run.plan, w->run.course_visit, spec, &c);
    if (no_course)
        return no_course;
    fill_visit(w, &c);
    c.cautions = &cautions;
    c.on_open = say_what_comes;
    const int code = app_run(&c);
    if (code == 0)
        store_word_keep_copy(c.visit.store_path);
    return code;
}

int
cmd_live(int argc, char **argv)
{
    static const char summary[] =
        N_("Reads a sensor, shows the runner's screen, and keeps every step. Ctrl-C, q, Escape or closing the window\n"
        "ends the visit with a summary on stdout. An unplugged sensor is taken up again when it is back.\n"
        "Not a medical device: it shows what was measured against a range that a physiotherapist set.");
    struct live_words w = { .runner = RUNNER_DEFAULT };
    const struct option_row own[] = {
        { "port", OPTION_TEXT, "PORT", N_("serial port, pseudo-terminal or recording; auto: find it (auto)"), NULL,
          &w.run.port, NULL, 0, 0 },
        { "runner", OPTION_TEXT, "CODE", N_("whose visit this is, as added by `underfoot runner` (R-000)"), NULL, &w.runner, NULL, 0, 0 },
        { "record", OPTION_TEXT, "FILE", N_("keep the sensor's raw bytes for underfoot replay"), NULL, &w.record, NULL, 0,
          0 },
        { "store", OPTION_TEXT, "DIR", N_("folder of the store (the user's data folder)"), NULL, &w.run.store, NULL, 0, 0 },
        { "profile", OPTION_TEXT, "FILE", N_("sensor profile (what the board says of itself)"), NULL, &w.run.profile_path,
          NULL, 0, 0 },
        { "baud", OPTION_NUMBER, "N", N_("line speed of a serial port (115200)"), NULL, NULL, &w.run.baud, 300, 12e6 },
    };
    run_words_init(&w.run, own, (int) (sizeof own / sizeof *own));
    run_words_add_plan(&w.run);
    const struct options_spec spec = { "live", NULL, summary, w.run.rows, w.run.n_rows };
    const int n = say_options(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    return run(&w, &spec);
}
