/* cmd_remeasure.c - `underfoot remeasure`: visits measured again, with today's engine, from their recordings.
 *
 * It measures, and re-decides nothing: what the runner was shown stays as it was, and so do the first figures. With --keep
 * the new ones stand beside them (store/measurement.h); report/measured.h says which are read.
 */
#include "base/stop.h"
#include "base/str.h"
#include "base/version.h"
#include "care/recordings.h"
#include "cli/commands.h"
#include "cli/say_options.h"
#include "cli/store_word.h"
#include "paper/phrase.h"
#include "report/measured.h"
#include "report/remeasure.h"
#include "report/summary.h"
#include "store/measurement.h"
#include "store/running.h"
#include "visit/rerun.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* One visit: as it was measured then, and now. */
struct remeasuring {
    struct store *store;
    struct store_visit visit;
    struct measurement first, now;
    struct summary_maker then_steps, now_steps;
    enum err feeding;
    struct remeasure result;
};

/* What was asked for, and what came of it. */
struct remeasure_words {
    const char *runner, *folder;
    bool is_keeping;
    int64_t id;
    int n_visits, n_failed; /* that could not be measured, or not to their end */
    struct remeasure sum;
};

static bool
take_then(void *context, const struct coached_step *step)
{
    struct remeasuring *r = context;
    r->feeding = summary_maker_feed(&r->then_steps, step);
    return r->feeding == ERR_OK;
}

static void
take_now(void *context, const struct coached_step *step)
{
    struct remeasuring *r = context;
    if (r->feeding == ERR_OK)
        r->feeding = summary_maker_feed(&r->now_steps, step);
}

static void
take_end(void *context, const struct session *s)
{
    struct measurement *m = &((struct remeasuring *) context)->now;
    enum engine_weight_source from = ENGINE_WEIGHT_UNKNOWN;
    if (pipeline_is_ready(&s->pipeline))
        m->body_weight_n = engine_body_weight_n(&s->pipeline.engine, &from);
    m->body_weight_from = from == ENGINE_WEIGHT_MOMENTUM ? STORE_WEIGHT_MOMENTUM
                          : from == ENGINE_WEIGHT_UNKNOWN ? STORE_WEIGHT_UNKNOWN
                                                          : STORE_WEIGHT_ENTERED;
}

static bool
should_stop(void *context)
{
    (void) context;
    return stop_is_asked();
}

static enum err
out_of_memory(struct store *s)
{
    message_init(&s->why, MESSAGE_CLI_NO_MEMORY);
    return ERR_MEMORY;
}

static enum err
read_then(struct remeasuring *r, int64_t id)
{
    struct store *s = r->store;
    enum err err = store_visit_get(s, id, &r->visit);
    if (err == ERR_OK && running_is(s->path, id)) {
        message_tell(&s->why, MESSAGE_REMEASURE_IS_RUN, id);
        return ERR_USAGE;
    }
    if (err == ERR_OK)
        err = measurement_first(s, id, &r->first);
    if (err == ERR_OK)
        err = measurement_steps(s, &r->first, take_then, r);
    return err == ERR_OK && r->feeding != ERR_OK ? out_of_memory(s) : err;
}

static enum err
find_recording(struct remeasuring *r, char path[STORE_PATH_MAX])
{
    struct store *s = r->store;
    int64_t n_bytes;
    const enum err err = recordings_find(s, &r->visit, path, &n_bytes);
    if (err == ERR_GONE)
        message_tell(&s->why, MESSAGE_REMEASURE_NO_RECORDING, r->visit.id, message_path(s->path));
    return err;
}

/* The recording must be of this visit, not one that was put in its place. */
static enum err
check_recording(struct remeasuring *r, const struct rerun *rerun, const char *path)
{
    struct store *s = r->store;
    if (rerun->has_begun && rerun->visit_id != r->visit.id) {
        message_tell(&s->why, MESSAGE_REMEASURE_OTHER_VISIT, message_path(path), rerun->visit_id, r->visit.id);
        return ERR_FORMAT;
    }
    if (stop_is_asked()) {
        message_init(&s->why, MESSAGE_REMEASURE_INTERRUPTED);
        return ERR_GONE;
    }
    return r->feeding != ERR_OK ? out_of_memory(s) : ERR_OK;
}

