#include "desk/desk.h"

#include "base/log.h"
#include "base/mark.h"
#include "base/monotime.h"
#include "base/stop.h"
#include "base/str.h"
#include "desk/desk_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DESK_MESSAGE_US (20 * UNITS_US_PER_S)

static enum err
open_all(struct desk *d)
{
    enum err err = show_open(&d->show, &d->config->show);
    if (err != ERR_OK) {
        d->why = d->show.why;
        return err;
    }
    d->has_window = desk_wants_window(d);
    err = d->has_window ? desk_open_window(d) : desk_open_sheets(d);
    d->is_shown = !d->has_window;
    d->panel.is_over_screen = false;
    canvas_show_pointer(true);
    return err;
}

/* Which picture the page wants, and where its left edge lies on the runner's screen. */
static enum desk_sheet
wanted_sheet(const struct desk *d)
{
    return !d->has_window && d->panel.page == PANEL_LIVE ? DESK_SIDE : DESK_WHOLE;
}

/* ---------------------------------------------------------------- a turn */

/* A picture onto the window's, its left edge at x. */
static void
lay_over(struct desk *d, const struct paint_picture *from, int x)
{
    struct paint_picture *to = &d->show.canvas.picture;
    if (from->height_px != to->height_px || x < 0 || x + from->width_px > to->width_px)
        return;
    for (int y = 0; y < to->height_px; y++)
        memcpy(to->pixel + (size_t) y * (size_t) to->width_px + x,
               from->pixel + (size_t) y * (size_t) from->width_px,
               (size_t) from->width_px * sizeof *to->pixel);
    canvas_dirty(&d->show.canvas, (struct paint_rect){ x, 0, from->width_px, from->height_px });
}

static bool
draw_panel(struct desk *d, struct host_time now)
{
    const enum desk_sheet wanted = wanted_sheet(d);
    if (wanted != d->shown) {
        d->shown = wanted;
        d->draw[wanted].drawn = 0;
        d->is_touched = true;
        screen_forget_drawn(&d->beside_screen);
    }
    if (!d->is_touched && units_host_since_us(now, d->drawn) < UNITS_US_PER_S / DESK_PANEL_HZ)
        return false;
    d->panel.is_over_screen = !d->has_window && d->is_run_open;
    if (!panel_draw(&d->draw[d->shown], &d->panel))
        return false;
    char title[PANEL_TITLE_MAX];
    panel_title(&d->panel, title);
    if (strcmp(title, d->title) != 0) {
        str_copy(d->title, sizeof d->title, title);
        canvas_set_title(d->has_window ? &d->sheet[DESK_WHOLE] : &d->show.canvas, title);
    }
    d->is_touched = false;
    d->drawn = now;
    return true;
}

/* What is seen of the runner's screen while the panel is shown: nothing below a panel that covers all of it,
 * else the narrower one. True when anything changed. */
static bool
draw_beside(struct desk *d, const struct verdict *news, struct host_time now)
{
    if (news)
        show_hear(&d->show, news);
    screen_update(&d->show.screen, news, now);
    screen_update(&d->beside_screen, news, now);
    if (d->shown == DESK_WHOLE || !screen_draw(&d->beside_screen, now))
        return false;
    d->beside.n_dirty = 0;
    lay_over(d, &d->beside.picture, 0);
    return true;
}

/* The panel says it in words, both pictures of the runner's screen by a sign. */
static void
take_store_told(struct desk *d)
{
    struct store_told told;
    if (!d->is_run_open) { /* the next one begins well */
        screen_set_unsaved(&d->show.screen, false, false);
        screen_set_unsaved(&d->beside_screen, false, false);
        return;
    }
    struct message unrecorded;
    if (run_take_unrecorded(&d->run.run, &unrecorded))
        panel_tell(&d->panel, &unrecorded);
    if (!run_take_told(&d->run.run, &told))
        return;
    panel_tell(&d->panel, &told.says);
    screen_set_unsaved(&d->show.screen, told.is_bad, told.is_aside);
    screen_set_unsaved(&d->beside_screen, told.is_bad, told.is_aside);
}

