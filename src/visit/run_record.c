#include "visit/run_record.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/str.h"
#include "base/version.h"
#include "care/recordings.h"
#include "live/command_code.h"
#include "visit/begun_text.h"
#include "visit/record_place.h"

#include <inttypes.h>
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define N_NOTES 24
#define NOTE_MAX 256

/* ---------------------------------------------------------------- the head */

/* The figures that the step records depend on: written into a recording, read back for a replay. */
static const struct {
    const char *name;
    size_t offset; /* of a double in struct pipeline_config */
} FIGURES[] = {
    { "body_mass_kg", offsetof(struct pipeline_config, body_mass_kg) },
    { "belt_speed_m_s", offsetof(struct pipeline_config, belt_speed_m_s) },
    { "foot_length_mm", offsetof(struct pipeline_config, foot_length_mm) },
    { "leg_length_mm", offsetof(struct pipeline_config, leg_length_mm) },
    { "baseline_s", offsetof(struct pipeline_config, coach.baseline_s) },
};
#define N_FIGURES (sizeof FIGURES / sizeof *FIGURES)

static double *
figure_of(struct pipeline_config *c, size_t i)
{
    return (double *) (void *) ((char *) c + FIGURES[i].offset);
}

static void
format_targets(const struct coach_config *c, char *out, size_t cap)
{
    out[0] = '\0';
    for (int i = 0; i < c->n_targets; i++) {
        char word[96];
        snprintf(word, sizeof word, "%s%s=%.17g:%.17g", i ? " " : "", metric_info(c->target[i].metric)->name,
                 c->target[i].low, c->target[i].high);
        str_append(out, cap, word);
    }
}

struct head {
    struct recording_note note[N_NOTES];
    struct recording_text text[2];
    char value[N_NOTES][NOTE_MAX];
    char profile[BEGUN_TEXT_PROFILE_MAX], coach[BEGUN_TEXT_COACH_MAX];
    int n_notes, n_texts;
};

static void
add_note(struct head *h, const char *name, const char *value)
{
    if (!value || !value[0] || h->n_notes == N_NOTES)
        return;
    str_copy(h->value[h->n_notes], NOTE_MAX, value);
    h->note[h->n_notes] = (struct recording_note){ name, h->value[h->n_notes] };
    h->n_notes++;
}

static void
add_number(struct head *h, const char *name, double x)
{
    char text[32];
    snprintf(text, sizeof text, "%.17g", x);
    if (!isnan(x))
        add_note(h, name, text);
}

static void
add_time(struct head *h)
{
    char text[32];
    const time_t now = (time_t) (monotime_wall_us() / UNITS_US_PER_S);
    struct tm utc;
    gmtime_r(&now, &utc);
    strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &utc);
    add_note(h, "made", text);
}

/* False when it has no room: no recording then, rather than one that would not come out the same. */
static bool
fill_head(struct head *h, const struct run_record_config *c)
{
    const struct session_config *s = c->session;
    struct pipeline_config pipeline = s->pipeline;
    char targets[NOTE_MAX];
    add_time(h);
    add_note(h, "program", "underfoot " VERSION_TEXT);
    for (size_t i = 0; i < N_FIGURES; i++)
        add_number(h, FIGURES[i].name, *figure_of(&pipeline, i));
    add_note(h, "profile", s->profile_path);
    add_note(h, "calibration", s->calibration);
    format_targets(&pipeline.coach, targets, sizeof targets);
    add_note(h, "targets", targets);
    add_note(h, "runner", c->visit->runner_code);
    add_note(h, "plan", c->visit->plan);
    add_number(h, "course_visit", c->visit->course_visit > 0 ? c->visit->course_visit : (double) NAN);
    add_note(h, "early", s->is_early_dropped ? "dropped" : "held");
    size_t len = begun_text_coach(&pipeline.coach, h->coach, sizeof h->coach);
    h->text[h->n_texts++] = (struct recording_text){ "coach", h->coach, len };
    if (len == 0 || !pipeline.profile)
        return len > 0;
    len = begun_text_profile(pipeline.profile, h->profile, sizeof h->profile);
    h->text[h->n_texts++] = (struct recording_text){ "profile", h->profile, len };
    return len > 0;
}

