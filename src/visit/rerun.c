#include "visit/rerun.h"

#include "base/log.h"
#include "base/places.h"
#include "base/str.h"
#include "live/command_code.h"
#include "visit/begun_text.h"
#include "visit/notice.h"
#include "visit/run_record.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- what it began with */

enum err
rerun_open(struct rerun *r, const char *path)
{
    char early[16];
    memset(r, 0, sizeof *r);
    const enum err err = recording_open(&r->recording, path);
    if (err != ERR_OK) {
        r->why = r->recording.why;
        return err;
    }
    r->is_open = true;
    r->is_held = recording_note(&r->recording, "early", early, sizeof early);
    r->is_early_dropped = r->is_held && strcmp(early, "dropped") == 0;
    if (!recording_note(&r->recording, "runner", r->runner_code, sizeof r->runner_code))
        r->runner_code[0] = '\0';
    if (!recording_note(&r->recording, "program", r->software, sizeof r->software))
        r->software[0] = '\0';
    return ERR_OK;
}

static bool
read_note(const void *context, const char *name, char *out, size_t cap)
{
    return recording_note(context, name, out, cap);
}

static enum err
refuse_text(struct rerun *r, enum message_code code)
{
    message_tell(&r->why, code, message_path(r->recording.path));
    return ERR_UNSUPPORTED;
}

/* Version 1 holds no profile, but says where its own lay. A recording may come from anywhere: no file that it names is
 * opened unasked. */
static enum err
refuse_named_profile(struct rerun *r, const char *path)
{
    message_tell(&r->why, MESSAGE_RERUN_NAMES_PROFILE, message_path(r->recording.path), message_path(path));
    return ERR_USAGE;
}

static enum err
set_up_profile(struct rerun *r, struct session_config *c)
{
    size_t len = 0;
    const char *text = recording_text(&r->recording, "profile", &len);
    char path[PLACES_PATH_MAX];
    const bool is_named = r->recording.version == 1 && recording_note(&r->recording, "profile", path, sizeof path);
    if (c->pipeline.profile || (!text && !is_named))
        return ERR_OK;
    if (!text)
        return refuse_named_profile(r, path);
    r->profile = malloc(sizeof *r->profile);
    if (!r->profile) {
        message_init(&r->why, MESSAGE_RERUN_NO_PROFILE_MEMORY);
        return ERR_MEMORY;
    }
    c->pipeline.profile = r->profile;
    return begun_text_read_profile(text, len, r->profile) ? ERR_OK : refuse_text(r, MESSAGE_RERUN_PROFILE_UNREADABLE);
}

static enum err
set_up_coach(struct rerun *r, struct coach_config *c)
{
    size_t len = 0;
    const char *text = recording_text(&r->recording, "coach", &len);
    const struct coach_config given = *c;
    if (!text)
        return ERR_OK;
    if (!begun_text_read_coach(text, len, c))
        return refuse_text(r, MESSAGE_RERUN_COACH_UNREADABLE);
    if (given.n_targets > 0) {
        c->n_targets = given.n_targets;
        c->focus = given.focus;
        memcpy(c->target, given.target, sizeof c->target);
    }
    if (given.plan.n_blocks > 0)
        c->plan = given.plan;
    return ERR_OK;
}

enum err
rerun_set_up(struct rerun *r, struct session_config *c)
{
    enum err err = set_up_coach(r, &c->pipeline.coach);
    if (err == ERR_OK)
        err = set_up_profile(r, c);
    if (err != ERR_OK)
        return err;
    run_record_notes(c, read_note, &r->recording);
    c->is_early_dropped = r->is_early_dropped;
    return ERR_OK;
}

/* ---------------------------------------------------------------- one input at a time */

void
rerun_hold(struct rerun *r, struct session *s)
{
    if (r->is_held)
        session_hold(s);
}

bool
rerun_next(struct rerun *r)
{
    r->has_item = recording_next(&r->recording, &r->item) > 0;
    if (!r->has_item)
        r->why = r->recording.why;
    return r->has_item;
}

static void
copy_text(struct rerun *r)
{
    const size_t len = r->item.len < sizeof r->text - 1 ? r->item.len : sizeof r->text - 1;
    if (len > 0)
        memcpy(r->text, r->item.data, len);
    r->text[len] = '\0';
}