/* Rounded as it is shown, so that the picture is drawn anew only for what one sees. */
static void
take_recording(struct desk *d)
{
    struct recorder_status s;
    struct panel_recording r = { .mb_per_min = (double) NAN, .room_h = (double) NAN };
    if (d->is_run_open) {
        run_get_recording(&d->run.run, &s);
        r = (struct panel_recording){ .is_kept = s.is_running || s.has_ended_early,
                                      .has_ended_early = s.has_ended_early,
                                      .mb_per_min = round(s.mb_per_min * 10.0) / 10.0,
                                      .room_h = floor(s.room_min / 60.0) };
    }
    panel_set_recording(&d->panel, &r);
}

/* A message has been read after a while; what still holds is said where it belongs. */
static void
let_message_go(struct desk *d, struct host_time now)
{
    if (!message_is_same(&d->said_message, &d->panel.out.message)) {
        d->said_message = d->panel.out.message;
        d->said = now;
    } else if (!message_is_none(&d->said_message) && units_host_since_us(now, d->said) > DESK_MESSAGE_US)
        panel_say(&d->panel, "");
}

static void
turn(struct desk *d)
{
    const struct host_time now = monotime_now();
    panel_set_now(&d->panel, now);
    const bool is_news = d->is_run_open && run_take_verdict(&d->run.run, &d->verdict);
    if (is_news)
        panel_set_verdict(&d->panel, &d->verdict);
    if (is_news && d->config->on_verdict)
        d->config->on_verdict(d->config->on_verdict_context, &d->verdict);
    take_store_told(d);
    take_recording(d);
    let_message_go(d, now);
    desk_take_answers(d);
    desk_take_requests(d);
    if (d->panel.context == PANEL_ASK_LEAVE)
        panel_set_unsaved(&d->panel, d->panel.out.n_requests > 0 || !desk_work_has_kept_all(&d->work));
    const bool is_panel_new = (d->has_window || d->is_shown) && draw_panel(d, now);
    const struct verdict *news = is_news ? &d->verdict : NULL;
    const bool has_changed =
        !d->has_window && d->is_shown ? draw_beside(d, news, now) : show_advance(&d->show, news, now);
    if (!d->has_window && d->is_shown && is_panel_new)
        lay_over(d, &d->sheet[d->shown].picture, desk_sheet_x_px(d, d->shown));
    show_present(&d->show, news, now);
    if (d->has_window)
        canvas_present(&d->sheet[DESK_WHOLE]); /* also what an uncovered window asked for */
    show_rest(&d->show, has_changed);
}

static enum err
desk_loop(struct desk *d)
{
    const struct host_time begun = monotime_now();
    enum err err = ERR_OK;
    while (err == ERR_OK && !d->is_leaving && !stop_is_asked()) {
        err = desk_take_events(d);
        if (err == ERR_OK)
            err = desk_follow_displays(d);
        if (err == ERR_OK)
            turn(d);
        if (units_s_from_us(units_host_since_us(monotime_now(), begun)) > d->config->seconds)
            break;
    }
    /* What was answered but not saved yet is kept all the same. */
    if (d->panel.visit.is_on && d->panel.visit.flow.phase >= VISIT_FLOW_AFTER)
        panel_do(&d->panel, PANEL_DO_SAVE, 0);
    desk_leave_requests(d);
    return err;
}

int
desk_open(const struct app_config *c, bool is_apart)
{
    struct desk *d = calloc(1, sizeof *d);
    if (!d) {
        struct message m;
        message_init(&m, MESSAGE_DESK_NO_MEMORY);
        log_tell(&m);
        return 1;
    }
    d->config = c;
    d->look = c->show;
    d->is_apart = is_apart;
    d->run.config = c;
    stop_catch_signals();
    panel_init(&d->panel);
    /* Without its words the panel goes on in English. */
    if (panel_words_load(&d->words, c->show.language, NULL) != ERR_OK)
        log_tell(&d->words.why);
    d->work.words = &d->words.catalogue;
    enum err err = desk_work_start(&d->work, c->visit.store_path, &d->run);
    if (err != ERR_OK)
        message_init(&d->why, MESSAGE_DESK_NO_THREAD);
    if (err == ERR_OK)
        err = open_all(d);
    if (err == ERR_OK)
        err = desk_loop(d);
    desk_work_stop(&d->work);
    desk_close_sheets(d);
    panel_words_close(&d->words);
    show_close(&d->show);
    if (err != ERR_OK)
        log_tell(&d->why);
    free(d);
    return err == ERR_OK ? 0 : err == ERR_USAGE ? 2 : 1;
}