void
run_record_notes(struct session_config *c,
                 bool (*note)(const void *context, const char *name, char *out, size_t cap),
                 const void *context)
{
    char text[NOTE_MAX];
    for (size_t i = 0; i < N_FIGURES; i++) {
        double *figure = figure_of(&c->pipeline, i);
        const bool is_open = isnan(*figure) || figure == &c->pipeline.coach.baseline_s;
        if (is_open && note(context, FIGURES[i].name, text, sizeof text))
            str_to_double(text, figure);
    }
    struct coach_config *coach = &c->pipeline.coach;
    if (coach->n_targets > 0 || !note(context, "targets", text, sizeof text))
        return;
    char *rest = text, *word;
    while ((word = strtok_r(rest, " ", &rest)) && coach->n_targets < VERDICT_MAX_BARS) {
        struct message why, m;
        if (target_parse(word, &coach->target[coach->n_targets], &why)) {
            coach->n_targets++;
            continue;
        }
        message_tell(&m, MESSAGE_RECORDING_HAS_BAD_TARGET, message_of(&why));
        log_tell(&m);
    }
}

/* ---------------------------------------------------------------- begin and end */

static void
tell(struct run_record *r, const struct message *why)
{
    struct message m;
    message_tell(&m, MESSAGE_VISIT_NOT_RECORDED, message_of(why));
    mailbox_put(&r->told, &m);
    r->is_told = true;
}

static enum err
start_asked(struct run_record *r, const struct run_record_config *c, const struct recording_head *head)
{
    if (c->is_asked_forced)
        unlink(c->asked_path); /* a recording itself never writes over anything */
    const enum err err = recorder_start(&r->asked, c->asked_path, head);
    if (err != ERR_OK)
        r->why = r->asked.why;
    return err;
}

static void
start_kept(struct run_record *r, const struct run_record_config *c, const struct recording_head *head)
{
    struct message why;
    enum err err = record_place_open(c->visit->store_path, r->kept_path, &r->is_place_new, &why);
    if (err == ERR_OK) {
        err = recorder_start(&r->kept, r->kept_path, head);
        why = r->kept.why;
    }
    if (err == ERR_OK)
        return;
    if (r->kept_path[0])
        record_place_drop(r->kept_path, r->is_place_new);
    r->kept_path[0] = '\0';
    r->why = why;
    r->is_unmade = true;
    tell(r, &why);
}

enum err
run_record_begin(struct run_record *r, const struct run_record_config *c)
{
    memset(r, 0, sizeof *r);
    mailbox_init(&r->told, r->told_slots, sizeof r->told_slots[0]);
    r->is_virtual = c->is_virtual;
    if (!c->asked_path && !c->is_kept)
        return ERR_OK;
    struct head *h = calloc(1, sizeof *h);
    r->mark_slots = calloc(RUN_RECORD_N_MARKS, sizeof *r->mark_slots);
    enum err err = h && r->mark_slots ? ERR_OK : ERR_MEMORY;
    if (err == ERR_OK)
        ring_init(&r->marks, r->mark_slots, sizeof *r->mark_slots, RUN_RECORD_N_MARKS);
    const bool is_whole = err == ERR_OK && fill_head(h, c);
    if (err != ERR_OK)
        message_init(&r->why, MESSAGE_RUN_RECORD_NO_MEMORY);
    else if (!is_whole)
        message_init(&r->why, MESSAGE_RECORDING_HEAD_IS_FULL);
    if (is_whole) {
        const struct recording_head head = { h->note, h->n_notes, h->text, h->n_texts };
        err = c->asked_path ? start_asked(r, c, &head) : ERR_OK;
        if (err == ERR_OK && c->is_kept)
            start_kept(r, c, &head);
    } else if (c->asked_path)
        err = ERR_MEMORY;
    else {
        r->is_unmade = true;
        tell(r, &r->why);
        err = ERR_OK;
    }
    free(h);
    if (err != ERR_OK)
        run_record_end(r);
    return err;
}

void
run_record_name(struct run_record *r, int64_t visit_id, int64_t started_utc_ms)
{
    struct message why, m;
    r->visit_id = visit_id;
    r->started_utc_ms = started_utc_ms;
    if (r->is_unmade) { /* only now: a start that is refused says that alone */
        message_tell(&m, MESSAGE_VISIT_NOT_RECORDED, message_of(&r->why));
        log_tell(&m);
    }
    if (!r->kept_path[0] || visit_id == 0)
        return;
    /* The open file goes on under its new name. */
    if (record_place_name(r->kept_path, visit_id, started_utc_ms, r->kept_path, &why) == ERR_OK)
        return;
    message_tell(&m, MESSAGE_RECORDING_KEEPS_NAME, message_path(r->kept_path), message_of(&why));
    log_tell(&m);
}

/* ---------------------------------------------------------------- feeding thread */

