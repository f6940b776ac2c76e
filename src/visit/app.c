#include "visit/app.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/stop.h"
#include "visit/reader.h"
#include "visit/store_watch.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define HEADLESS_TURN_US (20 * UNITS_US_PER_MS)

/* All that a run owns; on the heap, since the pipeline is large. */
struct app {
    const struct app_config *config;
    struct session session;
    struct reader reader;
    struct visit visit;
    struct store_watch watch;
    struct show show;
    struct verdict verdict;
    char sensor_name[SOURCE_PATH_MAX];
    bool is_shot_taken, is_shot_lost;
    bool has_caution; /* the page of cautions is on the screen */
    uint32_t caution_generation; /* of the canvas it was drawn into */
};

struct app_config
app_config_default(void)
{
    return (struct app_config){ .source = source_config_default(),
                                .session = { .pipeline = pipeline_config_default() },
                                .visit = { .rate_hz = (double) NAN,
                                           .belt_speed_m_s = (double) NAN,
                                           .body_mass_kg = (double) NAN,
                                           .foot_length_mm = (double) NAN,
                                           .leg_length_mm = (double) NAN,
                                           .focus = METRIC_COUNT,
                                           .pain_before = (double) NAN },
                                .show = show_config_default(),
                                .shot_at_s = (double) NAN,
                                .seconds = (double) INFINITY };
}

void
app_note_screen(const struct app_config *c)
{
    if (c->lacks_display)
        log_note("no display here: running without a screen");
}

static int
exit_code(enum err err)
{
    return err == ERR_OK ? 0 : err == ERR_USAGE ? 2 : 1;
}

static void
put_step(void *context, const struct coached_step *step)
{
    visit_put_step(&((struct app *) context)->visit, step);
}

static void
put_block(void *context, const struct coach_block *block, struct dev_time now)
{
    visit_put_block(&((struct app *) context)->visit, block, now);
}

static void
put_targets(void *context, const struct coach *coach)
{
    visit_put_targets(&((struct app *) context)->visit, coach);
}

/* Source, recording, first frame: what the session lives on. Says why itself. */
static enum err
open_source(struct app *a)
{
    const struct app_config *c = a->config;
    enum err err = reader_open(&a->reader, c->path, &c->source, &a->session);
    if (err == ERR_OK && c->record_path) {
        if (c->is_record_forced)
            unlink(c->record_path); /* a recording itself never writes over anything */
        err = session_record(&a->session, c->record_path);
        if (err != ERR_OK) {
            log_note("%s", a->session.recorder.capture.why);
            return err;
        }
    }
    if (err == ERR_OK)
        err = reader_wait_ready(&a->reader, APP_READY_MS);
    if (err != ERR_OK)
        log_note("%s", a->reader.source.why);
    return err;
}

/* The thread that reads goes first, so that the sensor does not wait for a window and a disc. */
static enum err
start_reader(struct app *a, struct visit_config *visit)
{
    visit->sensor_kind = pipeline_kind_name(&a->session.pipeline);
    memcpy(a->sensor_name, a->reader.source.path, sizeof a->sensor_name); /* the reader's own from now on */
    visit->sensor_name = a->sensor_name;
    visit->rate_hz = sense_rate_hz(&a->session.pipeline.sense);
    stop_block_signals(true);
    const enum err err = reader_start(&a->reader);
    stop_block_signals(false);
    if (err != ERR_OK)
        log_note("%s", a->reader.source.why);
    return err;
}

static enum err
open_screen(struct app *a)
{
    const struct app_config *c = a->config;
    struct show_config show = c->show;
    if (!c->has_screen && !c->shot_path)
        return ERR_OK;
    if (!c->has_screen)
        show.place = SHOW_HEADLESS;
    const enum err err = show_open(&a->show, &show);
    if (err != ERR_OK)
        log_note("%s", a->show.why);
    return err;
}

static enum err
begin_visit(struct app *a, const struct visit_config *visit)
{
    if (!a->config->is_stored)
        return ERR_OK;
    stop_block_signals(true); /* inherited by the writer thread */
    const enum err err = visit_begin(&a->visit, visit);
    stop_block_signals(false);
    if (err != ERR_OK)
        log_note("%s", a->visit.why);
    return err;
}

