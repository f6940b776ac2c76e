#include "visit/visit.h"

#include "base/log.h"
#include "base/monotime.h"
#include "base/str.h"
#include "base/version.h"
#include "care/next_visit.h"
#include "report/summary.h"
#include "setup/calib.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct visit_config
visit_config_default(void)
{
    return (struct visit_config){ .rate_hz = (double) NAN,
                                  .belt_speed_m_s = (double) NAN,
                                  .body_mass_kg = (double) NAN,
                                  .foot_length_mm = (double) NAN,
                                  .leg_length_mm = (double) NAN,
                                  .focus = METRIC_COUNT,
                                  .pain_before = (double) NAN };
}

enum err
visit_known_runner(const char *store_path, const char *code, struct store_runner *out)
{
    struct store s;
    enum err err = store_open(&s, store_path, STORE_MUST_EXIST);
    if (err == ERR_OK)
        err = store_runner_get(&s, code, out);
    store_close(&s);
    return err;
}

static bool
set_if_known(double *to, double from)
{
    if (isnan(from) || *to == from)
        return false;
    *to = from;
    return true;
}

/* The runner's row, made or brought up to date with what the command line says. */
static enum err
save_runner(struct store *s, const struct visit_config *c, struct store_runner *runner)
{
    enum err err = store_runner_ensure(s, c->runner_code, runner);
    if (err != ERR_OK)
        return err;
    bool is_changed = set_if_known(&runner->body_mass_kg, c->body_mass_kg);
    is_changed |= set_if_known(&runner->foot_length_mm, c->foot_length_mm);
    is_changed |= set_if_known(&runner->leg_length_mm, c->leg_length_mm);
    return is_changed ? store_runner_save(s, runner) : ERR_OK;
}

static bool
is_same(const struct target *a, const struct visit_config *c)
{
    for (int i = 0; i < c->n_targets; i++)
        if (a[i].metric != c->targets[i].metric || a[i].low != c->targets[i].low || a[i].high != c->targets[i].high)
            return false;
    return true;
}

static enum err
save_targets(struct store *s, const struct visit_config *c, int64_t runner_id, int64_t *id)
{
    struct store_target_set set = { .runner_id = runner_id, .reason = "by hand", .n = c->n_targets };
    /* The same ones as in the last visit need no new version. */
    struct store_target_set last;
    struct target now[VERDICT_MAX_BARS];
    enum metric focus;
    if (store_target_set_get(s, 0, runner_id, &last) == ERR_OK &&
        next_visit_targets(&last, now, &focus) == c->n_targets && focus == c->focus && is_same(now, c)) {
        *id = last.id;
        return ERR_OK;
    }
    for (int i = 0; i < c->n_targets; i++) {
        const struct target *t = &c->targets[i];
        set.target[i] = (struct store_target){ t->metric, t->low, t->high, t->baseline, t->metric == c->focus, t->is_change, 0 };
    }
    const enum err err = store_target_set_save(s, &set);
    *id = set.id;
    return err;
}

static enum err
begin_rows(struct visit *v, struct store *s, const struct visit_config *c)
{
    struct store_runner runner;
    enum err err = store_begin(s);
    if (err == ERR_OK)
        err = save_runner(s, c, &runner);
    if (err != ERR_OK)
        return err;
    v->row = store_visit_default(runner.id);
    v->begun = v->now();
    v->row.started_utc_ms = v->wall_us() / 1000;
    v->row.zone_offset_min = store_zone_offset_min(v->row.started_utc_ms);
    if (c->n_targets > 0)
        err = save_targets(s, c, runner.id, &v->row.target_set_id);
    if (err != ERR_OK)
        return err;
    str_copy(v->row.sensor_kind, sizeof v->row.sensor_kind, c->sensor_kind);
    str_copy(v->row.sensor_name, sizeof v->row.sensor_name, c->sensor_name);
    str_copy(v->row.software, sizeof v->row.software, "underfoot " VERSION_TEXT);
    v->row.rate_hz = c->rate_hz;
    v->row.belt_speed_m_s = c->belt_speed_m_s;
    str_copy(v->row.plan, sizeof v->row.plan, c->plan);
    v->row.course_visit = c->course_visit;
    str_copy(v->row.calibration, sizeof v->row.calibration, c->calibration);
    err = store_visit_begin(s, &v->row);
    const struct store_pain pain = { .when = STORE_PAIN_BEFORE, .pain = c->pain_before, .effort = (double) NAN };
    if (err == ERR_OK && !isnan(pain.pain))
        err = store_pain_put(s, v->row.id, &pain);
    return err == ERR_OK ? store_commit(s) : err;
}

