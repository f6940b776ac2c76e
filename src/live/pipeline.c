#include "live/pipeline.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const double UNKNOWN = (double) NAN;

struct pipeline_config
pipeline_config_default(void)
{
    return (struct pipeline_config){ .body_mass_kg = UNKNOWN,
                                     .belt_speed_m_s = UNKNOWN,
                                     .foot_length_mm = UNKNOWN,
                                     .leg_length_mm = UNKNOWN,
                                     .coach = coach_config_default() };
}

static void
set_sensor(struct pipeline *p, enum verdict_sensor sensor, enum message_code code)
{
    struct message message;
    message_init(&message, code);
    coach_set_sensor(&p->coach, sensor, &message);
}

void
pipeline_init(struct pipeline *p, const struct pipeline_config *config)
{
    memset(p, 0, sizeof *p);
    p->config = *config;
    p->config.profile = NULL; /* sense keeps its own copy */
    p->config.coach.belt_speed_m_s = config->belt_speed_m_s;
    p->config.coach.foot_length_mm = config->foot_length_mm;
    wire_init(&p->wire);
    sense_init(&p->sense, config->profile);
    if (config->profile)
        wire_set_text_kind(&p->wire, sense_packet_kind(config->profile));
    coach_init(&p->coach, &p->config.coach);
    set_sensor(p, VERDICT_SENSOR_WAITING, MESSAGE_SENSOR_IS_WAITED_FOR);
}

static void
start_engine(struct pipeline *p, enum frame_kind kind)
{
    struct engine_config c = engine_config_default(kind);
    c.rate_hz = sense_rate_hz(&p->sense);
    c.body_mass_kg = p->config.body_mass_kg;
    c.belt_speed_m_s = p->config.belt_speed_m_s;
    c.foot_length_mm = p->config.foot_length_mm;
    c.leg_length_mm = p->config.leg_length_mm;
    engine_init(&p->engine, &c);
    p->kind = kind;
    p->has_engine = true;
}

bool
pipeline_is_full(const struct pipeline *p)
{
    return p->n_put - p->n_taken >= PIPELINE_N_STEPS;
}

/* Passes the engine's steps on to the coach and the queue, as many as fit. */
static void
move_steps(struct pipeline *p)
{
    struct step s;
    while (!pipeline_is_full(p) && p->has_engine && engine_take(&p->engine, &s)) {
        struct pipeline_shown *shown = &p->shown[s.number % PIPELINE_N_SHOWN];
        coach_feed_step(&p->coach, &s);
        if (shown->number != s.number)
            *shown = (struct pipeline_shown){ s.number, coach_block(&p->coach)->index,
                                              coach_is_feedback_shown(&p->coach) };
        p->step[p->n_put++ % PIPELINE_N_STEPS] =
            (struct coached_step){ .step = s, .block = shown->block, .is_feedback_shown = shown->is_feedback_shown };
    }
}

static void
feed_frame(struct pipeline *p, const struct frame *f)
{
    if (!p->has_engine)
        start_engine(p, f->kind);
    p->is_unfit = f->kind != p->kind;
    if (p->is_unfit)
        return;
    engine_feed(&p->engine, f);
    coach_feed_time(&p->coach, f->time, engine_gait(&p->engine));
    double belt_speed_m_s;
    if (coach_take_belt_speed(&p->coach, &belt_speed_m_s))
        engine_set_belt_speed(&p->engine, belt_speed_m_s);
    move_steps(p);
}

static void
feed_packet(struct pipeline *p, const struct packet *packet, struct host_time arrived)
{
    struct frame f;
    if (!sense_feed(&p->sense, packet, &f))
        return;
    if (p->config.on_frame)
        p->config.on_frame(p->config.on_frame_context, packet, &f);
    feed_frame(p, &f);
    p->last_packet = arrived;
    if (!p->is_unfit)
        set_sensor(p, VERDICT_SENSOR_LIVE, MESSAGE_NONE);
}

