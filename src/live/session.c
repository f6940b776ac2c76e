#include "live/session.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/str.h"
#include "base/version.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#define N_NOTES 16
#define NOTE_MAX 256
#define SESSION_NO_STEP_S 4.0 /* somebody may only have stood on */
#define SESSION_N_BEYOND 25 /* frames: no single spike */

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

enum err
session_record(struct session *s, const char *path)
{
    struct capture_note notes[N_NOTES];
    char values[N_NOTES][NOTE_MAX];
    int n = 0;
    const time_t now = (time_t) (monotime_wall_us() / UNITS_US_PER_S);
    struct tm utc;
    gmtime_r(&now, &utc);
    strftime(values[n], NOTE_MAX, "%Y-%m-%dT%H:%M:%SZ", &utc);
    notes[n] = (struct capture_note){ "made", values[n] };
    n++;
    notes[n++] = (struct capture_note){ "program", "underfoot " VERSION_TEXT };
    for (size_t i = 0; i < N_FIGURES; i++) {
        const double figure = *figure_of(&s->config.pipeline, i);
        if (isnan(figure))
            continue;
        snprintf(values[n], NOTE_MAX, "%.17g", figure);
        notes[n] = (struct capture_note){ FIGURES[i].name, values[n] };
        n++;
    }
    if (s->config.profile_path)
        notes[n++] = (struct capture_note){ "profile", s->config.profile_path };
    if (s->config.calibration[0])
        notes[n++] = (struct capture_note){ "calibration", s->config.calibration };
    format_targets(&s->config.pipeline.coach, values[n], NOTE_MAX);
    if (values[n][0]) {
        notes[n] = (struct capture_note){ "targets", values[n] };
        n++;
    }
    return recorder_start(&s->recorder, path, notes, n);
}

void
session_config_from_notes(struct session_config *c,
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
        char why[ERR_WHY_MAX];
        if (target_parse(word, &coach->target[coach->n_targets], why, sizeof why))
            coach->n_targets++;
        else
            log_note("the recording's %s", why);
    }
}

void
session_hold(struct session *s)
{
    atomic_store(&s->is_held, true);
}

void
session_release(struct session *s)
{
    atomic_store(&s->is_held, false);
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

static void
pass_steps(struct session *s)
{
    struct coached_step step;
    if (atomic_load(&s->is_held)) {
        while (pipeline_is_full(&s->pipeline) && pipeline_take_step(&s->pipeline, &step))
            s->n_unkept++;
        return;
    }
    const struct coach *coach = &s->pipeline.coach;
    if (coach->verdict.target_version != s->target_version) {
        s->target_version = coach->verdict.target_version;
        if (s->config.on_targets)
            s->config.on_targets(s->config.context, coach);
    }
    const struct coach_block *block = coach_block(coach);
    if (block->index != s->block) {
        s->block = block->index;
        if (s->config.on_block)
            s->config.on_block(s->config.context, block, block->start);
    }
    while (pipeline_take_step(&s->pipeline, &step))
        if (s->config.on_step)
            s->config.on_step(s->config.context, &step);
}

static void
obey(struct session *s)
{
    struct command command;
    while (ring_take(&s->commands, &command))
        pipeline_command(&s->pipeline, &command);
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
    log_note("mind: the sensor reads %.0f N, more than any runner: is its gain in N a count, and the profile this sensor's?",
             h->force_max_n);
}

void
session_feed(struct session *s, const uint8_t *bytes, size_t len, struct host_time arrived)
{
    if (s->recorder.is_running)
        recorder_put(&s->recorder, bytes, len, arrived);
    obey(s);
    for (size_t n_used = 0; n_used < len;) {
        n_used += pipeline_feed(&s->pipeline, bytes + n_used, len - n_used, arrived);
        pass_steps(s);
    }
    look_at_gain(s);
    publish(s);
}

void
session_note_gap(struct session *s)
{
    pipeline_note_gap(&s->pipeline);
}

void
session_tick(struct session *s, struct host_time now)
{
    obey(s);
    pipeline_tick(&s->pipeline, now);
    publish(s);
}

void
session_set_gone(struct session *s, const char *message)
{
    pipeline_set_gone(&s->pipeline, message);
    publish(s);
}

void
session_finish(struct session *s)
{
    pipeline_finish(&s->pipeline);
    pass_steps(s);
    publish(s);
    const struct sense_health *h = &s->pipeline.sense.health;
    if (s->pipeline.coach.verdict.n_steps == 0 && h->force_max_n > 0 &&
        (double) h->n_frames > SESSION_NO_STEP_S * sense_rate_hz(&s->pipeline.sense)) /* false for NAN */
        log_note("no step was found; the largest load was %.3g N%s", h->force_max_n,
                 s->pipeline.engine.is_relative ? " by a gain that is only guessed" : "");
    if (s->n_unkept > 0)
        log_note("%llu step records came before the store was ready and are lost", (unsigned long long) s->n_unkept);
}

void
session_close(struct session *s)
{
    recorder_stop(&s->recorder);
}

bool
session_take_verdict(struct session *s, struct verdict *out)
{
    return mailbox_take(&s->mailbox, out);
}
