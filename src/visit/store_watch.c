#include "visit/store_watch.h"

#include <string.h>

/* The reason alone, without the store's path: it has to fit one line of the panel. */
static void
find_reason(const struct message *why, struct message *out)
{
    const bool has_cause = why->code == MESSAGE_STORE_FAILED || why->code == MESSAGE_STORE_LOST;
    if (message_is_none(why))
        message_init(out, MESSAGE_DISC_DOES_NOT_ANSWER);
    else if (!has_cause || !message_inner(why, why->n_parts - 1, out))
        *out = *why;
}

static void
say_bad(struct store_watch *w, const struct writer_status *s)
{
    struct message reason;
    find_reason(&s->why, &reason);
    if (s->aside[0] && s->n_dropped == 0)
        message_tell(&w->says, MESSAGE_VISIT_IS_ASIDE, message_path(s->aside), message_of(&reason));
    else if (s->n_dropped > 0)
        message_tell(&w->says, MESSAGE_VISIT_LOSES, s->n_dropped, message_of(&reason));
    else
        message_tell(&w->says, MESSAGE_VISIT_NOT_SAVED_NOW, message_of(&reason));
}

bool
store_watch_judge(struct store_watch *w, const struct writer_status *s, struct host_time now)
{
    if (w->kept.us == 0 || s->n_waiting == 0 || s->n_written != w->n_written)
        w->kept = now;
    const bool is_losing = s->n_dropped > w->n_dropped;
    const bool is_stalled = now.us - w->kept.us >= STORE_WATCH_STALL_US;
    const bool is_bad = s->err != ERR_OK || is_stalled || is_losing;
    const bool is_aside = is_bad && s->aside[0] != '\0';
    const bool is_news = is_bad != w->is_bad || is_aside != w->is_aside || (is_losing && w->n_dropped == 0);
    w->is_aside = is_aside;
    w->n_written = s->n_written;
    w->n_dropped = s->n_dropped;
    w->is_bad = is_bad;
    if (is_bad)
        say_bad(w, s);
    else
        message_init(&w->says, MESSAGE_NONE);
    return is_news;
}

bool
store_watch_look(struct store_watch *w, struct visit *v, struct host_time now)
{
    struct writer_status status;
    if (!v->is_open) {
        const bool is_news = w->is_bad;
        memset(w, 0, sizeof *w);
        return is_news;
    }
    if (w->looked.us != 0 && now.us - w->looked.us < STORE_WATCH_EVERY_US)
        return false;
    w->looked = now;
    writer_get_status(&v->writer, &status);
    return store_watch_judge(w, &status, now);
}