enum err
visit_begin(struct visit *v, const struct visit_config *c)
{
    memset(v, 0, sizeof *v);
    v->store_path = c->store_path;
    v->now = c->now ? c->now : monotime_now;
    v->wall_us = c->wall_us ? c->wall_us : monotime_wall_us;
    struct store s;
    enum err err = store_open(&s, c->store_path, 0);
    if (err != ERR_OK) {
        v->why = s.why;
        return err;
    }
    err = begin_rows(v, &s, c);
    if (err != ERR_OK) {
        v->why = s.why;
        store_rollback(&s);
    }
    store_close(&s);
    if (err != ERR_OK)
        return err;
    err = writer_start(&v->writer, c->store_path, v->row.id);
    if (err != ERR_OK)
        v->why = v->writer.status.why;
    v->is_open = err == ERR_OK;
    return err;
}

void
visit_put_step(struct visit *v, const struct coached_step *step)
{
    struct coached_step kept = *step;
    if (!v->has_block)
        kept.block = -1; /* before the first block: of none */
    writer_put_step(&v->writer, &kept); /* false is counted there, and told at the end */
}

void
visit_put_block(struct visit *v, const struct coach_block *block, struct dev_time now)
{
    if (v->has_block) {
        v->block.end = now;
        writer_put_block(&v->writer, &v->block);
    }
    v->has_block = true;
    v->block = (struct store_block){ .index = block->index,
                                     .part = block->plan_index,
                                     .kind = block->kind,
                                     .start = block->start,
                                     .end = { block->start.us - 1 },
                                     .planned_s = block->planned_s,
                                     .belt_speed_m_s = block->belt_speed_m_s,
                                     .shown_share = block->shown_share };
    writer_put_block(&v->writer, &v->block);
}

void
visit_put_targets(struct visit *v, const struct coach *coach)
{
    const struct target *target;
    struct store_target_set set = { .runner_id = v->row.runner_id, .n = coach_targets(coach, &target) };
    str_copy(set.reason, sizeof set.reason, coach->are_targets_by_rule ? "by rule from the baseline" : "by hand");
    for (int i = 0; i < set.n; i++)
        set.target[i] = (struct store_target){ target[i].metric,   target[i].low,
                                               target[i].high,     target[i].baseline,
                                               target[i].metric == coach->verdict.focus, target[i].is_change, 0 };
    writer_put_targets(&v->writer, &set);
}

bool
visit_put_pain(struct visit *v, const struct store_pain *pain)
{
    return writer_put_pain(&v->writer, pain);
}

bool
visit_put_note(struct visit *v, const struct store_note *note)
{
    return writer_put_note(&v->writer, note);
}

/* Force over whole strides against the weight of a mass that was given: the sensor's gain error. */
static void
judge_gain(const struct pipeline *p, struct store_visit_end *end)
{
    const double limit_pct = p->sense.profile.drift_limit_pct;
    if (!pipeline_is_ready(p) || engine_is_relative(&p->engine) || isnan(p->config.body_mass_kg))
        return;
    end->gain_drift_pct = calib_drift_pct(engine_momentum_weight_n(&p->engine), p->config.body_mass_kg);
    end->has_gain_drift = !isnan(end->gain_drift_pct);
    if (!end->has_gain_drift || fabs(end->gain_drift_pct) <= limit_pct)
        return;
    snprintf(end->calibration, sizeof end->calibration, "gain off by %+.1f %%, more than %g %%: calibrate again, or check the mass",
             end->gain_drift_pct, limit_pct);
    struct message m;
    message_tell(&m, MESSAGE_VISIT_GAIN_WAS_OFF, message_signed(end->gain_drift_pct, 1, MESSAGE_UNIT_PCT),
                 message_real(limit_pct, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_PCT));
    log_tell(&m);
}

/* Once, however often the end has to be tried. */
static int64_t
length_ms(const struct visit *v)
{
    const int64_t ms = units_host_since_us(v->now(), v->begun) / 1000;
    return ms > 1 ? ms : 1; /* an end is never the beginning */
}