/* ERR_OK also where some of it can't be read: now.is_complete says so. */
static enum err
measure_now(struct remeasuring *r)
{
    struct rerun_config config = rerun_config_default();
    struct rerun *rerun = calloc(1, sizeof *rerun);
    char path[STORE_PATH_MAX];
    if (!rerun)
        return out_of_memory(r->store);
    config.session.context = r;
    config.session.on_step = take_now;
    config.on_end = take_end;
    config.should_stop = should_stop;
    r->now = (struct measurement){ .visit_id = r->visit.id, .definitions = metric_definitions_today(),
                                   .body_weight_n = (double) NAN };
    str_copy(r->now.software, sizeof r->now.software, "underfoot " VERSION_TEXT);
    enum err err = find_recording(r, path);
    if (err == ERR_OK) {
        err = rerun_file(rerun, path, &config);
        if (err != ERR_OK)
            r->store->why = rerun->why;
        if (err == ERR_OK)
            err = check_recording(r, rerun, path);
        r->now.is_complete = !recording_has_lost(&rerun->recording) && rerun->n_refused == 0;
        if (err == ERR_OK && !r->now.is_complete && message_is_none(&rerun->why))
            say_note(MESSAGE_REMEASURE_PARTLY_LATER, r->visit.id);
        else if (err == ERR_OK && !r->now.is_complete)
            say_note(MESSAGE_REMEASURE_PARTLY, r->visit.id, message_of(&rerun->why));
    }
    rerun_close(rerun);
    free(rerun);
    return err;
}

/* ---------------------------------------------------------------- keeping */

struct blocks {
    struct store_block *block;
    int n, cap;
    bool is_out_of_memory;
};

static bool
take_block(void *context, const struct store_block *b)
{
    struct blocks *k = context;
    if (k->n == k->cap) {
        const int cap = k->cap == 0 ? 16 : 2 * k->cap;
        struct store_block *block = realloc(k->block, (size_t) cap * sizeof *block);
        if (!block) {
            k->is_out_of_memory = true;
            return false;
        }
        k->block = block;
        k->cap = cap;
    }
    k->block[k->n++] = *b;
    return true;
}

static struct remeasure_steps
steps_of(const struct summary_maker *m)
{
    return (struct remeasure_steps){ m->steps, m->n };
}

static enum err
carry_over(struct remeasuring *r)
{
    struct blocks k = { .block = NULL };
    enum err err = store_blocks(r->store, r->visit.id, take_block, &k);
    if (err == ERR_OK && k.is_out_of_memory)
        err = out_of_memory(r->store);
    if (err == ERR_OK)
        remeasure_carry_over(steps_of(&r->then_steps), k.block, k.n, r->now_steps.steps, r->now_steps.n);
    free(k.block);
    return err;
}

/* Whether what would be read by default has these definitions and steps already. */
static enum err
is_there_already(struct remeasuring *r, bool *is)
{
    struct measurement newest;
    struct remeasure result;
    struct remeasuring before = { .store = r->store };
    enum err err = measurement_newest(r->store, r->visit.id, &r->now.definitions, &newest);
    *is = false;
    if (err == ERR_GONE)
        return ERR_OK;
    summary_maker_init(&before.then_steps);
    if (err == ERR_OK)
        err = measurement_steps(r->store, &newest, take_then, &before);
    if (err == ERR_OK && before.feeding != ERR_OK)
        err = out_of_memory(r->store);
    if (err == ERR_OK) {
        remeasure_compare(steps_of(&before.then_steps), steps_of(&r->now_steps), &result);
        *is = result.n_same == result.n_steps;
    }
    summary_maker_destroy(&before.then_steps);
    return err;
}

static enum err
write_all(struct remeasuring *r)
{
    enum err err = store_begin(r->store);
    if (err != ERR_OK)
        return err;
    err = measurement_put(r->store, &r->now);
    for (size_t i = 0; err == ERR_OK && i < r->now_steps.n; i++)
        err = measurement_put_step(r->store, &r->now, &r->now_steps.steps[i]);
    if (err == ERR_OK)
        err = store_commit(r->store);
    if (err != ERR_OK)
        store_rollback(r->store);
    return err;
}

static enum err
keep(struct remeasuring *r)
{
    bool is_there = false;
    enum err err = is_there_already(r, &is_there);
    if (err == ERR_OK && is_there) {
        say_line(stdout, MESSAGE_REMEASURE_THERE, r->visit.id);
        return ERR_OK;
    }
    if (err == ERR_OK)
        err = carry_over(r);
    if (err == ERR_OK)
        err = write_all(r);
    if (err == ERR_OK && r->now.is_complete)
        say_line(stdout, MESSAGE_REMEASURE_KEPT, r->visit.id);
    else if (err == ERR_OK)
        say_line(stdout, MESSAGE_REMEASURE_KEPT_PARTLY, r->visit.id);
    return err;
}

/* ---------------------------------------------------------------- one visit, or a course */

static void
print_head(const struct remeasuring *r)
{
    char when[PHRASE_TIME_MAX], then[MEASURED_TEXT_MAX], now[MEASURED_TEXT_MAX];
    say_line(stdout, MESSAGE_REMEASURE_HEAD, r->visit.id, r->visit.runner_code,
             phrase_time(say_catalogue(), when, r->visit.started_utc_ms, r->visit.zone_offset_min));
    say_line(stdout, MESSAGE_REMEASURE_THEN, r->first.software, measured_definitions_text(say_catalogue(), &r->first.definitions, then));
    say_line(stdout, MESSAGE_REMEASURE_NOW, r->now.software, measured_definitions_text(say_catalogue(), &r->now.definitions, now));
}

