/* desk_displays.c - what the panel does when a display goes or comes back in mid-run, and says of the
 * displays. */
#include "base/log.h"
#include "desk/desk_parts.h"

bool
desk_wants_window(const struct desk *d)
{
    return d->is_apart || (d->config->show.place == SHOW_FULL_SCREEN && d->show.canvas.n_displays > 1);
}

enum err
desk_follow_displays(struct desk *d)
{
    if (d->n_warnings != d->show.n_warnings) {
        d->n_warnings = d->show.n_warnings;
        panel_tell(&d->panel, &d->show.warned);
    }
    if (desk_wants_window(d) == d->has_window)
        return ERR_OK;
    struct message m;
    if (d->has_window)
        message_init(&m, MESSAGE_DISPLAY_ONE_IS_LEFT);
    else
        message_init(&m, MESSAGE_DISPLAY_SECOND_IS_THERE);
    log_tell(&m);
    desk_close_sheets(d);
    d->has_window = !d->has_window;
    const enum err err = d->has_window ? desk_open_window(d) : desk_open_sheets(d);
    if (err != ERR_OK)
        return err;
    d->is_shown = !d->has_window;
    d->is_touched = true;
    d->title[0] = '\0';
    canvas_set_title(&d->show.canvas, "Underfoot");
    canvas_raise(d->has_window ? &d->sheet[DESK_WHOLE] : &d->show.canvas);
    canvas_show_pointer(true);
    screen_forget_drawn(&d->show.screen); /* what the panel lay over is drawn anew */
    return ERR_OK;
}
