/* cmd_replay.c - `underfoot replay FILE`: a recording through the display, or to text.
 *
 * The same bytes with the same differences of arrival give the same step records as the live session, bit for
 * bit; --steps prints them with every digit, so that two runs can be compared.
 */
#include "base/log.h"
#include "base/stop.h"
#include "base/str.h"
#include "cli/commands.h"
#include "cli/run_words.h"
#include "link/replay.h"
#include "report/summary.h"
#include "setup/sensor_profile.h"
#include "visit/app.h"
#include "visit/run_record.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct replay_words {
    struct run_words run;
    const char *path, *pace;
    bool is_steps;
};

/* What becomes of the steps: lines on stdout, or a summary at the end. */
struct sink {
    bool is_steps;
    enum err err;
    struct summary_maker maker;
};

static void
print_step_header(void)
{
    printf("step,settled,foot,gait,zone,flags,touchdown_us,toe_off_us,cop_fwd_mm,cop_right_mm,body_weight_n,block,"
           "feedback");
    for (int m = 0; m < METRIC_COUNT; m++)
        printf(",%s,%s_standing", metric_info((enum metric) m)->name, metric_info((enum metric) m)->name);
    printf("\n");
}

static void
print_number(double x)
{
    if (isnan(x))
        printf(",");
    else
        printf(",%.17g", x);
}

static void
print_step(const struct coached_step *record)
{
    const struct step *s = &record->step;
    printf("%" PRIu32 ",%d,%d,%d,%d,%" PRIu32 ",%" PRId64 ",%" PRId64, s->number, s->is_settled, (int) s->foot,
           (int) s->gait, (int) s->zone, s->flags, s->touchdown.us, s->toe_off.us);
    print_number(s->cop_fwd_mm);
    print_number(s->cop_right_mm);
    print_number(s->body_weight_n);
    printf(",%d,%d", record->block, record->is_feedback_shown);
    for (int m = 0; m < METRIC_COUNT; m++) {
        print_number(s->value[m]);
        printf(",%d", s->standing[m]);
    }
    printf("\n");
}

static void
take_step(void *context, const struct coached_step *step)
{
    struct sink *k = context;
    if (k->is_steps)
        print_step(step);
    else if (summary_maker_feed(&k->maker, step) != ERR_OK)
        k->err = ERR_MEMORY;
}

static bool
read_note(const void *context, const char *name, char *out, size_t cap)
{
    return replay_note(context, name, out, cap);
}

/* The recording says with what figures and what profile it was made. */
static enum err
fill_from_recording(struct replay_words *w, struct app_config *c)
{
    struct replay r;
    struct calib_state calibration;
    char path[256], in_force[PROFILE_CALIBRATION_MAX] = "", why[ERR_WHY_MAX];
    const enum err err = replay_open(&r, w->path, 0);
    if (err != ERR_OK) {
        log_note("%s", r.why);
        return err;
    }
    run_record_notes(&c->session, read_note, &r);
    const bool has_profile = !c->session.pipeline.profile && replay_note(&r, "profile", path, sizeof path);
    if (has_profile)
        replay_note(&r, "calibration", in_force, sizeof in_force);
    replay_close(&r);
    if (!has_profile)
        return ERR_OK;
    const enum err profile_err = sensor_profile_load(&w->run.profile, path, in_force, &calibration, why);
    if (profile_err != ERR_OK)
        log_note("the recording was made with a sensor profile that can't be read now: %s", why);
    else
        c->session.pipeline.profile = &w->run.profile;
    return profile_err;
}

static void
say_notice(void *context, enum session_notice notice, double number)
{
    (void) context;
    run_say_notice(notice, number);
}

/* No screen, no thread: read, feed, until the end. is_lost: some of the recording is damaged or cut; the rest went
 * its way. */
