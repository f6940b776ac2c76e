#include "visit/reader.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/stop.h"
#include "base/str.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static void
ask_hello(struct reader *r, struct host_time now)
{
    uint8_t bytes[64];
    const size_t len = wire_encode_ask(WIRE_ASK_HELLO, 0, 0, bytes, sizeof bytes);
    source_write(&r->source, bytes, len);
    r->asked = now;
}

enum err
reader_open(struct reader *r, const char *path, const struct source_config *config, struct session *session)
{
    memset(r, 0, sizeof *r);
    r->config = *config;
    r->session = session;
    r->is_any = strcmp(path, "auto") == 0;
    away_init(&r->away);
    const enum err err = source_open(&r->source, path, config);
    if (err == ERR_GONE)
        source_tell_there(path, &r->source.why);
    if (err == ERR_OK && source_is_live(&r->source))
        ask_hello(r, monotime_now());
    return err;
}

enum err
reader_open_rerun(struct reader *r, const char *path, const struct source_config *config, struct session *session)
{
    memset(r, 0, sizeof *r);
    r->config = *config;
    r->session = session;
    r->source.fd = -1;
    const enum err err = rerun_open(&r->rerun, path);
    str_copy(r->source.path, sizeof r->source.path, path);
    r->source.why = r->rerun.why;
    r->is_rerun = err == ERR_OK;
    return err;
}

/* Whether the next input of the recording is due; waits for READER_WAIT_MS at most. */
static bool
is_due(struct reader *r)
{
    const double pace = r->config.pace_ratio;
    const struct host_time now = monotime_now();
    if (!(pace > 0))
        return true;
    if (r->first.us == 0) {
        r->begun = now;
        r->first = r->rerun.item.arrived;
    }
    const double since_us = (double) units_host_since_us(r->rerun.item.arrived, r->first) / pace;
    const struct host_time due = { r->begun.us + (int64_t) since_us };
    const struct host_time limit = { now.us + READER_WAIT_MS * UNITS_US_PER_MS };
    if (due.us > now.us)
        monotime_sleep_until(due.us < limit.us ? due : limit);
    return monotime_now().us >= due.us;
}

/* One input of the recording, if it is due. False: there is none left. */
static bool
rerun_one(struct reader *r)
{
    const bool is_paced = r->config.pace_ratio > 0;
    if (!r->rerun.has_item && !rerun_next(&r->rerun))
        return false;
    if (is_due(r)) {
        rerun_pass(&r->rerun, r->session, is_paced ? monotime_now() : r->rerun.item.arrived);
        r->rerun.has_item = false;
    } else if (r->rerun.recording.version == 1) /* knew no ticks */
        session_tick(r->session, monotime_now());
    return true;
}

static enum err
wait_rerun(struct reader *r)
{
    while (!pipeline_is_ready(&r->session->pipeline) && !stop_is_asked())
        if (!rerun_one(r)) {
            message_tell(&r->source.why, MESSAGE_READER_NO_DATA, message_path(r->source.path));
            return ERR_FORMAT;
        }
    if (pipeline_is_ready(&r->session->pipeline))
        return ERR_OK;
    message_tell(&r->source.why, MESSAGE_READER_STOPPED, message_path(r->source.path));
    return ERR_GONE;
}

static void *
rerun_all(void *context)
{
    struct reader *r = context;
    while (!atomic_load(&r->is_stopping) && rerun_one(r))
        ;
    if (!r->rerun.has_item && !message_is_none(&r->rerun.why))
        log_tell(&r->rerun.why);
    session_finish(r->session);
    atomic_store(&r->has_ended, true);
    return NULL;
}

static void
feed(struct reader *r, const uint8_t *bytes, size_t len, struct host_time arrived)
{
    if (source_take_gap(&r->source))
        session_note_gap(r->session, arrived);
    session_feed(r->session, bytes, len, arrived);
}

