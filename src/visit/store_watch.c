#include "visit/store_watch.h"

#include "base/str.h"

#include <stdio.h>
#include <string.h>

static void
say_bad(struct store_watch *w, const struct writer_status *s)
{
    /* The reason alone, without the store's path: it has to fit one line of the panel. */
    const char *behind = strstr(message_english(&s->why), STORE_FILE_NAME ": ");
    const char *why = behind ? behind + strlen(STORE_FILE_NAME ": ") : !message_is_none(&s->why) ? message_english(&s->why) : "the disc does not answer";
    const unsigned long long n_lost = s->n_dropped;
    str_copy(w->where, sizeof w->where, s->aside);
    str_copy(w->reason, sizeof w->reason, why);
    if (s->aside[0] && n_lost == 0)
        snprintf(w->says, sizeof w->says, "kept in %.200s until the store takes it: %.250s", s->aside, why);
    else if (n_lost > 0)
        snprintf(w->says, sizeof w->says, "%llu records are lost: %.400s", n_lost, why);
    else
        snprintf(w->says, sizeof w->says, "not saved for now: %.400s", why);
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
        w->says[0] = '\0';
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
