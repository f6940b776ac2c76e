#include "cli/headless.h"

#include "base/stop.h"
#include "cli/demo.h"
#include "cli/say.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct headless {
    const struct headless_config *config;
    struct mimic mimic;
    struct run run;
    struct show show;
    struct verdict verdict;
    bool is_shot_taken;
};

static void
ask(void *user, struct mimic_feedback *out)
{
    *out = demo_feedback(&((struct headless *) user)->verdict);
}

static enum err
begin_visit(struct headless *h)
{
    const enum err err = run_begin(&h->run);
    if (err != ERR_OK)
        say_note_of(&h->run.why);
    return err;
}

static enum err
take_shot(struct headless *h, struct host_time now)
{
    const char *path = h->config->app->shot_path;
    if (!path || h->is_shot_taken)
        return ERR_OK;
    h->is_shot_taken = true;
    show_settle(&h->show, &h->verdict, now);
    const enum err err = show_shot(&h->show, path);
    if (err != ERR_OK)
        say_note_of(&h->show.why);
    return err;
}

static enum err
work(struct headless *h)
{
    const struct app_config *app = h->config->app;
    struct host_time now = { 0 };
    enum err err = ERR_OK;
    const uint8_t *bytes;
    for (int n; err == ERR_OK && !stop_is_asked() && (n = mimic_step(&h->mimic, &bytes)) >= 0;) {
        now.us = units_us_from_s(h->mimic.board.t_s);
        if (n > 0)
            run_feed(&h->run, bytes, (size_t) n, now);
        run_take_verdict(&h->run, &h->verdict);
        if (h->verdict.n_plan_blocks > 0 && h->verdict.block == VERDICT_BLOCK_ENDED)
            break;
        if (!h->run.is_begun && run_is_ready(&h->run))
            err = begin_visit(h);
        if (h->mimic.board.t_s >= app->shot_at_s && err == ERR_OK)
            err = take_shot(h, now);
    }
    run_finish(&h->run);
    return err == ERR_OK ? take_shot(h, now) : err;
}

static enum err
save_summary(struct headless *h)
{
    const char *path = h->config->summary_path;
    FILE *f = path ? fopen(path, "w") : NULL;
    if (!path)
        return ERR_OK;
    if (!f) {
        say_note(MESSAGE_CLI_FILE_REFUSED, message_path(path), message_errno(errno));
        return ERR_OS;
    }
    const enum err err = run_print_summary(&h->run, f);
    if (err != ERR_OK)
        say_note_of(&h->run.why);
    return fclose(f) == 0 ? err : ERR_OS;
}

static enum err
start(struct headless *h)
{
    const struct app_config *app = h->config->app;
    struct mimic_config mimic = h->config->mimic;
    mimic.ask = ask;
    mimic.user = h;
    mimic_init(&h->mimic, &mimic);
    const struct run_config run = { .session = app->session, .visit = app->visit, .is_stored = true, .is_virtual = true };
    run_init(&h->run, &run);
    struct show_config show = app->show;
    show.place = SHOW_HEADLESS;
    if (app->shot_path && show_open(&h->show, &show) != ERR_OK) {
        say_note_of(&h->show.why);
        return ERR_OS;
    }
    return ERR_OK;
}

int
headless_run(const struct headless_config *c)
{
    struct headless *h = calloc(1, sizeof *h);
    if (!h) {
        say_note(MESSAGE_CLI_NO_MEMORY);
        return 1;
    }
    h->config = c;
    stop_catch_signals();
    enum err err = start(h);
    if (err == ERR_OK) {
        app_note_screen(c->app);
        err = work(h);
    }
    if (h->run.is_begun) {
        const enum err end = run_end(&h->run, h->mimic.board.t_s);
        if (end != ERR_OK || run_print_summary(&h->run, stdout) != ERR_OK) {
            say_note_of(&h->run.why);
            err = ERR_OS;
        } else if (err == ERR_OK)
            err = save_summary(h);
    }
    run_abandon(&h->run);
    show_close(&h->show);
    free(h);
    return err == ERR_OK ? 0 : 1;
}
