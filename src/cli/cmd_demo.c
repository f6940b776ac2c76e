/* cmd_demo.c - `underfoot demo`: the display with a simulated runner, who answers to it, and a throw-away store.
 *
 * With a display: the simulated sensor runs in a thread of its own on a pseudo-terminal, and the live session
 * reads it as it would any port. Without: headless.h, in virtual time.
 */
#include "base/mailbox.h"
#include "base/stop.h"
#include "base/str.h"
#include "cli/commands.h"
#include "cli/demo.h"
#include "cli/headless.h"
#include "cli/plan_words.h"
#include "cli/run_words.h"
#include "cli/say_options.h"
#include "desk/desk.h"
#include "sim/cast.h"

#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define HEADLESS_S 180.0
#define BASELINE_S 15.0
#define FOLDER_MAX 512

struct demo_words {
    struct run_words run;
    const char *kind, *wire, *runner;
    double seed;
    bool has_panel;
};

/* The simulated sensor's thread, and the way back to it from the display. */
struct demo {
    struct mimic mimic;
    struct mimic_config config;
    int fd;
    char path[MIMIC_PATH_MAX];
    pthread_t thread;
    atomic_bool is_stopping;
    struct mailbox to_runner;
    struct mimic_feedback slots[MAILBOX_N_BUFFERS];
    struct mimic_feedback newest; /* simulated sensor's thread */
};

static void
tell_runner(void *context, const struct verdict *v)
{
    const struct mimic_feedback f = demo_feedback(v);
    mailbox_put(&((struct demo *) context)->to_runner, &f);
}

static void
ask_display(void *user, struct mimic_feedback *out)
{
    struct demo *d = user;
    mailbox_take(&d->to_runner, &d->newest);
    *out = d->newest;
}

static bool
should_stop(void *user)
{
    return atomic_load(&((struct demo *) user)->is_stopping);
}

static void *
run_sensor(void *context)
{
    struct demo *d = context;
    if (mimic_run(&d->mimic, d->fd) != ERR_OK)
        say_note(MESSAGE_DEMO_SENSOR, message_of(&d->mimic.why));
    return NULL;
}

/* Real time, through a pseudo-terminal. */
static int
run_live(struct demo *d, struct app_config *app, bool has_panel)
{
    struct message why;
    d->newest = (struct mimic_feedback){ (double) NAN, (double) NAN, false };
    mailbox_init(&d->to_runner, d->slots, sizeof d->slots[0]);
    d->config.ask = ask_display;
    d->config.should_stop = should_stop;
    d->config.user = d;
    mimic_init(&d->mimic, &d->config);
    if (mimic_open_pty(&d->fd, d->path, &why) != ERR_OK) {
        say_note(MESSAGE_DEMO_SENSOR, message_of(&why));
        return 1;
    }
    stop_block_signals(true);
    const int refused = pthread_create(&d->thread, NULL, run_sensor, d);
    stop_block_signals(false);
    if (refused) {
        say_note(MESSAGE_DEMO_NO_THREAD, message_errno(refused));
        close(d->fd);
        return 1;
    }
    app->path = d->path;
    app->on_verdict = tell_runner;
    app->on_verdict_context = d;
    const int code = has_panel ? desk_open(app, false) : app_run(app);
    atomic_store(&d->is_stopping, true);
    pthread_join(d->thread, NULL);
    close(d->fd);
    return code;
}

/* Every visit's, and their folder. */
static void
remove_recordings(const char *folder)
{
    char path[2 * FOLDER_MAX];
    snprintf(path, sizeof path, "%s/recordings", folder);
    DIR *dir = opendir(path);
    if (!dir)
        return;
    for (const struct dirent *e; (e = readdir(dir));)
        if (str_ends_with(e->d_name, ".rec")) {
            snprintf(path, sizeof path, "%s/recordings/%s", folder, e->d_name);
            unlink(path);
        }
    closedir(dir);
    snprintf(path, sizeof path, "%s/recordings", folder);
    rmdir(path);
}

