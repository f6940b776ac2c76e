/* desk_input.c - keys, signs, mouse and touch for the panel, from whichever window has them. */
#include "base/str.h"
#include "desk/desk_parts.h"

#include <SDL.h>

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
    { SDLK_PAGEUP, PANEL_KEY_PAGE_UP },
    { SDLK_PAGEDOWN, PANEL_KEY_PAGE_DOWN },
    { SDLK_KP_DIVIDE, '/' },
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
        desk_set_shown(d, true);
        return;
    }
    if (input->kind != PANEL_INPUT_KEY || d->panel.page != PANEL_LIVE)
        return;
    panel_feed(&d->panel, input);
    if ((int) d->panel.context >= (int) PANEL_N_PAGES)
        desk_set_shown(d, true);
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
    case CANVAS_EVENT_WHEEL:
        input.kind = PANEL_INPUT_WHEEL;
        input.n_steps = e->n_steps;
        break;
    default:
        return;
    }
    input.x_px = e->x_px - desk_sheet_x_px(d, d->shown);
    input.y_px = e->y_px;
    d->is_touched = true;
    if (!d->has_window && !d->is_shown)
        feed_hidden(d, &input);
    else
        panel_feed(&d->panel, &input);
}

enum err
desk_take_events(struct desk *d)
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
            desk_close_sheets(d);
            const enum err err = desk_open_sheets(d);
            if (err != ERR_OK)
                return err;
        } else if (!(d->has_window && which == 0 && e.kind >= CANVAS_EVENT_DOWN))
            take_input(d, &e); /* a touch of the runner's own window means nothing */
    }
}
