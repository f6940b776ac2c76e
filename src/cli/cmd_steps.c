/* cmd_steps.c - `underfoot steps FILE`: a force trace or a recording to a step table or a summary.
 *
 * A trace is looked through first (forcescan.h). Then it is measured twice: the first pass finds body weight by the
 * momentum balance over all whole strides, the second measures with it, so that every row rests on the same weight. With --mass once is enough.
 */
#include "base/err.h"
#include "cli/commands.h"
#include "cli/forcefile.h"
#include "cli/forcescan.h"
#include "cli/say_options.h"
#include "gait/engine.h"
#include "link/replay.h"
#include "link/source.h"
#include "live/pipeline.h"
#include "report/csv.h"
#include "report/summary.h"
#include "setup/sensor_profile.h"
#include "visit/begun_text.h"
#include "visit/run_record.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_MIN_HZ 20
#define RATE_MAX_HZ 4000
/* Recorded sets read 0.93 to 1.00 of the stated mass. */
#define WEIGHT_TOLERANCE 0.15
#define NOISE_CLEAR 2.0 /* a threshold below so many standard deviations of the noise is told */

struct steps_job {
    const char *path, *profile_path;
    double rate_hz, mass_kg, speed_m_s, foot_mm, leg_mm, threshold_n;
    bool wants_summary;
    struct engine *engine;         /* owned */
    struct summary_maker maker;
    double weight_n, measured_rate_hz, clip_n; /* clip_n: where the force is cut off; NAN = it is not */
    enum store_weight_from weight_from;
    enum step_gait gait_seen;      /* strongest state seen: tells a walk from an empty belt */
    bool is_any_load;
    double floor_n;                /* of a trace: where it stands at its lowest; NAN = not looked at */
    bool has_flights;              /* it stands there as a runner's does */
    bool is_lost; /* some of the recording is damaged or cut */
};

static enum err
keep_steps(struct steps_job *j)
{
    struct step s;
    enum err e = ERR_OK;
    while (e == ERR_OK && engine_take(j->engine, &s))
        if (s.is_settled)
            e = summary_maker_feed_step(&j->maker, &s);
    return e;
}

static void
see_gait(struct steps_job *j, enum step_gait gait)
{
    if (gait == STEP_GAIT_OFF || gait == STEP_GAIT_UNKNOWN)
        return;
    if (gait > j->gait_seen || j->gait_seen == STEP_GAIT_UNKNOWN)
        j->gait_seen = gait;
}

/* One pass over the trace. weight_n: NAN on the first. */
static enum err
pass_over_trace(struct steps_job *j, double weight_n, bool keeps_steps)
{
    struct forcefile file;
    struct frame frame;
    enum err e = forcefile_open(&file, j->path, j->rate_hz);
    if (e != ERR_OK) {
        say_as_of("steps", &file.why);
        return e;
    }
    struct engine_config config = engine_config_default(FRAME_KIND_FORCE);
    config.rate_hz = j->rate_hz;
    config.body_mass_kg = j->mass_kg;
    config.body_weight_n = weight_n;
    config.belt_speed_m_s = j->speed_m_s;
    config.foot_length_mm = j->foot_mm;
    config.leg_length_mm = j->leg_mm;
    config.threshold_n = j->threshold_n;
    engine_init(j->engine, &config);
    int got;
    while ((got = forcefile_next(&file, &frame)) > 0 && e == ERR_OK) {
        if (frame.force_n >= j->clip_n)
            frame.flags |= FRAME_SATURATED;
        engine_feed(j->engine, &frame);
        see_gait(j, engine_gait(j->engine));
        j->is_any_load = j->is_any_load || engine_is_loaded(j->engine);
        if (keeps_steps)
            e = keep_steps(j);
    }
    if (got < 0) {
        say_as_of("steps", &file.why);
        e = ERR_FORMAT;
    }
    j->measured_rate_hz = forcefile_rate_hz(&file);
    forcefile_close(&file);
    if (e != ERR_OK)
        return e;
    engine_finish(j->engine);
    return keeps_steps ? keep_steps(j) : ERR_OK;
}

