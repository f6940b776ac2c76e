#include "app/desk.h"

#include "app/desk_work.h"
#include "app/stop.h"
#include "base/log.h"
#include "base/monotime.h"
#include "base/str.h"
#include "panel/panel_draw.h"

#include <SDL.h>
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Where the panel is drawn: over the whole of the runner's screen, at its side, or in a window of its own. */
enum desk_sheet { DESK_WHOLE = 0, DESK_SIDE, DESK_N_SHEETS };

struct desk {
    const struct app_config *config;
    struct show show;
    struct canvas sheet[DESK_N_SHEETS];
    struct panel_draw draw[DESK_N_SHEETS];
    struct canvas beside; /* the runner's screen, narrower, while the panel is at its side */
    struct screen beside_screen;
    bool has_window; /* sheet[DESK_WHOLE] is a window on a second display */
    bool is_shown;   /* the panel, over the screen */
    enum desk_sheet shown;
    struct panel panel;
    struct host_time drawn;
    bool is_touched; /* input since the panel was drawn */
    bool is_leaving;
    bool is_run_open;  /* the worker's answer said so */
    bool is_begin_due; /* commands wait until the visit is in the store */
    struct desk_work work;
    struct desk_run run;
    struct desk_answer answer;
    struct verdict verdict;
    char why[ERR_WHY_MAX];
};

/* ---------------------------------------------------------------- the panel's pictures */

static enum err
open_sheet(struct desk *d, enum desk_sheet which, int width_px, int height_px)
{
    struct canvas_config c = canvas_config_default();
    c.is_headless = true;
    c.width_px = width_px;
    c.height_px = height_px;
    c.language = d->config->show.language;
    const enum err err = canvas_open(&d->sheet[which], &c);
    if (err != ERR_OK) {
        str_copy(d->why, sizeof d->why, d->sheet[which].why);
        return err;
    }
    panel_draw_init(&d->draw[which], &d->sheet[which], d->config->show.theme);
    panel_draw_preload(&d->draw[which]);
    return ERR_OK;
}

static enum err
open_window(struct desk *d)
{
    struct canvas_config c = canvas_config_default();
    c.title = "Underfoot panel";
    c.is_full_screen = true;
    c.display = d->config->show.display == 0 ? 1 : 0;
    c.language = d->config->show.language;
    const enum err err = canvas_open(&d->sheet[DESK_WHOLE], &c);
    if (err != ERR_OK) {
        str_copy(d->why, sizeof d->why, d->sheet[DESK_WHOLE].why);
        return err;
    }
    panel_draw_init(&d->draw[DESK_WHOLE], &d->sheet[DESK_WHOLE], d->config->show.theme);
    panel_draw_preload(&d->draw[DESK_WHOLE]);
    return ERR_OK;
}

/* The runner's screen once more, as wide as the panel at its side leaves it. */
static enum err
open_beside(struct desk *d, int width_px, int height_px)
{
    struct canvas_config c = canvas_config_default();
    struct screen_config screen = screen_config_default();
    c.is_headless = true;
    c.width_px = width_px;
    c.height_px = height_px;
    screen.language = c.language = d->config->show.language;
    screen.theme = d->config->show.theme;
    screen.viewing_distance_mm = d->config->show.viewing_distance_mm;
    screen.diagonal_inch = d->config->show.diagonal_inch;
    enum err err = canvas_open(&d->beside, &c);
    if (err != ERR_OK)
        str_copy(d->why, sizeof d->why, d->beside.why);
    else {
        err = screen_init(&d->beside_screen, &d->beside, &screen);
        if (err != ERR_OK)
            str_copy(d->why, sizeof d->why, d->beside_screen.why);
    }
    return err;
}

static void
close_sheets(struct desk *d)
{
    if (d->beside.picture.pixel) {
        screen_destroy(&d->beside_screen);
        canvas_close(&d->beside);
    }
    for (int i = 0; i < DESK_N_SHEETS; i++)
        if (d->sheet[i].picture.pixel)
            canvas_close(&d->sheet[i]);
}

