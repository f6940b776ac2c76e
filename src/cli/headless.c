#include "cli/headless.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/stop.h"
#include "cli/demo.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WRITER_LOOK_STEPS 32 /* how often the writer is asked whether it keeps up */

struct headless {
    const struct headless_config *config;
    struct mimic mimic;
    struct session session;
    struct visit visit;
    struct show show;
    struct verdict verdict;
    unsigned n_put;
    bool is_shot_taken;
};

/* Virtual time is faster than a disc: here, and only here, the chain waits for the writer. */
static void
put_step(void *context, const struct coached_step *step)
{
    struct headless *h = context;
    visit_put_step(&h->visit, step);
    if (++h->n_put % WRITER_LOOK_STEPS)
        return;
    struct writer_status status;
    for (;;) {
        writer_get_status(&h->visit.writer, &status);
        if (status.n_waiting < WRITER_N_STEPS / 2)
            break;
        monotime_sleep_us(5 * UNITS_US_PER_MS);
    }
}

static void
put_block(void *context, const struct coach_block *block, struct dev_time now)
{
    visit_put_block(&((struct headless *) context)->visit, block, now);
}

static void
put_targets(void *context, const struct coach *coach)
{
    visit_put_targets(&((struct headless *) context)->visit, coach);
}

static void
ask(void *user, struct mimic_feedback *out)
{
    *out = demo_feedback(&((struct headless *) user)->verdict);
}

static enum err
begin_visit(struct headless *h)
{
    struct visit_config visit = h->config->app->visit;
    visit.sensor_kind = pipeline_kind_name(&h->session.pipeline);
    visit.sensor_name = "simulated";
    visit.rate_hz = sense_rate_hz(&h->session.pipeline.sense);
    const enum err err = visit_begin(&h->visit, &visit);
    if (err != ERR_OK)
        log_note("%s", h->visit.why);
    else
        session_release(&h->session);
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
        log_note("%s", h->show.why);
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
            session_feed(&h->session, bytes, (size_t) n, now);
        session_take_verdict(&h->session, &h->verdict);
        if (h->verdict.n_plan_blocks > 0 && h->verdict.block == VERDICT_BLOCK_ENDED)
            break;
        if (!h->visit.is_open && pipeline_is_ready(&h->session.pipeline))
            err = begin_visit(h);
        if (h->mimic.board.t_s >= app->shot_at_s && err == ERR_OK)
            err = take_shot(h, now);
    }
    session_finish(&h->session);
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
        log_note("%s: %s", path, strerror(errno));
        return ERR_OS;
    }
    const enum err err = visit_print_summary(&h->visit, f);
    if (err != ERR_OK)
        log_note("%s", h->visit.why);
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
    struct session_config session = app->session;
    session.on_step = put_step;
    session.on_block = put_block;
    session.on_targets = put_targets;
    session.context = h;
    session_init(&h->session, &session);
    session_hold(&h->session);
    struct show_config show = app->show;
    show.place = SHOW_HEADLESS;
    if (app->shot_path && show_open(&h->show, &show) != ERR_OK) {
        log_note("%s", h->show.why);
        return ERR_OS;
    }
    return ERR_OK;
}

int
headless_run(const struct headless_config *c)
{
    struct headless *h = calloc(1, sizeof *h);
    if (!h) {
        log_note("no memory left for a session");
        return 1;
    }
    h->config = c;
    stop_catch_signals();
    enum err err = start(h);
    if (err == ERR_OK) {
        app_note_screen(c->app);
        err = work(h);
    }
    if (h->visit.is_open) {
        const enum err end = visit_end(&h->visit, &h->session.pipeline, h->mimic.board.t_s);
        if (end != ERR_OK || visit_print_summary(&h->visit, stdout) != ERR_OK) {
            log_note("%s", h->visit.why);
            err = ERR_OS;
        } else if (err == ERR_OK)
            err = save_summary(h);
    }
    show_close(&h->show);
    free(h);
    return err == ERR_OK ? 0 : 1;
}