static void
put_to(struct run_record *r, struct recorder *to, enum recording_kind kind, const void *data, size_t len, struct host_time at)
{
    if (!to->is_running)
        return;
    while (r->is_virtual && ring_count(&to->ring) > RECORDER_N_PIECES / 2)
        monotime_sleep_us(2 * UNITS_US_PER_MS);
    if (recorder_put(to, kind, data, len, at) || r->is_told)
        return;
    struct recorder_status status;
    recorder_get_status(to, &status);
    if (status.has_ended_early) /* its own thread has told the operator */
        tell(r, &status.why);
}

static void
put(struct run_record *r, enum recording_kind kind, const void *data, size_t len, struct host_time at)
{
    put_to(r, &r->asked, kind, data, len, at);
    put_to(r, &r->kept, kind, data, len, at);
}

static void
put_marks(struct run_record *r, struct host_time at)
{
    const char *text;
    while (r->mark_slots && (text = ring_peek(&r->marks, 0))) {
        put(r, RECORDING_MARK, text, strlen(text), at);
        ring_release(&r->marks, 1);
    }
}

void
run_record_input(struct run_record *r, const struct session_input *input)
{
    uint8_t code[COMMAND_CODE_MAX];
    char begin[32];
    const char *text;
    if (!r->asked.is_running && !r->kept.is_running)
        return;
    r->last = input->at;
    put_marks(r, input->at);
    switch (input->kind) {
    case SESSION_GETS_BYTES:
        put(r, RECORDING_BYTES, input->bytes, input->len, input->at);
        break;
    case SESSION_GETS_COMMAND:
        put(r, RECORDING_COMMAND, code, command_code_write(input->command, code), input->at);
        break;
    case SESSION_GETS_TICK:
        put(r, RECORDING_TICK, NULL, 0, input->at);
        break;
    case SESSION_GETS_GONE:
        /* The recording keeps the text in English: who reads it later may have another language. */
        text = message_english(input->message);
        put(r, RECORDING_GONE, text, strlen(text), input->at);
        break;
    case SESSION_GETS_BACK:
        put(r, RECORDING_BACK, NULL, 0, input->at);
        break;
    case SESSION_GETS_GAP:
        put(r, RECORDING_GAP, NULL, 0, input->at);
        break;
    case SESSION_GETS_RELEASE:
        snprintf(begin, sizeof begin, "begin %" PRId64, r->visit_id);
        put(r, RECORDING_MARK, begin, strlen(begin), input->at);
        break;
    }
}

void
run_record_follow(struct run_record *r, const char *folder)
{
    char next[FILEIO_PATH_MAX], name[RECORDINGS_NAME_MAX];
    recordings_name(r->visit_id, r->started_utc_ms, name); /* also where it could not be given that name before */
    const int len = snprintf(next, sizeof next, "%s/" RECORDINGS_FOLDER "/%s", folder, name);
    if (r->kept.is_running && r->visit_id != 0 && len > 0 && len < (int) sizeof next)
        recorder_follow(&r->kept, r->kept_path, next);
}

/* ---------------------------------------------------------------- drawing thread */

static void
mark(struct run_record *r, const char text[RUN_RECORD_MARK_MAX])
{
    struct message m;
    message_init(&m, MESSAGE_RECORDING_MISSES_MARK);
    if (r->mark_slots && !ring_put(&r->marks, text))
        log_tell(&m);
}

void
run_record_pain(struct run_record *r, const struct store_pain *pain)
{
    char text[RUN_RECORD_MARK_MAX] = "";
    snprintf(text, sizeof text, "pain %d %" PRId64 " %.17g %.17g", (int) pain->when, pain->at.us, pain->pain, pain->effort);
    mark(r, text);
}

void
run_record_note(struct run_record *r, const struct store_note *note)
{
    char text[RUN_RECORD_MARK_MAX] = "";
    snprintf(text, sizeof text, "note %" PRId64 " %s", note->at.us, note->text);
    mark(r, text);
}

bool
run_record_take_told(struct run_record *r, struct message *out)
{
    return r->told.buffer && mailbox_take(&r->told, out);
}

void
run_record_end(struct run_record *r)
{
    const bool is_running = r->asked.is_running || r->kept.is_running;
    if (is_running)
        put_marks(r, r->last);
    recorder_stop(&r->asked);
    recorder_stop(&r->kept);
    if (is_running && r->kept_path[0] && r->visit_id == 0)
        record_place_drop(r->kept_path, r->is_place_new);
    free(r->mark_slots);
    r->mark_slots = NULL;
}