/* The wall clock was set while the visit ran: its length is right all the same, and whoever reads the times is told. */
static void
note_clock(struct visit *v)
{
    struct store_note note = { .at = { -1 } };
    const double step_s = (double) (v->wall_us() / 1000 - v->row.started_utc_ms - length_ms(v)) * 1e-3;
    if (fabs(step_s) <= VISIT_CLOCK_STEP_S)
        return;
    note.written_utc_ms = v->row.started_utc_ms + length_ms(v);
    struct message m;
    if (step_s > 0)
        message_tell(&m, MESSAGE_CLOCK_WAS_SET_FORWARD, message_real(step_s, 0, MESSAGE_UNIT_S));
    else
        message_tell(&m, MESSAGE_CLOCK_WAS_SET_BACK, message_real(-step_s, 0, MESSAGE_UNIT_S));
    str_copy(note.text, sizeof note.text, message_english(&m)); /* the store has it in English: who reads it later may have another language */
    log_tell(&m);
    (void) writer_put_note(&v->writer, &note); /* full: it was said */
}

static void
prepare_end(struct visit *v, const struct pipeline *p, double length_s)
{
    if (v->has_block) {
        v->block.end = p->coach.verdict.time;
        writer_put_block(&v->writer, &v->block);
    }
    enum engine_weight_source from = ENGINE_WEIGHT_UNKNOWN;
    const double weight_n = pipeline_is_ready(p) ? engine_body_weight_n(&p->engine, &from) : (double) NAN;
    v->end = (struct store_visit_end){
        .ended_utc_ms = v->row.started_utc_ms + (isnan(length_s) ? length_ms(v) : llround(length_s * 1e3)),
        .is_finished = true,
        .is_cut_short = coach_is_cut_short(&p->coach),
        .n_lost_packets = (int64_t) (p->wire.health.n_lost > p->sense.health.n_lost ? p->wire.health.n_lost
                                                                                   : p->sense.health.n_lost),
        .body_weight_n = weight_n,
        .body_weight_from = from == ENGINE_WEIGHT_MOMENTUM ? STORE_WEIGHT_MOMENTUM
                            : from == ENGINE_WEIGHT_UNKNOWN ? STORE_WEIGHT_UNKNOWN
                                                            : STORE_WEIGHT_ENTERED,
    };
    judge_gain(p, &v->end);
    v->is_ending = true;
}

static void
say_end(struct visit *v)
{
    const struct writer_status *s = &v->writer.status;
    if (v->aside[0])
        message_tell(&v->why, MESSAGE_VISIT_KEPT_ASIDE, message_path(v->aside), message_of(&s->why));
    else if (v->is_open)
        message_tell(&v->why, MESSAGE_VISIT_WAITS, s->n_waiting, message_of(&s->why));
    else
        v->why = s->why;
}

enum err
visit_end(struct visit *v, const struct pipeline *p, double length_s)
{
    if (!v->is_open)
        return ERR_OK;
    if (!v->is_ending && isnan(length_s))
        note_clock(v);
    if (!v->is_ending)
        prepare_end(v, p, length_s);
    const enum err err = writer_stop(&v->writer, &v->end);
    v->is_open = v->writer.is_open;
    if (!v->is_open && err != ERR_OK && err != ERR_USAGE)
        str_copy(v->aside, sizeof v->aside, v->writer.status.aside);
    if (err != ERR_OK)
        say_end(v);
    if (v->writer.status.n_dropped > 0 && !v->is_open) {
        struct message m, cause = v->why;
        if (err == ERR_OK)
            message_init(&cause, MESSAGE_DISC_TOO_SLOW);
        message_tell(&m, MESSAGE_VISIT_LOST_ON_THE_WAY, v->writer.status.n_dropped, message_of(&cause));
        log_tell(&m);
    }
    return err == ERR_USAGE ? ERR_GONE : err; /* refused records are no wrong words */
}

void
visit_abandon(struct visit *v)
{
    if (!v->is_open)
        return;
    writer_abandon(&v->writer);
    v->is_open = false;
    struct message m;
    message_tell(&m, MESSAGE_VISIT_IS_ABANDONED, v->writer.status.n_waiting, message_of(&v->writer.status.why));
    log_tell(&m);
}

const char *
visit_where(const struct visit *v, char out[STORE_PATH_MAX])
{
    if (!v->aside[0])
        return v->store_path;
    spill_store_path(v->aside, out);
    return out;
}

enum err
visit_print_summary(struct visit *v, FILE *f)
{
    struct store s;
    struct summary summary;
    struct store_visit row;
    char path[STORE_PATH_MAX];
    enum err err = store_open(&s, visit_where(v, path), STORE_READ_ONLY | STORE_UNCHECKED);
    if (err == ERR_OK)
        err = summary_of_visit(&s, v->row.id, &row, &summary);
    if (err == ERR_OK)
        summary_print(f, NULL, &summary, &row);
    else
        v->why = s.why;
    store_close(&s);
    return err;
}