static enum err
replay_plainly(const struct app_config *c, bool *is_lost)
{
    struct session *s = calloc(1, sizeof *s);
    struct source source;
    uint8_t bytes[READER_BUFFER_LEN];
    struct host_time arrived;
    int n = 0;
    if (!s) {
        log_note("no memory left for a session");
        return ERR_MEMORY;
    }
    stop_catch_signals();
    struct session_config session = c->session;
    session.on_notice = say_notice;
    session_init(s, &session);
    const enum err err = source_open(&source, c->path, &c->source);
    if (err == ERR_OK)
        app_note_screen(c);
    while (err == ERR_OK && !stop_is_asked() &&
           (n = source_read(&source, bytes, sizeof bytes, READER_WAIT_MS, &arrived)) >= 0)
        if (n > 0) {
            if (source_take_gap(&source))
                session_note_gap(s, arrived);
            session_feed(s, bytes, (size_t) n, arrived);
        }
    if (err != ERR_OK || source.why[0])
        log_note("%s", source.why);
    session_finish(s);
    const bool has_data = pipeline_is_ready(&s->pipeline);
    if (err == ERR_OK && !has_data && !stop_is_asked())
        log_note("%s: %s", c->path,
                 pipeline_refusal(&s->pipeline) ? pipeline_refusal(&s->pipeline) : "no sensor data in it");
    *is_lost = source_has_lost(&source);
    source_close(&source);
    free(s);
    return err != ERR_OK ? err : has_data ? ERR_OK : ERR_FORMAT;
}

static enum err
print_summary(const struct sink *k)
{
    struct summary summary;
    struct summary_config c = summary_config_default();
    if (k->err != ERR_OK || summary_make(&k->maker, &c, &summary) != ERR_OK) {
        log_note("no memory left for the summary");
        return ERR_MEMORY;
    }
    summary_print(stdout, &summary, NULL);
    return ERR_OK;
}

static int
run(struct replay_words *w, const struct options_spec *spec)
{
    struct app_config c = app_config_default();
    struct sink sink = { .is_steps = w->is_steps };
    w->run.is_headless |= w->is_steps;
    int refused = run_words_apply(&w->run, spec, &c);
    if (refused)
        return refused;
    c.path = w->path;
    c.source.pace_ratio = c.has_screen ? 1 : 0;
    if (w->pace && strcmp(w->pace, "max") == 0)
        c.source.pace_ratio = 0;
    else if (w->pace &&
             (!str_to_double(w->pace, &c.source.pace_ratio) || c.source.pace_ratio <= 0 || c.source.pace_ratio > 1000))
        return options_refuse(spec, "--pace '%s' is neither max nor a number above 0 and up to 1000", w->pace);
    enum err err = fill_from_recording(w, &c);
    if (err != ERR_OK)
        return 1;
    c.session.on_step = take_step;
    c.session.context = &sink;
    summary_maker_init(&sink.maker);
    if (w->is_steps)
        print_step_header();
    int code = 0;
    bool is_lost = false;
    if (c.has_screen || c.shot_path)
        code = app_run(&c);
    else
        code = replay_plainly(&c, &is_lost) == ERR_OK ? 0 : 1;
    if (code == 0 && !w->is_steps)
        code = print_summary(&sink) == ERR_OK ? 0 : 1;
    summary_maker_destroy(&sink.maker);
    return is_lost ? 1 : code;
}

int
cmd_replay(int argc, char **argv)
{
    static const char summary[] =
        "A recording of `underfoot live --record FILE` through the runner's screen, or without one. Figures and\n"
        "targets are those of the recording unless given here. Nothing is stored. A damaged place in it is passed over\n"
        "and told; without a screen the exit code is 1 then, after all that could be read.";
    struct replay_words w = { 0 };
    const struct option_row own[] = {
        { "pace", OPTION_TEXT, "X", "1 as it was, 2 twice as fast, max (1; max without a screen)", NULL, &w.pace, NULL,
          0, 0 },
        { "steps", OPTION_FLAG, NULL, "every step record as CSV on stdout, all digits; no screen", &w.is_steps, NULL,
          NULL, 0, 0 },
        { "profile", OPTION_TEXT, "FILE", "sensor profile (the recording's)", NULL, &w.run.profile_path, NULL, 0, 0 },
    };
    run_words_init(&w.run, own, (int) (sizeof own / sizeof *own));
    const struct options_spec spec = { "replay", "FILE", summary, w.run.rows, w.run.n_rows };
    const int n = options_parse(&spec, argc, argv, &w.path, 1);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    if (n == 0)
        return options_refuse(&spec, "which recording? give FILE");
    return run(&w, &spec);
}