/* Is it what it says it is? */
static enum err
scan_trace(struct steps_job *j)
{
    struct forcescan scan;
    enum err e = forcescan_run(&scan, j->path, j->rate_hz);
    double rate_hz = isnan(j->rate_hz) ? scan.rate_by_t_hz : j->rate_hz;
    if (e != ERR_OK) {
        say_as_of("steps", &scan.why);
        return e;
    }
    if (rate_hz < RATE_MIN_HZ || rate_hz > RATE_MAX_HZ) {
        say_as("steps", MESSAGE_STEPS_NO_RATE, message_path(j->path), rate_hz, RATE_MIN_HZ, RATE_MAX_HZ);
        return ERR_FORMAT;
    }
    j->clip_n = scan.clip_n;
    j->floor_n = scan.floor_n;
    j->has_flights = scan.has_flights;
    if (!isnan(scan.clip_n))
        say_as("steps", MESSAGE_STEPS_IS_CUT, message_path(j->path), scan.clip_n);
    return ERR_OK;
}

/* A mass that the force does not bear out is told: every figure in body weights rests on it. */
static void
tell_weight(const struct steps_job *j)
{
    double ratio = engine_momentum_weight_n(j->engine) / (j->mass_kg * UNITS_GRAVITY_M_S2);
    if (ratio < 1 - WEIGHT_TOLERANCE || ratio > 1 + WEIGHT_TOLERANCE)
        say_as("steps", MESSAGE_STEPS_OTHER_MASS, message_path(j->path), message_real(ratio, 2, MESSAGE_UNIT_NONE),
               message_real(j->mass_kg, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_KG));
}

/* A threshold inside the noise cuts contacts in pieces and joins them. */
static void
tell_noise(const struct steps_job *j)
{
    const double noise_n = engine_health(j->engine).noise_n;
    char typed[SAY_NUMBER_MAX];
    if (j->threshold_n < NOISE_CLEAR * noise_n)
        say_as("steps", MESSAGE_STEPS_IN_NOISE, message_path(j->path), say_typed(typed, j->threshold_n),
               message_real(noise_n, 1, MESSAGE_UNIT_NEWTON), message_real(ceil(4 * noise_n), 0, MESSAGE_UNIT_NONE));
}

static enum err
read_trace(struct steps_job *j)
{
    double weight_n = NAN;
    j->weight_from = STORE_WEIGHT_ENTERED;
    enum err e = scan_trace(j);
    if (e != ERR_OK)
        return e;
    if (isnan(j->mass_kg)) {
        e = pass_over_trace(j, NAN, false);
        if (e != ERR_OK)
            return e;
        weight_n = engine_momentum_weight_n(j->engine);
        j->weight_from = isnan(weight_n) ? STORE_WEIGHT_UNKNOWN : STORE_WEIGHT_MOMENTUM;
    }
    e = pass_over_trace(j, weight_n, true);
    if (e == ERR_OK) {
        tell_weight(j);
        tell_noise(j);
    }
    enum engine_weight_source from;
    j->weight_n = engine_body_weight_n(j->engine, &from);
    return e;
}

static bool
read_note(const void *context, const char *name, char *out, size_t cap)
{
    return replay_note(context, name, out, cap);
}

/* Options first, then what the recording says of how it was made. *profile is the caller's, filled if there is one. */
static enum err
configure_pipeline(const struct steps_job *j, const struct replay *r, struct sense_profile *profile,
                   struct pipeline_config *out)
{
    struct session_config c = { .pipeline = pipeline_config_default() };
    struct calib_state calibration;
    char path[256];
    struct message why;
    size_t len = 0;
    c.pipeline.body_mass_kg = j->mass_kg;
    c.pipeline.belt_speed_m_s = j->speed_m_s;
    c.pipeline.foot_length_mm = j->foot_mm;
    c.pipeline.leg_length_mm = j->leg_mm;
    run_record_notes(&c, read_note, r);
    *out = c.pipeline;
    const char *held = recording_text(&r->recording, "profile", &len);
    if (j->profile_path == NULL && held == NULL && !replay_note(r, "profile", path, sizeof path))
        return ERR_OK;
    out->profile = profile;
    if (j->profile_path != NULL) {
        const enum err e = sensor_profile_load(profile, j->profile_path, NULL, &calibration, &why);
        if (e != ERR_OK)
            say_as_of("steps", &why);
        return e;
    }
    if (held != NULL && begun_text_read_profile(held, len, profile))
        return ERR_OK;
    /* No file is opened because a recording names it: it may come from anywhere. */
    if (held != NULL)
        say_as("steps", MESSAGE_STEPS_PROFILE_BROKEN, message_path(j->path));
    else
        say_as("steps", MESSAGE_STEPS_PROFILE_ELSEWHERE, message_path(j->path), message_path(path));
    return ERR_USAGE;
}

