/* desk_look.c - the runner's screen put over to the one whose visit begins. */
#include "base/log.h"
#include "base/str.h"
#include "desk/desk_parts.h"

#include <string.h>

static enum err
wear(struct desk *d)
{
    enum err err = choices_wear(&d->look, &d->show.canvas, &d->show.screen, &d->why);
    if (err == ERR_OK && !d->has_window)
        err = choices_wear(&d->look, &d->beside, &d->beside_screen, &d->why);
    return err;
}

void
desk_dress(struct desk *d, const struct panel_runner *r)
{
    if (strcmp(r->display, d->dressed) == 0)
        return;
    str_copy(d->dressed, sizeof d->dressed, r->display);
    choices_read(r->code, r->display, &d->choices);
    d->look = d->config->show;
    choices_apply(&d->choices, &d->look);
    if (wear(d) != ERR_OK) {
        struct message m;
        message_tell(&m, MESSAGE_SCREEN_STAYS, message_of(&d->why));
        log_tell(&m);
        d->look = d->config->show;
        d->is_leaving = wear(d) != ERR_OK; /* it was shown a moment ago: never, unless files went away */
    }
    show_set_sound(&d->show, &d->look);
    d->draw[d->shown].drawn = 0;
}