size_t
pipeline_feed(struct pipeline *p, const uint8_t *bytes, size_t len, struct host_time arrived)
{
    assert(!p->is_ended);
    if (len == 0)
        return 0;
    if (!p->has_bytes)
        p->last_packet = arrived;
    else if (units_host_since_us(arrived, p->last_bytes) > PIPELINE_RESET_US)
        wire_reset(&p->wire);
    p->has_bytes = true;
    p->last_bytes = arrived;
    size_t n_used = 0;
    while (n_used < len && !pipeline_is_full(p)) {
        n_used += wire_feed(&p->wire, bytes + n_used, len - n_used, arrived);
        const struct packet *packet = wire_take(&p->wire);
        if (packet)
            feed_packet(p, packet, arrived);
    }
    pipeline_tick(p, arrived); /* bytes without packets are a state too */
    return n_used;
}

void
pipeline_note_gap(struct pipeline *p)
{
    wire_skip(&p->wire);
    sense_note_gap(&p->sense);
}

void
pipeline_command(struct pipeline *p, const struct command *command)
{
    coach_command(&p->coach, command);
}

bool
pipeline_take_step(struct pipeline *p, struct coached_step *out)
{
    if (p->n_put == p->n_taken)
        move_steps(p);
    if (p->n_put == p->n_taken)
        return false;
    *out = p->step[p->n_taken++ % PIPELINE_N_STEPS];
    return true;
}

static int64_t
quiet_after_us(const struct pipeline *p)
{
    const double rate_hz = sense_rate_hz(&p->sense);
    if (!p->has_engine || isnan(rate_hz) || rate_hz <= 0)
        return PIPELINE_QUIET_MIN_US;
    const int64_t periods_us = units_us_from_s(PIPELINE_QUIET_PERIODS / rate_hz);
    return periods_us > PIPELINE_QUIET_MIN_US ? periods_us : PIPELINE_QUIET_MIN_US;
}

bool
pipeline_refusal(const struct pipeline *p, struct message *why)
{
    message_init(why, MESSAGE_NONE);
    if (wire_refusal(&p->wire))
        message_tell(why, MESSAGE_WIRE_IS_NEWER, wire_refusal(&p->wire), WIRE_VERSION_MAJOR);
    else if (!message_is_none(&p->sense.why))
        *why = p->sense.why;
    else if (p->is_unfit)
        message_init(why, MESSAGE_SENSOR_IS_UNFIT);
    return !message_is_none(why);
}

void
pipeline_tick(struct pipeline *p, struct host_time now)
{
    const int64_t after_us = quiet_after_us(p);
    if (!p->has_bytes || units_host_since_us(now, p->last_packet) <= after_us)
        return;
    struct message why;
    if (pipeline_refusal(p, &why))
        coach_set_sensor(&p->coach, VERDICT_SENSOR_GARBLED, &why);
    else if (units_host_since_us(now, p->last_bytes) <= after_us)
        set_sensor(p, VERDICT_SENSOR_GARBLED, MESSAGE_SENSOR_IS_GARBLED);
    else
        set_sensor(p, VERDICT_SENSOR_QUIET, MESSAGE_SENSOR_IS_QUIET);
}

void
pipeline_set_gone(struct pipeline *p, const struct message *why)
{
    coach_set_sensor(&p->coach, VERDICT_SENSOR_GONE, why);
}

void
pipeline_finish(struct pipeline *p)
{
    if (p->has_engine && !p->is_ended)
        engine_finish(&p->engine);
    p->is_ended = true;
    move_steps(p);
    coach_end(&p->coach);
}

void
pipeline_verdict(const struct pipeline *p, struct verdict *out)
{
    coach_verdict(&p->coach, out);
}

bool
pipeline_is_ready(const struct pipeline *p)
{
    return p->has_engine;
}

const char *
pipeline_kind_name(const struct pipeline *p)
{
    if (!p->has_engine)
        return "";
    switch (p->kind) {
    case FRAME_KIND_FORCE:
        return "force";
    case FRAME_KIND_CELLS:
        return "cells";
    case FRAME_KIND_MAT:
        return "mat";
    case FRAME_KIND_SWITCHES:
        return "switches";
    }
    return "";
}