static void
print_result(const struct remeasuring *r, bool is_one_of_many)
{
    const struct remeasure *x = &r->result;
    if (is_one_of_many) /* for scripts, as the last line of all */
        printf("visit %lld: %d steps, %d the same\n", (long long) r->visit.id, x->n_steps, x->n_same);
    else {
        print_head(r);
        remeasure_print(stdout, x);
    }
}

/* ERR_OK: measured, as far as its recording goes. */
static enum err
remeasure_visit(struct store *s, struct remeasure_words *w, int64_t id)
{
    struct remeasuring *r = calloc(1, sizeof *r);
    if (!r)
        return out_of_memory(s);
    r->store = s;
    summary_maker_init(&r->then_steps);
    summary_maker_init(&r->now_steps);
    enum err err = read_then(r, id);
    if (err == ERR_OK)
        err = measure_now(r);
    if (err == ERR_OK) {
        remeasure_compare(steps_of(&r->then_steps), steps_of(&r->now_steps), &r->result);
        remeasure_add(&w->sum, &r->result);
        print_result(r, w->runner != NULL);
        w->n_failed += !r->now.is_complete;
        if (w->is_keeping)
            err = keep(r);
    }
    summary_maker_destroy(&r->then_steps);
    summary_maker_destroy(&r->now_steps);
    free(r);
    return err;
}

struct ids {
    int64_t *id;
    int n, cap;
};

static bool
take_id(void *context, const struct store_visit *v)
{
    struct ids *k = context;
    if (k->n < k->cap)
        k->id[k->n++] = v->id;
    return k->n < k->cap;
}

/* Each by itself: one without a recording does not keep the others from being measured. */
static enum err
remeasure_runner(struct store *s, struct remeasure_words *w)
{
    struct store_runner runner;
    struct ids k = { .id = NULL };
    enum err err = store_runner_get(s, w->runner, &runner);
    if (err == ERR_OK)
        err = store_visits_count(s, runner.id, &k.cap);
    if (err == ERR_OK && k.cap == 0) {
        message_tell(&s->why, MESSAGE_REMEASURE_NO_VISITS, w->runner);
        err = ERR_GONE;
    }
    if (err == ERR_OK && !(k.id = calloc((size_t) k.cap, sizeof *k.id)))
        err = out_of_memory(s);
    if (err == ERR_OK)
        err = store_visits(s, runner.id, take_id, &k);
    for (int i = k.n - 1; i >= 0 && err == ERR_OK; i--) { /* in the order begun */
        if (remeasure_visit(s, w, k.id[i]) != ERR_OK) {
            w->n_failed++;
            if (stop_is_asked())
                err = ERR_GONE;
            else
                say_note_of(&s->why);
        }
    }
    free(k.id);
    if (err == ERR_OK)
        remeasure_print(stdout, &w->sum);
    return err;
}

int
cmd_remeasure(int argc, char **argv)
{
    struct remeasure_words w = { .id = 0 };
    const char *word[1];
    const struct option_row rows[] = {
        { "runner", OPTION_TEXT, "CODE", N_("all visits of a runner, so that one engine has measured its course"), NULL, &w.runner, NULL, 0, 0 },
        { "keep", OPTION_FLAG, NULL, N_("store the new figures beside the old ones, which stay"), &w.is_keeping, NULL, NULL, 0, 0 },
        store_word_row(&w.folder),
    };
    const struct options_spec spec = { "remeasure", "[ID]",
                                       N_("Measures a visit again from its recording, with today's engine, and says what differs. What the\n"
                                       "runner was shown is not decided again. The last line says how many steps are the same."),
                                       rows, (int) (sizeof rows / sizeof *rows) };
    const int n = say_options(&spec, argc, argv, word, 1);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    if ((n == 1) == (w.runner != NULL))
        return say_refuse(&spec, MESSAGE_REMEASURE_WHICH);
    if (n == 1 && (!str_to_i64(word[0], &w.id) || w.id < 1))
        return say_refuse(&spec, MESSAGE_REMEASURE_NO_ID, word[0]);
    stop_catch_signals();
    struct store s = { .db = NULL };
    enum err err = store_word_read(&s, w.folder);
    if (err == ERR_OK)
        err = w.runner ? remeasure_runner(&s, &w) : remeasure_visit(&s, &w, w.id);
    if (err == ERR_OK)
        printf("%d steps, %d the same\n", w.sum.n_steps, w.sum.n_same);
    const int code = store_word_end(&s, err);
    return code == 0 && w.n_failed > 0 ? 1 : code;
}
