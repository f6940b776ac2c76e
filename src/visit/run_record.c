#include "visit/run_record.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/str.h"
#include "base/version.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define N_NOTES 16
#define NOTE_MAX 256

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

enum err
run_record_begin(struct run *r)
{
    const struct session_config *s = &r->config.session;
    if (!r->config.record_path)
        return ERR_OK;
    if (r->config.is_record_forced)
        unlink(r->config.record_path); /* a recording itself never writes over anything */

    struct recording_note notes[N_NOTES];
    char values[N_NOTES][NOTE_MAX];
    int n = 0;
    const time_t now = (time_t) (monotime_wall_us() / UNITS_US_PER_S);
    struct tm utc;
    gmtime_r(&now, &utc);
    strftime(values[n], NOTE_MAX, "%Y-%m-%dT%H:%M:%SZ", &utc);
    notes[n] = (struct recording_note){ "made", values[n] };
    n++;
    notes[n++] = (struct recording_note){ "program", "underfoot " VERSION_TEXT };
    struct pipeline_config pipeline = s->pipeline;
    for (size_t i = 0; i < N_FIGURES; i++) {
        const double figure = *figure_of(&pipeline, i);
        if (isnan(figure))
            continue;
        snprintf(values[n], NOTE_MAX, "%.17g", figure);
        notes[n] = (struct recording_note){ FIGURES[i].name, values[n] };
        n++;
    }
    if (s->profile_path)
        notes[n++] = (struct recording_note){ "profile", s->profile_path };
    if (s->calibration[0])
        notes[n++] = (struct recording_note){ "calibration", s->calibration };
    format_targets(&s->pipeline.coach, values[n], NOTE_MAX);
    if (values[n][0]) {
        notes[n] = (struct recording_note){ "targets", values[n] };
        n++;
    }
    const struct recording_head head = { .notes = notes, .n_notes = n };
    const enum err err = recorder_start(&r->recorder, r->config.record_path, &head);
    if (err != ERR_OK)
        str_copy(r->why, sizeof r->why, r->recorder.why);
    return err;
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
        char why[ERR_WHY_MAX];
        if (target_parse(word, &coach->target[coach->n_targets], why, sizeof why))
            coach->n_targets++;
        else
            log_note("the recording's %s", why);
    }
}

void
run_record_input(struct run *r, const struct session_input *input)
{
    if (r->recorder.is_running && input->kind == SESSION_GETS_BYTES)
        (void) recorder_put(&r->recorder, RECORDING_BYTES, input->bytes, input->len, input->at);
}

void
run_record_end(struct run *r)
{
    recorder_stop(&r->recorder);
}