/* A recording goes through the whole live path: bytes, packets, frames, steps. */
static enum err
read_recording(struct steps_job *j)
{
    static struct replay replay; /* large, and one a process */
    struct pipeline *p = malloc(sizeof *p);
    struct sense_profile *profile = malloc(sizeof *profile);
    struct pipeline_config config;
    bool has_memory = p != NULL && profile != NULL;
    enum err e = has_memory ? replay_open(&replay, j->path, 0) : ERR_MEMORY;
    if (e != ERR_OK) {
        if (has_memory)
            say_as_of("steps", &replay.why);
        else
            say_as("steps", MESSAGE_CLI_NO_MEMORY);
        free(p);
        free(profile);
        return e;
    }
    e = configure_pipeline(j, &replay, profile, &config);
    if (e != ERR_OK) {
        replay_close(&replay);
        free(p);
        free(profile);
        return e;
    }
    pipeline_init(p, &config);
    uint8_t bytes[4096];
    struct host_time arrived;
    struct coached_step step;
    int got = 1;
    for (bool is_over = false; !is_over && e == ERR_OK;) {
        got = replay_read(&replay, bytes, sizeof bytes, 0, &arrived);
        if (replay_take_gap(&replay))
            pipeline_note_gap(p);
        is_over = got < 0;
        size_t used = 0;
        do {
            if (got > 0)
                used += pipeline_feed(p, bytes + used, (size_t) got - used, arrived);
            if (is_over)
                pipeline_finish(p);
            while (e == ERR_OK && pipeline_take_step(p, &step))
                if (step.step.is_settled)
                    e = summary_maker_feed(&j->maker, &step);
        } while (got > 0 && used < (size_t) got && e == ERR_OK);
        if (p->has_engine)
            see_gait(j, engine_gait(&p->engine));
    }
    if (!message_is_none(&replay.why))
        say_as_of("steps", &replay.why);
    j->is_any_load = p->has_engine;
    struct message refusal;
    if (p->has_engine) {
        enum engine_weight_source from;
        j->weight_n = engine_body_weight_n(&p->engine, &from);
        j->weight_from = from == ENGINE_WEIGHT_MOMENTUM ? STORE_WEIGHT_MOMENTUM : STORE_WEIGHT_ENTERED;
        j->measured_rate_hz = 1e6 / engine_period_us(&p->engine);
    } else if (pipeline_refusal(p, &refusal)) {
        say_as("steps", MESSAGE_CLI_OF_FILE, message_path(j->path), message_of(&refusal));
        e = ERR_FORMAT;
    }
    j->is_lost = replay_has_lost(&replay);
    replay_close(&replay);
    free(p);
    free(profile);
    return e;
}

/* Without an entered length the mat's print has one; else landing ahead is that of a usual foot, off by 0.32 of what this foot
 * differs from it (gait/landing.h). From times alone (no first load) no foot's length comes in. */
static const char *
landing_foot(const struct steps_job *j, const struct summary *s)
{
    if (s->metric[METRIC_LANDING_AHEAD_MM].all.n == 0 || s->metric[METRIC_LANDING_FIRST_MM].all.n == 0)
        return NULL;
    if (!isnan(j->foot_mm))
        return "entered";
    return s->metric[METRIC_TOE_OUT_DEG].all.n > 0 ? "measured" : "usual";
}

static enum err
print_result(struct steps_job *j)
{
    if (j->wants_summary) {
        struct summary_config config = summary_config_default();
        struct summary summary;
        config.body_weight_n = j->weight_n;
        config.body_weight_from = j->weight_from;
        config.rate_hz = j->measured_rate_hz;
        enum err e = summary_make(&j->maker, &config, &summary);
        if (e != ERR_OK)
            return e;
        if (summary.n_steps == 0)
            summary.gait = j->gait_seen;
        summary.landing_foot = landing_foot(j, &summary);
        summary_print_json(stdout, &summary, NULL);
    } else {
        csv_header(stdout);
        for (size_t i = 0; i < j->maker.n; i++)
            csv_step(stdout, &j->maker.steps[i].step, 0);
    }
    return fflush(stdout) == 0 && !ferror(stdout) ? ERR_OK : ERR_OS;
}