/* Everything that may be refused. */
static enum err
app_open(struct app *a)
{
    struct session_config session = a->config->session;
    struct visit_config visit = a->config->visit;
    if (a->config->is_stored) {
        session.on_step = put_step;
        session.on_block = put_block;
        session.on_targets = put_targets;
        session.context = a;
    }
    session_init(&a->session, &session);
    session_hold(&a->session);
    enum err err = open_source(a);
    if (err == ERR_OK)
        err = start_reader(a, &visit);
    if (err == ERR_OK)
        err = open_screen(a);
    if (err == ERR_OK)
        err = begin_visit(a, &visit);
    if (err == ERR_OK)
        session_release(&a->session);
    return err;
}

static void
take_shot(struct app *a, struct host_time now)
{
    if (a->is_shot_taken || !a->config->shot_path)
        return;
    a->is_shot_taken = true;
    if (!a->config->has_screen)
        show_settle(&a->show, &a->verdict, now);
    if (show_shot(&a->show, a->config->shot_path) != ERR_OK) {
        log_note("%s", a->show.why);
        a->is_shot_lost = true;
    }
}

static void
draw_caution(struct app *a)
{
    caution_draw(a->config->cautions, &a->show.canvas, &a->show.screen.theme);
    a->caution_generation = a->show.canvas.generation;
}

static void
begin_caution(struct app *a)
{
    const struct app_config *c = a->config;
    app_note_screen(c);
    if (c->on_open)
        c->on_open(c);
    if (!c->has_screen || !c->cautions)
        return;
    draw_caution(a);
    a->has_caution = true;
}

/* The cautions stay until they are passed over, have stood long enough, or somebody runs. False: leave. */
static bool
turn_caution(struct app *a, double run_s)
{
    bool is_over = false;
    if (a->show.canvas.generation != a->caution_generation)
        draw_caution(a);
    const bool is_going_on = show_turn_page(&a->show, &is_over);
    if (is_over || run_s >= APP_CAUTION_S || a->verdict.gait == STEP_GAIT_RUNNING) {
        a->has_caution = false;
        show_end_page(&a->show);
        show_advance(&a->show, &a->verdict, monotime_now());
    }
    return is_going_on;
}

static void
watch_store(struct app *a, struct host_time now)
{
    if (!store_watch_look(&a->watch, &a->visit, now))
        return;
    log_note("%s", a->watch.is_bad ? a->watch.says : "this visit is saved again");
    if (a->show.is_open)
        screen_set_unsaved(&a->show.screen, a->watch.is_bad);
}

/* The main thread's loop, until something ends the run. */
static void
app_loop(struct app *a)
{
    const struct app_config *c = a->config;
    const struct host_time begun = monotime_now();
    bool is_going_on = true;
    begin_caution(a);
    while (is_going_on) {
        const struct host_time now = monotime_now();
        const double run_s = units_s_from_us(units_host_since_us(now, begun));
        const bool is_news = session_take_verdict(&a->session, &a->verdict);
        if (is_news && c->on_verdict)
            c->on_verdict(c->on_verdict_context, &a->verdict);
        watch_store(a, now);
        is_going_on = !stop_is_asked() && run_s < c->seconds && !atomic_load(&a->reader.has_ended);
        if (a->has_caution)
            is_going_on = turn_caution(a, run_s) && is_going_on;
        else if (c->has_screen)
            is_going_on = show_turn(&a->show, is_news ? &a->verdict : NULL, now) && is_going_on;
        else {
            monotime_sleep_us(HEADLESS_TURN_US);
            /* Without a screen nobody is there to end the visit once its plan is through. */
            is_going_on = is_going_on && !(a->verdict.n_plan_blocks > 0 && a->verdict.block == VERDICT_BLOCK_ENDED);
        }
        if (run_s >= c->shot_at_s)
            take_shot(a, now);
    }
    take_shot(a, monotime_now());
}

static enum err
app_work(struct app *a)
{
    enum err err = app_open(a);
    if (err == ERR_OK)
        app_loop(a);
    if (a->is_shot_lost)
        err = ERR_OS;
    reader_stop(&a->reader);
    session_close(&a->session);
    if (!a->visit.is_open)
        return err;
    const enum err end = visit_end(&a->visit, &a->session.pipeline, (double) NAN);
    if (end == ERR_OK && visit_print_summary(&a->visit, stdout) == ERR_OK)
        return err;
    log_note("%s", a->visit.why);
    return end == ERR_OK ? ERR_OS : end;
}

int
app_run(const struct app_config *c)
{
    struct app *a = calloc(1, sizeof *a);
    if (!a) {
        log_note("no memory left for a session");
        return 1;
    }
    a->config = c;
    stop_catch_signals();
    const enum err err = app_work(a);
    show_close(&a->show);
    free(a);
    return exit_code(err);
}
