#include "visit/run.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/stop.h"
#include "base/str.h"
#include "visit/notice.h"
#include "visit/record_place.h"

#include <math.h>
#include <string.h>

#define WRITER_LOOK_STEPS 32 /* in virtual time: how often the writer is asked whether it keeps up */

struct run_config
run_config_default(void)
{
    return (struct run_config){ .session = { .pipeline = pipeline_config_default() },
                                .visit = visit_config_default() };
}

/* ---------------------------------------------------------------- feeding thread */

static void
watch_store(struct run *r)
{
    struct store_told told;
    struct writer_status status;
    if (!store_watch_look(&r->watch, &r->visit, monotime_now()))
        return;
    told.is_bad = r->watch.is_bad;
    told.is_aside = r->watch.is_aside;
    if (told.is_bad)
        told.says = r->watch.says;
    else
        message_init(&told.says, MESSAGE_VISIT_IS_SAVED_AGAIN);
    log_tell(&told.says);
    if (told.is_aside) {
        writer_get_status(&r->visit.writer, &status);
        run_record_follow(&r->record, status.aside);
    }
    mailbox_put(&r->to_main, &told);
}

/* Virtual time is faster than a disc. */
static void
wait_for_writer(struct run *r)
{
    struct writer_status status;
    if (++r->n_put % WRITER_LOOK_STEPS)
        return;
    for (;;) {
        writer_get_status(&r->visit.writer, &status);
        if (status.n_waiting < WRITER_N_STEPS / 2)
            break;
        monotime_sleep_us(2 * UNITS_US_PER_MS);
    }
}

static void
on_input(void *context, const struct session_input *input)
{
    struct run *r = context;
    run_record_input(&r->record, input);
    if (!r->config.is_virtual && atomic_load(&r->is_keeping))
        watch_store(r);
}

static void
on_step(void *context, const struct coached_step *step)
{
    struct run *r = context;
    const struct session_config *c = &r->config.session;
    if (r->config.is_stored) {
        visit_put_step(&r->visit, step);
        if (r->config.is_virtual)
            wait_for_writer(r);
    }
    if (c->on_step)
        c->on_step(c->context, step);
}

static void
on_block(void *context, const struct coach_block *block, struct dev_time now)
{
    struct run *r = context;
    const struct session_config *c = &r->config.session;
    if (r->config.is_stored)
        visit_put_block(&r->visit, block, now);
    if (c->on_block)
        c->on_block(c->context, block, now);
}

static void
on_targets(void *context, const struct coach *coach)
{
    struct run *r = context;
    const struct session_config *c = &r->config.session;
    if (r->config.is_stored)
        visit_put_targets(&r->visit, coach);
    if (c->on_targets)
        c->on_targets(c->context, coach);
}

/* ---------------------------------------------------------------- one at a time */

void
run_init(struct run *r, const struct run_config *config)
{
    memset(r, 0, sizeof *r);
    r->config = *config;
    mailbox_init(&r->to_main, r->slots, sizeof r->slots[0]);
    struct session_config session = config->session;
    session.on_input = on_input;
    session.on_step = on_step;
    session.on_block = on_block;
    session.on_targets = on_targets;
    session.on_notice = notice_say;
    session.context = r;
    session_init(&r->session, &session);
    session_hold(&r->session);
    str_copy(r->sensor_name, sizeof r->sensor_name, "simulated");
}

bool
run_is_ready(const struct run *r)
{
    return pipeline_is_ready(&r->session.pipeline);
}

/* What the visit's row says of the sensor: while nobody else feeds. */
static void
note_sensor(struct run *r)
{
    r->config.visit.sensor_kind = pipeline_kind_name(&r->session.pipeline);
    r->config.visit.sensor_name = r->sensor_name;
    r->config.visit.rate_hz = sense_rate_hz(&r->session.pipeline.sense);
}

static enum err
start_reader(struct run *r)
{
    memcpy(r->sensor_name, r->reader.source.path, sizeof r->sensor_name); /* the reader's own from now on */
    note_sensor(r);
    const bool was_blocked = stop_block_signals(true);
    const enum err err = reader_start(&r->reader);
    stop_block_signals(was_blocked);
    return err;
}

static enum err
begin_record(struct run *r)
{
    const struct run_record_config c = { .session = &r->config.session,
                                         .visit = &r->config.visit,
                                         .asked_path = r->config.record_path,
                                         .is_asked_forced = r->config.is_record_forced,
                                         .is_kept = r->config.is_stored,
                                         .is_virtual = r->config.is_virtual };
    const enum err err = run_record_begin(&r->record, &c);
    r->is_recorded = true;
    if (err != ERR_OK)
        r->why = r->record.why;
    return err;
}

