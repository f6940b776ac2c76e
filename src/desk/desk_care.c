#include "desk/desk_care.h"

#include "base/log.h"
#include "care/forget.h"
#include "desk/desk_work.h"
#include "store/copies.h"
#include "store/whole.h"

#include <stdio.h>

bool
desk_care_is_due(const struct desk_work *w)
{
    return !w->run->run.is_begun && (w->care.is_check_due || w->care.is_copy_due);
}

static void
tell(struct desk_work *w, const struct message *m)
{
    desk_answers_say(&w->answers, m);
    log_tell(m);
}

static void
check(struct desk_work *w, struct store *s, const struct store_stop *stop)
{
    struct message m;
    bool is_whole = true;
    int n = 0;
    if (forget_settle(s, &n) != ERR_OK)
        tell(w, &s->why);
    const enum err err = whole_quick(s, stop, &is_whole);
    if (err == ERR_GONE)
        return;
    w->care.is_check_due = false;
    if (err != ERR_OK)
        tell(w, &s->why);
    else if (!is_whole) {
        message_init(&m, MESSAGE_STORE_IS_DAMAGED);
        message_add(&m, message_path(s->path));
        tell(w, &m);
    }
}

static void
keep(struct desk_work *w, struct store *s, const struct store_stop *stop)
{
    struct settings rule;
    struct message told;
    enum err err = settings_load(s->path, &rule, &s->why);
    if (err == ERR_OK)
        err = copies_keep(s, &rule, stop, &told);
    if (err == ERR_GONE)
        return;
    w->care.is_copy_due = false;
    if (err != ERR_OK)
        tell(w, &s->why);
    else if (told.code != MESSAGE_NONE)
        tell(w, &told);
}

void
desk_care_do(struct desk_work *w, const struct store_stop *stop)
{
    struct store *s = NULL; /* the worker's own connection: one owner of the store in a process */
    const bool is_home = w->store.is_open && !desk_store_aside(&w->store);
    const enum err err = is_home ? desk_keep_store(w, &s) : ERR_GONE;
    if (err == ERR_OK && w->care.is_check_due && stop->fn)
        check(w, s, stop);
    if (err == ERR_OK && w->care.is_copy_due)
        keep(w, s, stop);
    if (err != ERR_OK) /* no store, or refused: whoever asks for something of it is told */
        w->care = (struct desk_care){ false, false };
}