/* Everything in the folder that the demo made, and the folder, when nothing else is left in it. */
static void
remove_store(const char *folder, bool is_folder_kept)
{
    static const char *const tails[] = { "", "-wal", "-shm", "-journal", ".running" };
    char path[FOLDER_MAX + 64];
    for (size_t i = 0; i < sizeof tails / sizeof *tails; i++) {
        snprintf(path, sizeof path, "%s/%s%s", folder, STORE_FILE_NAME, tails[i]);
        unlink(path);
    }
    remove_recordings(folder);
    if (!is_folder_kept)
        rmdir(folder);
}

static bool
make_folder(char folder[FOLDER_MAX])
{
    const char *tmp = getenv("TMPDIR");
    snprintf(folder, FOLDER_MAX, "%s/underfoot-demo-XXXXXX", tmp && tmp[0] ? tmp : "/tmp");
    if (mkdtemp(folder))
        return true;
    say_note(MESSAGE_DEMO_NO_FOLDER, message_path(folder), message_errno(errno));
    return false;
}

/* What a physio would have entered for this runner, unless the command line says otherwise. */
static void
fill_body(struct pipeline_config *p, const struct runner_style *style)
{
    p->body_mass_kg = isnan(p->body_mass_kg) ? style->mass_kg : p->body_mass_kg;
    p->belt_speed_m_s = isnan(p->belt_speed_m_s) ? style->speed_m_s : p->belt_speed_m_s;
    p->foot_length_mm = isnan(p->foot_length_mm) ? style->foot_length_mm : p->foot_length_mm;
    p->leg_length_mm = isnan(p->leg_length_mm) ? style->leg_length_mm : p->leg_length_mm;
}

/* The simulated belt runs at one speed: no block may say another. */
static void
hold_belt(struct plan *plan, double speed_m_s)
{
    for (int i = 0; i < plan->n_blocks; i++)
        plan->block[i].belt_speed_m_s = speed_m_s;
}

/* The simulated runner in the throw-away store, so that the panel has one to begin with. */
static void
put_runner(const struct app_config *app, const char *code)
{
    struct store s;
    struct store_runner r = store_runner_default(code);
    r.body_mass_kg = app->session.pipeline.body_mass_kg;
    r.leg_length_mm = app->session.pipeline.leg_length_mm;
    r.foot_length_mm = app->session.pipeline.foot_length_mm;
    if (store_open(&s, app->visit.store_path, 0) != ERR_OK || store_runner_save(&s, &r) != ERR_OK)
        say_note_of(&s.why);
    store_close(&s);
}

static int
run_headless(struct demo *d, struct app_config *app, const char *folder)
{
    char shot[FOLDER_MAX + 16], summary[FOLDER_MAX + 16];
    struct headless_config h = { .app = app, .mimic = d->config, .summary_path = summary };
    snprintf(shot, sizeof shot, "%s/screen.png", folder);
    snprintf(summary, sizeof summary, "%s/summary.txt", folder);
    if (!app->shot_path)
        app->shot_path = shot;
    const bool has_plan = app->session.pipeline.coach.plan.n_blocks > 0;
    h.mimic.seconds = isfinite(app->seconds) || has_plan ? app->seconds : HEADLESS_S;
    if (isfinite(h.mimic.seconds))
        say_note(MESSAGE_DEMO_SECONDS, lround(h.mimic.seconds));
    else
        say_note(MESSAGE_DEMO_PLAN);
    const int code = headless_run(&h);
    if (code == 0) {
        putchar('\n');
        say_line(stdout, MESSAGE_DEMO_FILES, message_path(app->shot_path), message_path(summary));
    }
    return code;
}