/* No step is not always a fault: a walk is a walk. Nothing on the sensor at all is one. */
static enum err
tell_empty(const struct steps_job *j)
{
    if (j->maker.n > 0)
        return ERR_OK;
    if (j->has_flights && j->floor_n > ENGINE_THRESHOLD_N) {
        say_as("steps", MESSAGE_STEPS_IS_UNTARED, message_path(j->path), message_real(j->floor_n, 0, MESSAGE_UNIT_NEWTON));
        return ERR_FORMAT;
    }
    switch (j->gait_seen) {
    case STEP_GAIT_WALKING:
        say_as("steps", MESSAGE_STEPS_WALKING, message_path(j->path));
        return ERR_OK;
    case STEP_GAIT_STANDING:
        say_as("steps", MESSAGE_STEPS_STANDING, message_path(j->path));
        return ERR_OK;
    case STEP_GAIT_UNKNOWN:
    case STEP_GAIT_OFF:
    case STEP_GAIT_RUNNING:
        break;
    }
    say_as("steps", j->is_any_load ? MESSAGE_STEPS_NO_CONTACT_OF_RUN : MESSAGE_STEPS_NO_CONTACT, message_path(j->path));
    return ERR_FORMAT;
}

static enum err
run_job(struct steps_job *j)
{
    bool is_recording = recording_is_one(j->path);
    j->engine = malloc(sizeof *j->engine);
    if (j->engine == NULL) {
        say_as("steps", MESSAGE_CLI_NO_MEMORY);
        return ERR_MEMORY;
    }
    enum err e = is_recording ? read_recording(j) : read_trace(j);
    if (e == ERR_OK)
        e = tell_empty(j);
    if (e == ERR_OK) {
        e = print_result(j);
        if (e != ERR_OK)
            say_as("steps", MESSAGE_STEPS_NOT_WRITTEN);
    }
    free(j->engine);
    return e;
}

int
cmd_steps(int argc, char **argv)
{
    struct steps_job j = { .rate_hz = NAN, .mass_kg = NAN, .speed_m_s = NAN, .foot_mm = NAN, .leg_mm = NAN,
                           .threshold_n = NAN, .weight_n = NAN, .measured_rate_hz = NAN, .clip_n = NAN,
                           .floor_n = NAN };
    const struct option_row rows[] = {
        { "rate", OPTION_NUMBER, "HZ", N_("samples a second of a trace; without it column t tells"), NULL, NULL, &j.rate_hz,
          RATE_MIN_HZ, RATE_MAX_HZ },
        { "mass", OPTION_NUMBER, "KG", N_("body mass; without it body weight comes from the momentum balance"), NULL, NULL,
          &j.mass_kg, 20, 250 },
        { "speed", OPTION_NUMBER, "M_S", N_("belt speed, metres a second"), NULL, NULL, &j.speed_m_s, 0.3, 12 },
        { "foot", OPTION_NUMBER, "MM", N_("foot length; the strike index of a plate or of cells needs it"), NULL, NULL,
          &j.foot_mm, 120, 400 },
        { "leg", OPTION_NUMBER, "MM", N_("leg length, for leg stiffness"), NULL, NULL, &j.leg_mm, 400, 1400 },
        { "threshold", OPTION_NUMBER, "N", N_("contact threshold; default 50, more on a noisy sensor"), NULL, NULL,
          &j.threshold_n, 5, 300 },
        { "profile", OPTION_TEXT, "FILE", N_("sensor profile of a recording; else the one that it holds"), NULL, &j.profile_path, NULL,
          0, 0 },
        { "summary", OPTION_FLAG, NULL, N_("one JSON object instead of the table"), &j.wants_summary, NULL, NULL, 0, 0 },
    };
    const struct options_spec spec = {
        .command = "steps",
        .positional = "FILE",
        .summary = N_("Measures every step of a force trace (CSV with a header row; columns fz, and copx, copy, t where "
                   "there are any) or of a recording, and prints a step table as CSV. What is damaged in a recording is "
                   "passed over and told; the exit code is 1 then, after all that could be read."),
        .rows = rows,
        .n_rows = (int) (sizeof rows / sizeof *rows),
    };
    int n = say_options(&spec, argc, argv, &j.path, 1);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    if (n != 1)
        return say_refuse(&spec, MESSAGE_STEPS_WHICH);
    summary_maker_init(&j.maker);
    enum err e = run_job(&j);
    summary_maker_destroy(&j.maker);
    return e == ERR_USAGE ? 2 : e == ERR_OK && !j.is_lost ? 0 : 1;
}