static const char *
pass_mark(struct rerun *r, struct session *s)
{
    copy_text(r);
    if (sscanf(r->text, "begin %" SCNd64, &r->visit_id) == 1) {
        r->has_begun = true;
        session_release(s);
        return NULL;
    }
    if (str_begins_with(r->text, "pain ") || str_begins_with(r->text, "note "))
        return r->text;
    r->n_refused++;
    return NULL;
}

const char *
rerun_pass(struct rerun *r, struct session *s, struct host_time at)
{
    struct command command;
    struct message gone;
    const struct recording_item *i = &r->item;
    switch (i->kind) {
    case RECORDING_BYTES:
        session_feed(s, i->data, i->len, at);
        break;
    case RECORDING_COMMAND:
        if (command_code_read(i->data, i->len, &command))
            session_obey(s, &command, at);
        else
            r->n_refused++;
        break;
    case RECORDING_TICK:
        session_tick(s, at);
        break;
    case RECORDING_GONE:
        copy_text(r);
        message_say(&gone, r->text);
        session_set_gone(s, &gone, at);
        break;
    case RECORDING_BACK: /* the session says so itself with the bytes that follow */
        break;
    case RECORDING_GAP:
        session_note_gap(s, at);
        break;
    case RECORDING_MARK:
        return pass_mark(r, s);
    }
    return NULL;
}

void
rerun_close(struct rerun *r)
{
    if (r->is_open)
        recording_close(&r->recording);
    r->is_open = false;
    free(r->profile);
    r->profile = NULL;
}

/* ---------------------------------------------------------------- all at once */

struct rerun_config
rerun_config_default(void)
{
    return (struct rerun_config){ .session = { .pipeline = pipeline_config_default() } };
}

static void
pass_all(struct rerun *r, const struct rerun_config *c, struct session *s)
{
    struct verdict v;
    void *context = c->session.context;
    while (!(c->should_stop && c->should_stop(context)) && rerun_next(r)) {
        const char *mark = rerun_pass(r, s, r->item.arrived);
        if (mark && c->on_mark)
            c->on_mark(context, mark);
        if (session_take_verdict(s, &v) && c->on_verdict)
            c->on_verdict(context, &v);
    }
    if (!r->is_early_dropped)
        session_release(s); /* cut before its visit began: what waits is all there is */
    session_finish(s);
    if (session_take_verdict(s, &v) && c->on_verdict)
        c->on_verdict(context, &v);
    if (r->n_refused > 0) {
        struct message m;
        message_tell(&m, MESSAGE_RERUN_PASSES_OVER, message_path(r->recording.path), r->n_refused);
        log_tell(&m);
    }
}

/* Nothing that can be measured: says why. */
static enum err
check_data(struct rerun *r, const struct session *s)
{
    struct message refusal;
    const bool is_refused = pipeline_refusal(&s->pipeline, &refusal);
    if (pipeline_is_ready(&s->pipeline))
        return ERR_OK;
    if (is_refused)
        message_tell(&r->why, MESSAGE_READER_REFUSED, message_path(r->recording.path), message_of(&refusal));
    else
        message_tell(&r->why, MESSAGE_READER_NO_DATA, message_path(r->recording.path));
    return ERR_FORMAT;
}

enum err
rerun_play(struct rerun *r, const struct rerun_config *c)
{
    struct session_config session = c->session;
    struct session *s = malloc(sizeof *s);
    if (!s) {
        message_init(&r->why, MESSAGE_SESSION_NO_MEMORY);
        return ERR_MEMORY;
    }
    if (!session.on_notice)
        session.on_notice = notice_say;
    session_init(s, &session);
    rerun_hold(r, s);
    pass_all(r, c, s);
    if (c->on_end)
        c->on_end(session.context, s);
    const enum err err = check_data(r, s);
    free(s);
    return err;
}

enum err
rerun_file(struct rerun *r, const char *path, const struct rerun_config *c)
{
    struct rerun_config set_up = *c;
    enum err err = rerun_open(r, path);
    if (err == ERR_OK)
        err = rerun_set_up(r, &set_up.session);
    return err == ERR_OK ? rerun_play(r, &set_up) : err;
}