static int
run(struct demo *d, struct demo_words *w, const struct options_spec *spec)
{
    struct app_config app = app_config_default();
    char folder[FOLDER_MAX], store_path[FOLDER_MAX + 32];
    struct message why;
    struct cast_runner runner;
    app.session.pipeline.coach.baseline_s = BASELINE_S;
    if (!cast_runner_find(w->runner, &runner))
        return say_refuse(spec, MESSAGE_DEMO_NO_RUNNER, w->runner);
    d->config = mimic_config_default();
    if (!demo_board(w->kind, w->wire, &d->config.board, &why))
        return say_refuse_of(spec, &why);
    const int refused = run_words_apply(&w->run, spec, &app);
    if (refused)
        return refused;
    d->config.runner.style = runner.style;
    d->config.runner.seed = (uint64_t) w->seed;
    if (!isnan(w->run.speed_m_s))
        d->config.runner.style.speed_m_s = w->run.speed_m_s;
    fill_body(&app.session.pipeline, &d->config.runner.style);
    mimic_init(&d->mimic, &d->config);
    demo_profile(&d->mimic, &w->run.profile);
    app.session.pipeline.profile = &w->run.profile;
    if (!make_folder(folder))
        return 1;
    snprintf(store_path, sizeof store_path, "%s/%s", folder, STORE_FILE_NAME);
    app.is_stored = true;
    app.visit.store_path = store_path;
    app.visit.runner_code = w->runner;
    app.visit.pain_before = w->run.pain_before;
    const int no_course = plan_words_apply(w->run.plan, w->run.course_visit, spec, &app);
    if (no_course) {
        remove_store(folder, false);
        return no_course;
    }
    hold_belt(&app.session.pipeline.coach.plan, app.session.pipeline.belt_speed_m_s);
    app.visit.n_targets = app.session.pipeline.coach.n_targets;
    app.visit.targets = app.session.pipeline.coach.target;
    app.visit.focus = app.session.pipeline.coach.focus;
    app.visit.belt_speed_m_s = app.session.pipeline.belt_speed_m_s;
    const bool is_headless = !app.has_screen;
    if (!is_headless && w->has_panel)
        put_runner(&app, w->runner);
    const int code = is_headless ? run_headless(d, &app, folder) : run_live(d, &app, w->has_panel);
    remove_store(folder, is_headless && code == 0);
    return code;
}

int
cmd_demo(int argc, char **argv)
{
    static const char summary[] =
        N_("The runner's screen with a simulated runner, who answers to what is shown: first a short silent baseline,\n"
        "then targets from it. Nothing is kept: the store is thrown away. Without a display some simulated minutes\n"
        "run at full pace, and a screenshot and the visit's summary are left behind.");
    struct demo_words w = { .kind = "mat", .wire = "binary", .runner = CAST_RUNNER_DEFAULT, .seed = 1 };
    const struct option_row own[] = {
        { "kind", OPTION_TEXT, "KIND", N_("of sensor: mat, cells or switches (mat)"), NULL, &w.kind, NULL, 0, 0 },
        { "wire", OPTION_TEXT, "WIRE", N_("text or binary (binary)"), NULL, &w.wire, NULL, 0, 0 },
        { "runner", OPTION_TEXT, "CODE", N_("simulated runner (R-014)"), NULL, &w.runner, NULL, 0, 0 },
        { "panel", OPTION_FLAG, NULL, N_("the physio's panel over it: runners, a visit, a course"), &w.has_panel, NULL, NULL, 0, 0 },
        { "seed", OPTION_NUMBER, "N", N_("equal seeds give equal runs (1)"), NULL, NULL, &w.seed, 0, 4294967295.0 },
    };
    run_words_init(&w.run, own, (int) (sizeof own / sizeof *own));
    run_words_add_plan(&w.run);
    const struct options_spec spec = { "demo", NULL, summary, w.run.rows, w.run.n_rows };
    const int n = say_options(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    struct demo *d = calloc(1, sizeof *d);
    if (!d) {
        say_note(MESSAGE_CLI_NO_MEMORY);
        return 1;
    }
    const int code = run(d, &w, &spec);
    free(d);
    return code;
}
