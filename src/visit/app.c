#include "visit/app.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/stop.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define HEADLESS_TURN_US (20 * UNITS_US_PER_MS)

/* All that a run with a screen owns; on the heap, since the pipeline is large. */
struct app {
    const struct app_config *config;
    struct run run;
    struct show show;
    struct verdict verdict;
    bool is_shot_taken, is_shot_lost;
    bool has_caution; /* the page of cautions is on the screen */
    uint32_t caution_generation; /* of the canvas it was drawn into */
};

struct app_config
app_config_default(void)
{
    return (struct app_config){ .source = source_config_default(),
                                .session = { .pipeline = pipeline_config_default() },
                                .visit = visit_config_default(),
                                .show = show_config_default(),
                                .shot_at_s = (double) NAN,
                                .seconds = (double) INFINITY };
}

static void
note(enum message_code code)
{
    struct message m;
    message_init(&m, code);
    log_tell(&m);
}

void
app_note_screen(const struct app_config *c)
{
    if (c->lacks_display)
        note(MESSAGE_APP_NO_DISPLAY);
}

static int
exit_code(enum err err)
{
    return err == ERR_OK ? 0 : err == ERR_USAGE ? 2 : 1;
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
        log_tell(&a->show.why);
    return err;
}

/* Everything that may be refused. The thread that reads goes first, so that the sensor does not wait for a window and
 * a disc. */
static enum err
app_open(struct app *a)
{
    const struct app_config *c = a->config;
    const struct run_config run = { .session = c->session,
                                    .visit = c->visit,
                                    .is_stored = c->is_stored,
                                    .is_rerun = c->is_rerun,
                                    .record_path = c->record_path,
                                    .is_record_forced = c->is_record_forced };
    run_init(&a->run, &run);
    enum err err = run_open(&a->run, c->path, &c->source);
    if (err != ERR_OK)
        log_tell(&a->run.why);
    if (err == ERR_OK)
        err = open_screen(a);
    if (err != ERR_OK)
        return err;
    err = run_begin(&a->run);
    if (err != ERR_OK)
        log_tell(&a->run.why);
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
        log_tell(&a->show.why);
        a->is_shot_lost = true;
    }
}

static void
draw_caution(struct app *a)
{
    caution_draw(a->config->cautions, a->show.screen.words.language, &a->show.canvas, &a->show.screen.theme);
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
take_told(struct app *a)
{
    struct store_told told;
    if (run_take_told(&a->run, &told) && a->show.is_open)
        screen_set_unsaved(&a->show.screen, told.is_bad, told.is_aside);
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
        const bool is_news = run_take_verdict(&a->run, &a->verdict);
        if (is_news && c->on_verdict)
            c->on_verdict(c->on_verdict_context, &a->verdict);
        take_told(a);
        is_going_on = !stop_is_asked() && run_s < c->seconds && !atomic_load(&a->run.reader.has_ended);
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

/* Nobody takes the visit: room may be made meanwhile, but nobody waits for it for ever. */
static enum err
end_run(struct app *a)
{
    const struct host_time begun = monotime_now();
    enum err err = run_end(&a->run, (double) NAN);
    if (a->run.visit.is_open) {
        struct message m;
        message_tell(&m, MESSAGE_APP_TRIES_AGAIN, message_of(&a->run.why),
                     message_real(APP_END_S, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_S));
        log_tell(&m);
    }
    while (a->run.visit.is_open && units_s_from_us(units_host_since_us(monotime_now(), begun)) < APP_END_S) {
        monotime_sleep_us(UNITS_US_PER_S / 2);
        err = run_end(&a->run, (double) NAN);
    }
    run_abandon(&a->run);
    return err;
}

static enum err
app_work(struct app *a)
{
    enum err err = app_open(a);
    if (err == ERR_OK)
        app_loop(a);
    if (a->is_shot_lost)
        err = ERR_OS;
    const bool is_visit = a->run.visit.is_open;
    const enum err end = end_run(a);
    if (!is_visit)
        return err;
    if (end != ERR_OK)
        log_tell(&a->run.why);
    if (end != ERR_OK && !a->run.visit.aside[0])
        return end;
    if (run_print_summary(&a->run, stdout) == ERR_OK)
        return end == ERR_OK ? err : end;
    log_tell(&a->run.why);
    return ERR_OS;
}

int
app_run(const struct app_config *c)
{
    struct app *a = calloc(1, sizeof *a);
    if (!a) {
        note(MESSAGE_SESSION_NO_MEMORY);
        return 1;
    }
    a->config = c;
    stop_catch_signals();
    const enum err err = app_work(a);
    show_close(&a->show);
    free(a);
    return exit_code(err);
}
