/* desk_keep.c - the worker's care for what is to be kept: the store it works in, and a visit that its store did not take. */
#include "base/log.h"
#include "base/monotime.h"
#include "base/str.h"
#include "care/homecoming.h"
#include "desk/desk_work.h"

#include <stdio.h>
#include <string.h>

void
desk_keep_say(struct desk_work *w, enum message_code code, struct message_arg part)
{
    struct message m;
    message_tell(&m, code, part);
    desk_answers_say(&w->answers, &m);
}

static void
tell(void *context, const struct message *m)
{
    struct desk_work *w = context;
    log_tell(m);
    desk_answers_say(&w->answers, m);
    if (m->code == MESSAGE_SPILL_TAKEN)
        w->run->run.visit.aside[0] = '\0';
}

/* Tried again and again: told when it worked. */
static void
tell_taken(void *context, const struct message *m)
{
    if (m->code == MESSAGE_SPILL_TAKEN)
        tell(context, m);
}

bool
desk_keep_is_elsewhere(const struct desk_work *w)
{
    const struct visit *v = &w->run->run.visit;
    return v->is_open || v->aside[0] || w->store.aside[0];
}

bool
desk_keep_is_asked(enum panel_request_kind kind)
{
    switch ((int) kind) {
    case PANEL_WANTS_SAVE_RUNNER:
    case PANEL_WANTS_FORGET:
    case PANEL_WANTS_PAIN:
    case PANEL_WANTS_NOTE:
    case PANEL_WANTS_TICKS:
    case PANEL_WANTS_END:
    case PANEL_WANTS_SAVED:
    case PANEL_WANTS_PRINT:
    case PANEL_WANTS_COPY:
    case PANEL_WANTS_UNDO_CALIBRATION:
        return true;
    default: /* what only changes what is shown, or runs */
        return false;
    }
}

enum err
desk_keep_store(struct desk_work *w, struct store **out)
{
    bool is_new = false;
    const enum err err = desk_store_get(&w->store, out, &is_new);
    if (is_new)
        homecoming(*out, tell, w);
    return err;
}

/* The store went while nothing ran: what it held is saved, and the panel goes on with that. */
static void
go_aside(struct desk_work *w)
{
    struct desk_store *d = &w->store;
    struct message why, m;
    const char *visit_aside = w->run->run.visit.aside;
    if (!desk_store_is_gone(d)) {
        d->is_gone_told = false;
        return;
    }
    why = d->store.why;
    if (desk_store_go_aside(d, visit_aside[0] ? visit_aside : NULL)) {
        const char *where = visit_aside[0] ? visit_aside : d->spill.folder;
        message_tell(&m, MESSAGE_STORE_LOST_HELD_IN, message_of(&why), message_path(where));
        log_tell(&m);
        desk_keep_say(w, MESSAGE_STORE_LOST_GOES_ON, message_path(where));
    } else if (!d->is_gone_told) {
        message_tell(&m, MESSAGE_STORE_LOST_NOWHERE, message_of(&why));
        log_tell(&m);
        desk_keep_say(w, MESSAGE_STORE_LOST_FOR_GOOD, message_of(&why));
        d->is_gone_told = true;
    }
}

/* A visit that ended, but not in its store. */
static void
try_again(struct desk_work *w)
{
    const struct visit *v = &w->run->run.visit;
    struct store *s;
    bool is_new;
    if (v->is_open && desk_run_end(w->run) == ERR_OK)
        desk_answers_note(&w->answers, MESSAGE_VISIT_IS_SAVED);
    if (v->aside[0] && !w->store.aside[0] && desk_store_get(&w->store, &s, &is_new) == ERR_OK)
        homecoming(s, tell_taken, w);
}

void
desk_keep_look(struct desk_work *w)
{
    const struct visit *v = &w->run->run.visit;
    const struct host_time now = monotime_now();
    if (v->is_open && !v->is_ending) /* it runs, and its writer looks */
        return;
    if ((v->is_open || v->aside[0]) && units_host_since_us(now, w->kept_tried) >= DESK_WORK_AGAIN_US) {
        try_again(w);
        w->kept_tried = monotime_now();
    }
    go_aside(w);
}

/* By a connection of its own: "saved" is what others can read. */
static enum err
read_back(const struct visit *v, struct message *why)
{
    struct store s;
    struct store_visit row;
    enum err err = store_open(&s, v->store_path, STORE_READ_ONLY | STORE_MUST_EXIST | STORE_UNCHECKED);
    if (err == ERR_OK)
        err = store_visit_get(&s, v->row.id, &row);
    if (err == ERR_OK && !row.is_finished) {
        message_init(&s.why, MESSAGE_VISIT_LACKS_END);
        err = ERR_FORMAT;
    }
    *why = s.why;
    store_close(&s);
    return err;
}

void
desk_keep_tell_saved(struct desk_work *w)
{
    const struct visit *v = &w->run->run.visit;
    struct message why;
    if (v->row.id == 0)
        return;
    if (v->is_open || v->aside[0])
        try_again(w);
    if (v->is_open)
        desk_keep_say(w, MESSAGE_VISIT_NO_PLACE, message_of(&v->writer.status.why));
    else if (v->aside[0])
        desk_keep_say(w, MESSAGE_VISIT_IS_ELSEWHERE, message_path(v->aside));
    else if (read_back(v, &why) != ERR_OK)
        desk_keep_say(w, MESSAGE_VISIT_NOT_SAVED, message_of(&why));
    else
        desk_answers_note(&w->answers, MESSAGE_VISIT_IS_SAVED);
}