enum err
run_open(struct run *r, const char *path, const struct source_config *source)
{
    enum err err = (r->config.is_rerun ? reader_open_rerun : reader_open)(&r->reader, path, source, &r->session);
    if (err == ERR_OK) {
        err = begin_record(r);
        if (err != ERR_OK) {
            reader_stop(&r->reader);
            return err;
        }
        err = reader_wait_ready(&r->reader, RUN_READY_MS);
    }
    if (err == ERR_OK)
        err = start_reader(r);
    r->is_open = err == ERR_OK;
    if (err == ERR_OK)
        return ERR_OK;
    r->why = r->reader.source.why;
    reader_stop(&r->reader);
    run_record_end(&r->record);
    return err;
}

void
run_feed(struct run *r, const uint8_t *bytes, size_t len, struct host_time arrived)
{
    if (!r->is_recorded)
        (void) begin_record(r); /* refused only where a recording was asked for, which a run without source is not */
    session_feed(&r->session, bytes, len, arrived);
}

void
run_tick(struct run *r, struct host_time now)
{
    session_tick(&r->session, now);
}

void
run_set_gone(struct run *r, const struct message *message, struct host_time now)
{
    session_set_gone(&r->session, message, now);
}

/* A rerun begins where the run did. */
static bool
is_held_by_recording(const struct run *r)
{
    return r->config.is_rerun && r->reader.rerun.is_held;
}

enum err
run_begin(struct run *r)
{
    enum err err = ERR_OK;
    if (!r->is_open)
        note_sensor(r);
    if (r->config.is_stored) {
        const bool was_blocked = stop_block_signals(true); /* inherited by the writer thread */
        err = visit_begin(&r->visit, &r->config.visit);
        stop_block_signals(was_blocked);
    }
    if (err != ERR_OK) {
        r->why = r->visit.why;
        return err;
    }
    r->is_begun = true;
    run_record_name(&r->record, r->visit.row.id, r->visit.row.started_utc_ms);
    atomic_store(&r->is_keeping, r->config.is_stored);
    if (!is_held_by_recording(r))
        session_release(&r->session);
    return ERR_OK;
}

void
run_finish(struct run *r)
{
    session_finish(&r->session);
}

enum err
run_end(struct run *r, double length_s)
{
    const bool was_begun = r->is_begun;
    if (r->is_open)
        reader_stop(&r->reader);
    r->is_open = false;
    if (r->is_begun) {
        if (!r->config.session.is_early_dropped)
            session_release(&r->session);
        session_finish(&r->session); /* for a source that ended before the visit began */
    }
    r->is_begun = false;
    run_record_end(&r->record);
    const enum err err = visit_end(&r->visit, &r->session.pipeline, length_s);
    if (err != ERR_OK)
        r->why = r->visit.why;
    atomic_store(&r->is_keeping, false);
    if (was_begun && r->record.kept_path[0] && r->record.visit_id != 0)
        record_place_tidy(r->config.visit.store_path, &r->tidied);
    if (was_begun)
        log_tell(&r->tidied);
    return err;
}

void
run_abandon(struct run *r)
{
    visit_abandon(&r->visit);
}

enum err
run_print_summary(struct run *r, FILE *f)
{
    const enum err err = visit_print_summary(&r->visit, f);
    if (err != ERR_OK)
        r->why = r->visit.why;
    return err;
}

/* ---------------------------------------------------------------- drawing thread */

bool
run_command(struct run *r, const struct command *command)
{
    return session_command(&r->session, command);
}

bool
run_put_pain(struct run *r, const struct visit_flow_pain *pain)
{
    const struct store_pain row = { (enum store_pain_when) pain->when, pain->at, pain->pain, pain->effort };
    if (!atomic_load(&r->is_keeping))
        return false;
    run_record_pain(&r->record, &row);
    return visit_put_pain(&r->visit, &row);
}

bool
run_put_note(struct run *r, struct dev_time at, const char *text)
{
    struct store_note note = { .at = at };
    if (!atomic_load(&r->is_keeping))
        return false;
    str_copy(note.text, sizeof note.text, text);
    run_record_note(&r->record, &note);
    return visit_put_note(&r->visit, &note);
}

bool
run_get_said(struct run *r, struct run_said *out)
{
    struct writer_status status;
    if (!atomic_load(&r->is_keeping))
        return false;
    writer_get_status(&r->visit.writer, &status);
    *out = (struct run_said){ writer_n_put_said(&r->visit.writer), status.n_said, status.n_said_refused };
    return true;
}

bool
run_take_verdict(struct run *r, struct verdict *out)
{
    return session_take_verdict(&r->session, out);
}

bool
run_take_told(struct run *r, struct store_told *out)
{
    return mailbox_take(&r->to_main, out);
}

bool
run_take_unrecorded(struct run *r, struct message *out)
{
    return run_record_take_told(&r->record, out);
}

void
run_get_recording(struct run *r, struct recorder_status *out)
{
    recorder_get_status(&r->record.kept, out);
}