static enum err
open_sheets(struct desk *d)
{
    const int width = d->show.canvas.picture.width_px, height = d->show.canvas.picture.height_px;
    const int side = (int) (width * DESK_SIDE_SHARE);
    enum err err = open_sheet(d, DESK_WHOLE, width, height);
    if (err == ERR_OK)
        err = open_sheet(d, DESK_SIDE, side, height);
    return err == ERR_OK ? open_beside(d, width - side, height) : err;
}

static enum err
open_all(struct desk *d)
{
    enum err err = show_open(&d->show, &d->config->show);
    if (err != ERR_OK) {
        str_copy(d->why, sizeof d->why, d->show.why);
        return err;
    }
    d->has_window = d->config->show.place == SHOW_FULL_SCREEN && canvas_n_displays() > 1;
    err = d->has_window ? open_window(d) : open_sheets(d);
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

static int
sheet_x_px(const struct desk *d, enum desk_sheet which)
{
    return d->has_window ? 0 : d->show.canvas.picture.width_px - d->sheet[which].picture.width_px;
}

static void
set_shown(struct desk *d, bool is_shown)
{
    if (d->has_window || d->is_shown == is_shown)
        return;
    d->is_shown = is_shown;
    canvas_show_pointer(is_shown);
    d->show.canvas.generation++; /* what lay below is drawn anew */
    d->beside.generation++;
    d->draw[d->shown].drawn = 0;
}

/* ---------------------------------------------------------------- input */

static const struct {
    int sdl, panel;
} KEYS[] = {
    { SDLK_UP, PANEL_KEY_UP },
    { SDLK_DOWN, PANEL_KEY_DOWN },
    { SDLK_LEFT, PANEL_KEY_LEFT },
    { SDLK_RIGHT, PANEL_KEY_RIGHT },
    { SDLK_DELETE, PANEL_KEY_DELETE },
    { SDLK_HOME, PANEL_KEY_HOME },
    { SDLK_END, PANEL_KEY_END },
    { SDLK_F1, PANEL_KEY_F1 },
    { SDLK_F2, PANEL_KEY_F2 },
    { SDLK_F3, PANEL_KEY_F3 },
    { SDLK_F4, PANEL_KEY_F4 },
    { SDLK_F5, PANEL_KEY_F5 },
    { SDLK_KP_ENTER, PANEL_KEY_RETURN },
    { SDLK_KP_PLUS, '+' },
    { SDLK_KP_MINUS, '-' },
    { SDLK_KP_0, '0' },
    { SDLK_KP_1, '1' },
    { SDLK_KP_2, '2' },
    { SDLK_KP_3, '3' },
    { SDLK_KP_4, '4' },
    { SDLK_KP_5, '5' },
    { SDLK_KP_6, '6' },
    { SDLK_KP_7, '7' },
    { SDLK_KP_8, '8' },
    { SDLK_KP_9, '9' },
};

static int
panel_key_of(const struct canvas_event *e)
{
    if (e->key == SDLK_TAB && e->is_shifted)
        return PANEL_KEY_BACK_TAB;
    for (size_t i = 0; i < sizeof KEYS / sizeof *KEYS; i++)
        if (KEYS[i].sdl == e->key)
            return KEYS[i].panel;
    return e->key;
}

/* Keys while the runner's screen alone is seen: they work as on the live page; a question brings the panel.
 */
static void
feed_hidden(struct desk *d, const struct panel_input *input)
{
    if (input->kind == PANEL_INPUT_DOWN ||
        (input->kind == PANEL_INPUT_KEY &&
         (input->key == PANEL_KEY_TAB || input->key == PANEL_KEY_ESCAPE || input->key == PANEL_KEY_F1))) {
        set_shown(d, true);
        return;
    }
    if (input->kind != PANEL_INPUT_KEY || d->panel.page != PANEL_LIVE)
        return;
    panel_feed(&d->panel, input);
    if ((int) d->panel.context >= (int) PANEL_N_PAGES)
        set_shown(d, true);
}

static void
take_input(struct desk *d, const struct canvas_event *e)
{
    struct panel_input input = { .kind = PANEL_INPUT_KEY };
    switch ((int) e->kind) {
    case CANVAS_EVENT_KEY:
        input.key = panel_key_of(e);
        break;
    case CANVAS_EVENT_TEXT:
        input.kind = PANEL_INPUT_TEXT;
        str_copy(input.text, sizeof input.text, e->text);
        break;
    case CANVAS_EVENT_DOWN:
        input.kind = PANEL_INPUT_DOWN;
        break;
    case CANVAS_EVENT_MOVE:
        input.kind = PANEL_INPUT_MOVE;
        break;
    case CANVAS_EVENT_UP:
        input.kind = PANEL_INPUT_UP;
        break;
    default:
        return;
    }
    input.x_px = e->x_px - sheet_x_px(d, d->shown);
    input.y_px = e->y_px;
    d->is_touched = true;
    if (!d->has_window && !d->is_shown)
        feed_hidden(d, &input);
    else
        panel_feed(&d->panel, &input);
}

static enum err
take_events(struct desk *d)
{
    struct canvas *const windows[] = { &d->show.canvas, &d->sheet[DESK_WHOLE] };
    for (;;) {
        int which = 0;
        const struct canvas_event e = canvas_take_event_of(windows, d->has_window ? 2 : 1, &which);
        if (e.kind == CANVAS_EVENT_NONE)
            return ERR_OK;
        if (e.kind == CANVAS_EVENT_QUIT)
            d->is_leaving = true;
        else if (e.kind == CANVAS_EVENT_RESIZED && which == 0 && !d->has_window) {
            close_sheets(d);
            const enum err err = open_sheets(d);
            if (err != ERR_OK)
                return err;
        } else if (!(d->has_window && which == 0 && e.kind >= CANVAS_EVENT_DOWN))
            take_input(d, &e); /* a touch of the runner's own window means nothing */
    }
}

/* ---------------------------------------------------------------- requests and answers */

static void
keep_now(struct desk *d, const struct panel_request *q)
{
    if (q->kind == PANEL_WANTS_PAIN) {
        const struct store_pain pain = { .when = (enum store_pain_when) q->pain.when,
                                         .at = q->pain.at,
                                         .pain = q->pain.pain,
                                         .effort = q->pain.effort };
        visit_put_pain(&d->run.visit, &pain);
        return;
    }
    struct store_note note = { .at = d->verdict.time };
    str_copy(note.text, sizeof note.text, q->text);
    visit_put_note(&d->run.visit, &note);
}

static void
obey(struct desk *d, const struct panel_request *q)
{
    const bool is_keeping = d->is_run_open && atomic_load(&d->run.is_keeping);
    switch (q->kind) {
    case PANEL_WANTS_HIDE:
        set_shown(d, false);
        return;
    case PANEL_WANTS_MUTE:
        sound_set_muted(&d->show.sound, !d->show.sound.is_muted);
        return;
    case PANEL_WANTS_LEAVE:
        d->is_leaving = true;
        return;
    case PANEL_WANTS_COMMAND:
        if (d->is_run_open && !session_command(&d->run.session, &q->command))
            panel_say(&d->panel, "Too much at once: try that again.");
        return;
    case PANEL_WANTS_PAIN:
    case PANEL_WANTS_NOTE:
        if (is_keeping && q->visit_id == 0 &&
            !(q->kind == PANEL_WANTS_PAIN && q->pain.when != VISIT_FLOW_PAIN_WAS_DURING)) {
            keep_now(d, q);
            return;
        }
        break;
    case PANEL_WANTS_RUN:
        d->is_begin_due = true;
        break;
    case PANEL_WANTS_END:
    case PANEL_WANTS_CLOSE:
        d->is_run_open = false; /* the worker's from now on */
        break;
    case PANEL_WANTS_NOTHING:
    case PANEL_WANTS_RUNNERS:
    case PANEL_WANTS_SAVE_RUNNER:
    case PANEL_WANTS_FORGET:
    case PANEL_WANTS_CASE:
    case PANEL_WANTS_SENSOR:
    case PANEL_WANTS_TICKS:
    case PANEL_WANTS_PRINT:
        break;
    }
    if (!desk_work_put(&d->work, q))
        panel_say(&d->panel, "Too much at once: try that again.");
}

static void
take_answers(struct desk *d)
{
    const struct desk_answer *a = &d->answer;
    if (!desk_work_take(&d->work, &d->answer))
        return;
    if (a->has_sensor) {
        d->is_run_open = a->sensor == PANEL_SENSOR_OPEN;
        panel_set_sensor(&d->panel, a->sensor, a->sensor_text);
    }
    if (a->is_begun || a->is_begin_refused)
        d->is_begin_due = false;
    if (a->is_begin_refused) { /* nothing would be kept: do not run as if */
        visit_flow_stop(&d->panel.flow);
        panel_do(&d->panel, PANEL_DO_PAGE, PANEL_VISIT);
    }
    if (a->has_runners)
        panel_set_runners(&d->panel, &a->runners);
    if (a->has_case)
        panel_set_case(&d->panel, &a->kase);
    if (a->message[0])
        panel_say(&d->panel, a->message);
    d->is_touched = true;
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
        d->beside.generation++;
    }
    if (!d->is_touched && units_host_since_us(now, d->drawn) < UNITS_US_PER_S / DESK_PANEL_HZ)
        return false;
    d->panel.is_over_screen = !d->has_window && d->run.is_open;
    if (!panel_draw(&d->draw[d->shown], &d->panel))
        return false;
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

static void
turn(struct desk *d)
{
    const struct host_time now = monotime_now();
    struct panel_request q;
    const bool is_news = d->is_run_open && session_take_verdict(&d->run.session, &d->verdict);
    if (is_news)
        panel_set_verdict(&d->panel, &d->verdict);
    take_answers(d);
    while (!d->is_begin_due && panel_take_request(&d->panel, &q))
        obey(d, &q);
    const bool is_panel_new = (d->has_window || d->is_shown) && draw_panel(d, now);
    const struct verdict *news = is_news ? &d->verdict : NULL;
    const bool has_changed =
        !d->has_window && d->is_shown ? draw_beside(d, news, now) : show_advance(&d->show, news, now);
    if (!d->has_window && d->is_shown && is_panel_new)
        lay_over(d, &d->sheet[d->shown].picture, sheet_x_px(d, d->shown));
    show_present(&d->show, news, now);
    if (d->has_window && is_panel_new)
        canvas_present(&d->sheet[DESK_WHOLE]);
    show_rest(&d->show, has_changed);
}

static enum err
desk_loop(struct desk *d)
{
    const struct host_time begun = monotime_now();
    enum err err = ERR_OK;
    while (err == ERR_OK && !d->is_leaving && !stop_is_asked()) {
        err = take_events(d);
        if (err == ERR_OK)
            turn(d);
        if (units_s_from_us(units_host_since_us(monotime_now(), begun)) > d->config->seconds)
            break;
    }
    /* What was answered but not saved yet is kept all the same. */
    if (d->panel.has_visit && d->panel.flow.phase >= VISIT_FLOW_AFTER) {
        struct panel_request q;
        panel_do(&d->panel, PANEL_DO_SAVE, 0);
        while (panel_take_request(&d->panel, &q))
            if (q.kind == PANEL_WANTS_PAIN || q.kind == PANEL_WANTS_END)
                desk_work_put(&d->work, &q);
    }
    return err;
}

int
desk_open(const struct app_config *c)
{
    struct desk *d = calloc(1, sizeof *d);
    if (!d) {
        log_note("no memory left for the panel");
        return 1;
    }
    d->config = c;
    d->run.config = c;
    stop_catch_signals();
    panel_init(&d->panel);
    enum err err = desk_work_start(&d->work, c->visit.store_path, &d->run);
    if (err != ERR_OK)
        str_copy(d->why, sizeof d->why, "No thread for the store's work");
    if (err == ERR_OK)
        err = open_all(d);
    if (err == ERR_OK)
        err = desk_loop(d);
    desk_work_stop(&d->work);
    close_sheets(d);
    show_close(&d->show);
    if (err != ERR_OK)
        log_note("%s", d->why);
    free(d);
    return err == ERR_OK ? 0 : err == ERR_USAGE ? 2 : 1;
}
