#include "live/session.h"

#include <string.h>

#define SESSION_NO_STEP_S 4.0 /* somebody may only have stood on */
#define SESSION_N_BEYOND 25 /* frames: no single spike */

void
session_init(struct session *s, const struct session_config *config)
{
    memset(s, 0, sizeof *s);
    s->config = *config;
    s->block = -1;
    pipeline_init(&s->pipeline, &config->pipeline);
    mailbox_init(&s->mailbox, s->slots, sizeof s->slots[0]);
    ring_init(&s->commands, s->command_slots, sizeof s->command_slots[0], SESSION_N_COMMANDS);
    s->target_version = s->pipeline.coach.verdict.target_version;
}

void
session_hold(struct session *s)
{
    s->is_holding = true;
    atomic_store(&s->is_held, true);
}

void
session_release(struct session *s)
{
    atomic_store(&s->is_held, false);
}

static void
tell(struct session *s, const struct session_input *input)
{
    if (s->config.on_input)
        s->config.on_input(s->config.context, input);
}

static void
notice(const struct session *s, enum session_notice what, double number)
{
    if (s->config.on_notice)
        s->config.on_notice(s->config.context, what, number);
}

/* A release is seen between two inputs only, so that it has its place among them. */
static void
look_at_release(struct session *s, struct host_time now)
{
    s->last = now;
    if (!s->is_holding || atomic_load(&s->is_held))
        return;
    s->is_holding = false;
    tell(s, &(struct session_input){ .kind = SESSION_GETS_RELEASE, .at = now });
}

static void
publish(struct session *s)
{
    pipeline_verdict(&s->pipeline, &s->verdict);
    if (s->verdict.serial == s->serial)
        return;
    s->serial = s->verdict.serial;
    mailbox_put(&s->mailbox, &s->verdict);
}

/* What may not be passed on yet. */
static void
keep_back(struct session *s)
{
    struct coached_step step;
    while (pipeline_is_full(&s->pipeline) && pipeline_take_step(&s->pipeline, &step))
        s->n_unkept++;
}

static void
pass_steps(struct session *s)
{
    struct coached_step step;
    const bool is_told = !s->is_holding;
    if (s->is_holding && !s->config.is_early_dropped) {
        keep_back(s);
        return;
    }
    const struct coach *coach = &s->pipeline.coach;
    const struct coach_block *block = coach_block(coach);
    /* What is dropped is the wait for the run; a block that runs is told with the release, its targets before it. */
    const bool is_due = is_told || block->kind == VERDICT_BLOCK_PAUSED;
    if (is_due && coach->verdict.target_version != s->target_version) {
        s->target_version = coach->verdict.target_version;
        if (is_told && s->config.on_targets)
            s->config.on_targets(s->config.context, coach);
    }
    if (is_due && block->index != s->block) {
        s->block = block->index;
        if (is_told && s->config.on_block)
            s->config.on_block(s->config.context, block, block->start);
    }
    while (pipeline_take_step(&s->pipeline, &step))
        if (is_told && s->config.on_step)
            s->config.on_step(s->config.context, &step);
}

void
session_obey(struct session *s, const struct command *command, struct host_time now)
{
    tell(s, &(struct session_input){ .kind = SESSION_GETS_COMMAND, .at = now, .command = command });
    pipeline_command(&s->pipeline, command);
}

static void
obey_all(struct session *s, struct host_time now)
{
    struct command command;
    while (ring_take(&s->commands, &command))
        session_obey(s, &command, now);
}

bool
session_command(struct session *s, const struct command *command)
{
    return ring_put(&s->commands, command);
}

/* A load that nobody has: told once. */
static void
look_at_gain(struct session *s)
{
    const struct sense_health *h = &s->pipeline.sense.health;
    if (s->is_beyond_told || h->n_beyond < SESSION_N_BEYOND)
        return;
    s->is_beyond_told = true;
    notice(s, SESSION_SEES_BEYOND, h->force_max_n);
}

void
session_feed(struct session *s, const uint8_t *bytes, size_t len, struct host_time arrived)
{
    look_at_release(s, arrived);
    if (s->is_gone)
        tell(s, &(struct session_input){ .kind = SESSION_GETS_BACK, .at = arrived });
    s->is_gone = false;
    obey_all(s, arrived);
    tell(s, &(struct session_input){ .kind = SESSION_GETS_BYTES, .at = arrived, .bytes = bytes, .len = len });
    for (size_t n_used = 0; n_used < len;) {
        n_used += pipeline_feed(&s->pipeline, bytes + n_used, len - n_used, arrived);
        pass_steps(s);
    }
    look_at_gain(s);
    publish(s);
}

void
session_note_gap(struct session *s, struct host_time now)
{
    tell(s, &(struct session_input){ .kind = SESSION_GETS_GAP, .at = now });
    pipeline_note_gap(&s->pipeline);
}

void
session_tick(struct session *s, struct host_time now)
{
    look_at_release(s, now);
    obey_all(s, now);
    tell(s, &(struct session_input){ .kind = SESSION_GETS_TICK, .at = now });
    pipeline_tick(&s->pipeline, now);
    publish(s);
}

void
session_set_gone(struct session *s, const struct message *message, struct host_time now)
{
    tell(s, &(struct session_input){ .kind = SESSION_GETS_GONE, .at = now, .message = message });
    s->is_gone = true;
    pipeline_set_gone(&s->pipeline, message);
    publish(s);
}

static void
notice_end(const struct session *s)
{
    const struct sense_health *h = &s->pipeline.sense.health;
    if (s->pipeline.coach.verdict.n_steps == 0 && h->force_max_n > 0 &&
        (double) h->n_frames > SESSION_NO_STEP_S * sense_rate_hz(&s->pipeline.sense)) /* false for NAN */
        notice(s, engine_is_relative(&s->pipeline.engine) ? SESSION_FOUND_NO_STEP_BY_GUESS : SESSION_FOUND_NO_STEP,
               h->force_max_n);
    if (s->n_unkept > 0)
        notice(s, SESSION_LOST_HELD, (double) s->n_unkept);
}

void
session_finish(struct session *s)
{
    look_at_release(s, s->last);
    pipeline_finish(&s->pipeline);
    pass_steps(s);
    publish(s);
    if (!s->has_finished)
        notice_end(s);
    s->has_finished = true;
}

bool
session_take_verdict(struct session *s, struct verdict *out)
{
    return mailbox_take(&s->mailbox, out);
}
