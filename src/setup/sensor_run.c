#include "setup/sensor_run.h"

#include "base/monotime.h"
#include "base/stop.h"
#include "base/str.h"

#include <stdio.h>
#include <string.h>

#define WAIT_MS 40
#define ASK_US  (500 * UNITS_US_PER_MS)

static void
ask_hello(struct sensor_run *r)
{
    uint8_t bytes[64];
    const size_t len = wire_encode_ask(WIRE_ASK_HELLO, 0, 0, bytes, sizeof bytes);
    source_write(&r->source, bytes, len);
    r->asked = monotime_now();
}

/* The next frame. False at the end, or when limit has passed. */
static bool
next_frame(struct sensor_run *r, struct host_time limit)
{
    const bool is_live = source_is_live(&r->source);
    while (!stop_is_asked()) {
        while (r->n_used < r->n_bytes) {
            r->n_used += wire_feed(&r->wire, r->bytes + r->n_used, r->n_bytes - r->n_used, r->arrived);
            r->packet = wire_take(&r->wire);
            if (r->packet && sense_feed(&r->sense, r->packet, &r->frame))
                return true;
        }
        const struct host_time now = monotime_now();
        if (is_live && now.us > limit.us)
            return false;
        if (is_live && units_host_since_us(now, r->asked) > ASK_US)
            ask_hello(r);
        const int n = source_read(&r->source, r->bytes, sizeof r->bytes, WAIT_MS, &r->arrived);
        if (source_take_gap(&r->source)) {
            wire_skip(&r->wire);
            sense_note_gap(&r->sense);
        }
        r->n_bytes = n > 0 ? (size_t) n : 0;
        r->n_used = 0;
        if (n < 0) {
            r->is_gone = true;
            return false;
        }
    }
    return false;
}

/* Why no frame comes: the sense stage and the wire know best, then the source. */
static void
explain(struct sensor_run *r)
{
    struct message why;
    if (stop_is_asked())
        message_init(&r->why, MESSAGE_SENSOR_WAS_STOPPED);
    else if (wire_refusal(&r->wire))
        message_tell(&r->why, MESSAGE_WIRE_IS_NEWER, wire_refusal(&r->wire), WIRE_VERSION_MAJOR);
    else if (!message_is_none(&r->sense.why))
        r->why = r->sense.why;
    else if (r->is_gone && !message_is_none(&r->source.why))
        r->why = r->source.why;
    else if (source_complaint(&r->source, &r->wire.health, &why))
        r->why = why;
    else
        message_tell(&r->why, MESSAGE_SENSOR_SENDS_NO_FRAMES, message_path(r->source.path));
}

static struct host_time
in_seconds(double s)
{
    return (struct host_time){ monotime_now().us + units_us_from_s(s) };
}

enum err
sensor_run_open(struct sensor_run *r, const char *port, const struct source_config *c,
                const struct sense_profile *profile)
{
    memset(r, 0, sizeof *r);
    wire_init(&r->wire);
    sense_init(&r->sense, profile);
    if (profile)
        wire_set_text_kind(&r->wire, sense_packet_kind(profile));
    const enum err err = source_open(&r->source, port, c);
    if (err != ERR_OK) {
        if (err == ERR_GONE)
            source_tell_there(port, &r->source.why);
        r->why = r->source.why;
        return err;
    }
    ask_hello(r);
    if (next_frame(r, in_seconds(SENSOR_RUN_READY_S)))
        return ERR_OK;
    explain(r);
    source_close(&r->source);
    return r->wire.health.n_bytes > 0 ? ERR_FORMAT : ERR_GONE;
}

static struct message_arg
seconds_since(const struct sensor_run *r, struct dev_time begun)
{
    return message_real(units_s_from_us(units_dev_since_us(r->frame.time, begun)), 1, MESSAGE_UNIT_S);
}

enum err
sensor_run_read(struct sensor_run *r, double seconds, sensor_run_fn *fn, void *context)
{
    const struct host_time limit = in_seconds(seconds + SENSOR_RUN_SLACK_S);
    const struct dev_time begun = r->frame.time;
    while (next_frame(r, limit)) {
        fn(context, r->packet, &r->frame);
        if (units_dev_since_us(r->frame.time, begun) >= units_us_from_s(seconds))
            return ERR_OK;
    }
    if (stop_is_asked())
        message_init(&r->why, MESSAGE_SENSOR_WAS_STOPPED);
    else if (r->is_gone)
        message_tell(&r->why, MESSAGE_SENSOR_ENDED, message_path(r->source.path), seconds_since(r, begun),
                     message_real(seconds, 1, MESSAGE_UNIT_S));
    else
        message_tell(&r->why, MESSAGE_SENSOR_FELL_SILENT, message_path(r->source.path), seconds_since(r, begun),
                     message_real(seconds + SENSOR_RUN_SLACK_S, 1, MESSAGE_UNIT_S));
    return ERR_GONE;
}

void
sensor_run_close(struct sensor_run *r)
{
    source_close(&r->source);
}