static void
say_unready(struct reader *r, int timeout_ms)
{
    const struct pipeline *p = &r->session->pipeline;
    const struct wire_health *h = &p->wire.health;
    struct message *why = &r->source.why;
    struct message unsaid;
    char path[SOURCE_PATH_MAX];
    snprintf(path, sizeof path, "%s", r->source.path);
    if (stop_is_asked())
        message_tell(why, MESSAGE_READER_STOPPED, message_path(path));
    else if (pipeline_refusal(p, &unsaid))
        message_tell(why, MESSAGE_READER_REFUSED, message_path(path), message_of(&unsaid));
    else if (h->n_bytes == 0)
        message_tell(why, MESSAGE_READER_HEARS_NOTHING, message_path(path), timeout_ms / 1000);
    else if (h->n_before_hello > 0 && source_complaint(&r->source, h, &unsaid))
        *why = unsaid; /* text lines that nobody has said the meaning of */
    else if (h->n_packets == 0)
        message_tell(why, MESSAGE_READER_CANT_READ, message_path(path), h->n_bytes);
    else
        message_tell(why, MESSAGE_READER_GETS_NO_MEASUREMENTS, message_path(path));
}

enum err
reader_wait_ready(struct reader *r, int timeout_ms)
{
    if (r->is_rerun)
        return wait_rerun(r);
    uint8_t bytes[READER_FIRST_LEN]; /* small, so that the first frame is not followed by many steps */
    const bool is_live = source_is_live(&r->source);
    const struct host_time begun = monotime_now();
    while (!pipeline_is_ready(&r->session->pipeline)) {
        const struct host_time now = monotime_now();
        if (stop_is_asked() || (is_live && units_host_since_us(now, begun) > timeout_ms * UNITS_US_PER_MS))
            break;
        if (is_live && units_host_since_us(now, r->asked) > READER_ASK_MS * UNITS_US_PER_MS)
            ask_hello(r, now);
        struct host_time arrived;
        const int n = source_read(&r->source, bytes, sizeof bytes, READER_WAIT_MS, &arrived);
        if (n > 0)
            feed(r, bytes, (size_t) n, arrived);
        else if (n < 0) {
            if (n == SOURCE_ENDED)
                message_tell(&r->source.why, MESSAGE_READER_NO_DATA, message_path(r->source.path));
            return n == SOURCE_ENDED ? ERR_FORMAT : ERR_GONE;
        }
    }
    if (pipeline_is_ready(&r->session->pipeline))
        return ERR_OK;
    say_unready(r, timeout_ms);
    return r->session->pipeline.wire.health.n_bytes ? ERR_FORMAT : ERR_GONE;
}

static bool
is_same_board(void *context, const struct packet_hello *hello)
{
    const struct reader *r = context;
    return sense_knows(&r->session->pipeline.sense, hello); /* of one that never said hello nothing is known: any will do */
}

static bool
should_stop(void *context)
{
    const struct reader *r = context;
    return atomic_load(&r->is_stopping);
}

/* The same path first; then whichever port says the same hello: at once where any port would do, else among the new ones
 * when a named port stays away. */
static bool
is_back(struct reader *r, const char *path, bool is_port)
{
    if (source_open(&r->source, path, &r->config) == ERR_OK)
        return true;
    struct source_config c = r->config;
    struct source_wish wish = { .is_it = is_same_board, .should_stop = should_stop, .context = r };
    c.hello_wait_ms = READER_PROBE_MS;
    if (!r->is_any) {
        if (!is_port || !r->session->pipeline.sense.has_hello || !away_is_long(&r->away, monotime_now()))
            return false;
        wish.but = &r->away.before;
        c.hello_wait_ms = AWAY_LISTEN_MS;
    }
    return source_find(&r->source, &wish, &c) == ERR_OK;
}

static void
say_back(const struct reader *r, const char *path)
{
    struct message m;
    if (strcmp(path, r->source.path) == 0)
        message_tell(&m, MESSAGE_SENSOR_IS_BACK, message_path(path));
    else
        message_tell(&m, MESSAGE_SENSOR_IS_BACK_AS, message_path(path), message_path(r->source.path));
    log_tell(&m);
}

static void
say_away(struct reader *r, const char *path)
{
    const bool is_first = message_is_none(&r->away.says);
    const struct host_time now = monotime_now();
    if (r->is_stranger || !away_has_news(&r->away, path, now))
        return;
    if (is_first)
        log_tell(&r->away.says);
    session_set_gone(r->session, &r->away.says, now);
}

