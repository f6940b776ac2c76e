/* desk_sheets.c - the panel's pictures: over the runner's screen, at its side, or in a window of its own. */
#include "base/monotime.h"
#include "base/str.h"
#include "desk/desk.h"
#include "desk/desk_parts.h"

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
        d->why = d->sheet[which].why;
        return err;
    }
    panel_draw_init(&d->draw[which], &d->sheet[which], d->config->show.theme);
    d->draw[which].words = &d->words;
    panel_draw_preload(&d->draw[which]);
    return ERR_OK;
}

enum err
desk_open_window(struct desk *d)
{
    struct canvas_config c = canvas_config_default();
    c.title = "Underfoot panel";
    c.is_unpaced = true; /* the runner's screen alone sets the pace */
    c.is_full_screen = canvas_n_displays() > 1;
    c.display = c.is_full_screen && d->config->show.display == 0 ? 1 : 0;
    c.language = d->config->show.language;
    const enum err err = canvas_open(&d->sheet[DESK_WHOLE], &c);
    if (err != ERR_OK) {
        d->why = d->sheet[DESK_WHOLE].why;
        return err;
    }
    panel_draw_init(&d->draw[DESK_WHOLE], &d->sheet[DESK_WHOLE], d->config->show.theme);
    d->draw[DESK_WHOLE].words = &d->words;
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
    screen.language = c.language = d->look.language;
    screen.theme = d->look.theme;
    screen.viewing_distance_mm = d->look.viewing_distance_mm;
    screen.diagonal_inch = d->look.diagonal_inch;
    enum err err = canvas_open(&d->beside, &c);
    if (err != ERR_OK)
        d->why = d->beside.why;
    else {
        err = screen_init(&d->beside_screen, &d->beside, &screen);
        if (err != ERR_OK)
            d->why = d->beside_screen.why;
        else if (d->show.screen.has_verdict)
            screen_update(&d->beside_screen, &d->show.screen.verdict, monotime_now());
    }
    return err;
}

void
desk_close_sheets(struct desk *d)
{
    if (d->beside.picture.pixel) {
        screen_destroy(&d->beside_screen);
        canvas_close(&d->beside);
    }
    for (int i = 0; i < DESK_N_SHEETS; i++)
        if (d->sheet[i].picture.pixel)
            canvas_close(&d->sheet[i]);
}

enum err
desk_open_sheets(struct desk *d)
{
    const int width = d->show.canvas.picture.width_px, height = d->show.canvas.picture.height_px;
    const int side = (int) (width * DESK_SIDE_SHARE);
    enum err err = open_sheet(d, DESK_WHOLE, width, height);
    if (err == ERR_OK)
        err = open_sheet(d, DESK_SIDE, side, height);
    return err == ERR_OK ? open_beside(d, width - side, height) : err;
}

int
desk_sheet_x_px(const struct desk *d, enum desk_sheet which)
{
    return d->has_window ? 0 : d->show.canvas.picture.width_px - d->sheet[which].picture.width_px;
}

void
desk_set_shown(struct desk *d, bool is_shown)
{
    if (d->has_window || d->is_shown == is_shown)
        return;
    d->is_shown = is_shown;
    canvas_show_pointer(is_shown);
    screen_forget_drawn(&d->show.screen); /* what lay below is drawn anew */
    screen_forget_drawn(&d->beside_screen);
    d->draw[d->shown].drawn = 0;
}