/* Waits for the path to come back. False when asked to stop first. */
static bool
wait_back(struct reader *r, int retry_ms)
{
    char path[SOURCE_PATH_MAX];
    const bool is_port = r->source.kind == SOURCE_PORT;
    memcpy(path, r->source.path, sizeof path);
    source_close(&r->source);
    for (int waited_ms = 0; !atomic_load(&r->is_stopping); waited_ms += READER_RETRY_MS) {
        monotime_sleep_us(READER_RETRY_MS * UNITS_US_PER_MS);
        if (waited_ms + READER_RETRY_MS < retry_ms)
            continue;
        if (is_back(r, path, is_port)) {
            r->is_on_trial = r->source.kind == SOURCE_FD && r->session->pipeline.sense.has_hello;
            if (r->is_on_trial)
                wire_init(&r->trial);
            else
                say_back(r, path);
            ask_hello(r, monotime_now());
            return true;
        }
        memcpy(r->source.path, path, sizeof path);
        say_away(r, path);
    }
    return false;
}

static bool
open_again(struct reader *r)
{
    const bool is_told = r->is_stranger || r->is_on_trial;
    struct message m;
    if (!is_told) {
        away_begin(&r->away, monotime_now()); /* before anything else: what appears from now on is new */
        message_tell(&m, MESSAGE_SENSOR_IS_AWAITED, message_of(&r->source.why));
        log_tell(&m);
    }
    message_init(&m, MESSAGE_SENSOR_IS_UNPLUGGED);
    if (!r->is_stranger)
        session_set_gone(r->session, &m, monotime_now());
    return wait_back(r, READER_RETRY_MS);
}

static bool
leave_stranger(struct reader *r)
{
    struct message m;
    message_tell(&m, MESSAGE_SENSOR_IS_ANOTHER, message_path(r->source.path));
    if (!r->is_stranger)
        log_tell(&m);
    r->is_stranger = true;
    message_init(&m, MESSAGE_SENSOR_IS_STRANGER);
    session_set_gone(r->session, &m, monotime_now());
    return wait_back(r, READER_STRANGER_MS);
}

/* What came from a sensor that is back. It is let in with the bytes that hold its hello. False: end. */
static bool
try_back(struct reader *r, const uint8_t *bytes, size_t len, struct host_time arrived)
{
    for (size_t used = 0; used < len;) {
        used += wire_feed(&r->trial, bytes + used, len - used, arrived);
        const struct packet *packet = wire_take(&r->trial);
        if (!packet || packet->type != PACKET_HELLO)
            continue;
        if (!sense_knows(&r->session->pipeline.sense, &packet->hello))
            return leave_stranger(r);
        r->is_on_trial = r->is_stranger = false;
        say_back(r, r->source.path);
        feed(r, bytes, len, arrived);
        return true;
    }
    return true;
}

static void *
reader_run(void *context)
{
    struct reader *r = context;
    uint8_t bytes[READER_BUFFER_LEN];
    const bool is_live = source_is_live(&r->source);
    while (!atomic_load(&r->is_stopping)) {
        struct host_time arrived;
        const int n = source_read(&r->source, bytes, sizeof bytes, READER_WAIT_MS, &arrived);
        if (n > 0 && r->is_on_trial) {
            if (!try_back(r, bytes, (size_t) n, arrived))
                break;
            if (units_host_since_us(monotime_now(), r->asked) > READER_ASK_MS * UNITS_US_PER_MS)
                ask_hello(r, monotime_now()); /* the answer may have been lost */
        } else if (n > 0)
            feed(r, bytes, (size_t) n, arrived);
        else if (n == 0) {
            const struct host_time now = monotime_now();
            if (!r->is_on_trial)
                session_tick(r->session, now);
            if (is_live && units_host_since_us(now, r->asked) > READER_ASK_MS * UNITS_US_PER_MS)
                ask_hello(r, now); /* a board that was reset waits to be asked */
        } else if (n == SOURCE_ENDED) {
            if (source_has_lost(&r->source))
                log_tell(&r->source.why);
            break;
        } else if (!open_again(r))
            break;
    }
    session_finish(r->session);
    atomic_store(&r->has_ended, true);
    return NULL;
}

enum err
reader_start(struct reader *r)
{
    const int refused = pthread_create(&r->thread, NULL, r->is_rerun ? rerun_all : reader_run, r);
    if (refused) {
        message_tell(&r->source.why, MESSAGE_READER_NO_THREAD, message_errno(refused));
        return ERR_OS;
    }
    r->is_running = true;
    return ERR_OK;
}

void
reader_stop(struct reader *r)
{
    atomic_store(&r->is_stopping, true);
    if (r->is_running)
        pthread_join(r->thread, NULL);
    r->is_running = false;
    rerun_close(&r->rerun);
    if (!r->is_rerun)
        source_close(&r->source);
}
