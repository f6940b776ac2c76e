/* A visit's recording, rerun: the same steps, blocks, shown shares and verdicts as they were, in every field. The visit is
 * a simulated runner's, through visit/run as a user's goes, with commands at odd moments and a sensor that is silent,
 * lost and back. */
#include "aid/same_verdict.h"
#include "aid/store_rig.h"
#include "base/monotime.h"
#include "cli/demo.h"
#include "cli/mimic.h"
#include "live/command_code.h"
#include "visit/rerun.h"
#include "visit/run.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define RATE_HZ 250
#define LASTS_S 47.0
#define BEGINS_S 1.503
#define TICK_US 40000
#define MAX_STEPS 1024
#define MAX_BLOCKS 64
#define MAX_VERDICTS 65536

/* All that comes out of a run, or of its rerun. */
struct outcome {
    int n_steps, n_blocks, n_targets, n_verdicts, n_marks;
    struct coached_step step[MAX_STEPS];
    struct coach_block block[MAX_BLOCKS];
    int step_of_block[MAX_BLOCKS]; /* how many steps came before it */
    struct target target[MAX_BLOCKS];
    struct verdict verdict[MAX_VERDICTS];
    char mark[8][256];
    uint64_t n_frames;
    int64_t n_lost;
};

struct rig {
    struct store_rig files;
    struct mimic mimic;
    struct run run;
    struct sense_profile profile;
    struct outcome was, is;
    double rate_hz;
    int64_t n_unheard; /* samples that nobody got */
    int n_done;        /* of the script */
    char path[FILEIO_PATH_MAX];
};

static struct rig *r; /* one a test process */

static void
make_rig(void)
{
    r = calloc(1, sizeof *r);
    cr_assert(r);
    cr_assert_eq(store_rig_make(&r->files), 0);
    r->rate_hz = RATE_HZ;
}

static void
remove_rig(void)
{
    store_rig_remove(&r->files);
    free(r);
}

TestSuite(rerun, .init = make_rig, .fini = remove_rig, .timeout = 500);

/* ---------------------------------------------------------------- what comes out */

static void
take_step(void *context, const struct coached_step *step)
{
    struct outcome *o = context;
    cr_assert_lt(o->n_steps, MAX_STEPS);
    o->step[o->n_steps++] = *step;
}

static void
take_block(void *context, const struct coach_block *block, struct dev_time now)
{
    struct outcome *o = context;
    cr_assert_lt(o->n_blocks, MAX_BLOCKS);
    cr_assert_eq(now.us, block->start.us);
    o->step_of_block[o->n_blocks] = o->n_steps;
    o->block[o->n_blocks++] = *block;
}

static void
take_targets(void *context, const struct coach *coach)
{
    struct outcome *o = context;
    const struct target *target;
    const int n = coach_targets(coach, &target);
    for (int i = 0; i < n; i++) {
        cr_assert_lt(o->n_targets, MAX_BLOCKS);
        o->target[o->n_targets++] = target[i];
    }
}

static void
take_verdict(void *context, const struct verdict *v)
{
    struct outcome *o = context;
    cr_assert_lt(o->n_verdicts, MAX_VERDICTS);
    o->verdict[o->n_verdicts++] = *v;
}

static void
take_mark(void *context, const char *text)
{
    struct outcome *o = context;
    cr_assert_lt(o->n_marks, 8);
    snprintf(o->mark[o->n_marks++], sizeof o->mark[0], "%s", text);
}

static void
take_end(void *context, const struct session *s)
{
    struct outcome *o = context;
    o->n_frames = s->pipeline.sense.health.n_frames;
    o->n_lost = (int64_t) s->pipeline.sense.health.n_lost;
}

static void
fill_hooks(struct session_config *c, struct outcome *o)
{
    c->on_step = take_step;
    c->on_block = take_block;
    c->on_targets = take_targets;
    c->context = o;
}

/* ---------------------------------------------------------------- the visit */

static const struct {
    double at_s;
    enum command_kind kind;
    double number;
} SCRIPT[] = {
    { 2.101, COMMAND_RESUME, 0 },          { 7.777, COMMAND_BELT_SPEED, 3.1 },
    { 9.313, COMMAND_TARGETS, 0 },         { 11.111, COMMAND_PAUSE, 0 },
    { 13.709, COMMAND_RESUME, 0 },         { 15.017, COMMAND_EXTEND, 7.5 },
    { 17.231, COMMAND_FEEDBACK, COMMAND_FEEDBACK_OFF },
    { 19.903, COMMAND_FEEDBACK, COMMAND_FEEDBACK_ON },
    { 21.5, COMMAND_FEEDBACK, COMMAND_FEEDBACK_BY_PLAN },
    { 31.003, COMMAND_SKIP, 0 },           { 33.333, COMMAND_ACCEPT_BASELINE, 0 },
    { 34.001, COMMAND_BELT_SPEED, 2.9 },   { 46.0, COMMAND_END, 0 },
};
#define N_SCRIPT ((int) (sizeof SCRIPT / sizeof *SCRIPT))

static struct command
command_of(int i)
{
    struct command c = { .kind = SCRIPT[i].kind, .number = SCRIPT[i].number, .focus = METRIC_COUNT };
    if (c.kind != COMMAND_TARGETS)
        return c;
    c.n_targets = 2;
    c.focus = METRIC_CONTACT_MS;
    c.target[0] = (struct target){ METRIC_CADENCE_SPM, 163, 171.25, 1.0 / 3 + 160, true };
    c.target[1] = (struct target){ METRIC_CONTACT_MS, 200, 260, (double) NAN, false };
    return c;
}

static void
fill_plan(struct coach_config *c)
{
    static const struct plan_block blocks[] = { { VERDICT_BLOCK_WARM_UP, 4, 3.0, 0, 0 },
                                                { VERDICT_BLOCK_COACHED, 16, (double) NAN, 0.5, 0 },
                                                { VERDICT_BLOCK_SILENT, 5, (double) NAN, 0, 0 },
                                                { VERDICT_BLOCK_COACHED, 12, 3.2, 1, 0 },
                                                { VERDICT_BLOCK_COOL_DOWN, 60, (double) NAN, 0, 0 } };
    c->plan.n_blocks = (int) (sizeof blocks / sizeof *blocks);
    memcpy(c->plan.block, blocks, sizeof blocks);
    c->plan.spread = PLAN_SPREAD_RANDOM;
    c->plan.seed = UINT64_C(0x9E3779B97F4A7C15);
    c->plan.is_bandwidth = true;
    c->is_waiting = true;
    c->n_targets = 1;
    c->focus = METRIC_CADENCE_SPM;
    c->target[0] = (struct target){ METRIC_CADENCE_SPM, 165, 172, 160, true };
}

static void
set_up(bool is_early_dropped)
{
    struct mimic_config m = mimic_config_default();
    struct run_config c = run_config_default();
    struct pipeline_config *p = &c.session.pipeline;
    m.board = board_config_default(FRAME_KIND_CELLS);
    m.board.rate_hz = r->rate_hz;
    mimic_init(&r->mimic, &m);
    demo_profile(&r->mimic, &r->profile);
    r->profile.cell[1].gain_n_per_count *= 1 + 1.0 / 1024 / 3; /* as a calibration leaves it: no round number */
    p->profile = &r->profile;
    p->body_mass_kg = m.runner.style.mass_kg + 0.1;
    p->foot_length_mm = 251;
    p->leg_length_mm = 870.5;
    p->belt_speed_m_s = 10.0 / 3.6;
    fill_plan(&p->coach);
    fill_hooks(&c.session, &r->was);
    c.session.is_early_dropped = is_early_dropped;
    c.is_stored = c.is_virtual = true;
    c.visit.store_path = r->files.path;
    c.visit.runner_code = "R-014";
    strcpy(c.visit.plan, "by-hand");
    run_init(&r->run, &c);
}

/* What the drawing thread does between two inputs. */
static void
act(double t_s)
{
    if (!r->run.is_begun && t_s >= BEGINS_S)
        cr_assert_eq(run_begin(&r->run), ERR_OK, "%s", message_english(&r->run.why));
    for (; r->n_done < N_SCRIPT && t_s >= SCRIPT[r->n_done].at_s; r->n_done++) {
        const struct command c = command_of(r->n_done);
        cr_assert(run_command(&r->run, &c));
        if (c.kind == COMMAND_PAUSE) {
            const struct visit_flow_pain pain = { VISIT_FLOW_PAIN_WAS_DURING, { 11111000 }, 2.5, (double) NAN };
            cr_assert(run_put_pain(&r->run, &pain));
            cr_assert(run_put_note(&r->run, (struct dev_time){ 11112000 }, "left calf: tight"));
        }
    }
}

static void
look(void)
{
    struct verdict v;
    if (run_take_verdict(&r->run, &v))
        take_verdict(&r->was, &v);
}

/* Silent from 25 to 25.6 s (ticks), unplugged from 27.2 to 28.9 s. */
static void
pass_sample(int64_t us, const uint8_t *bytes, size_t len)
{
    struct message away;
    message_say(&away, "The sensor is unplugged.");
    const struct host_time at = { us + 5000000 };
    const bool is_silent = us >= 25000000 && us < 25600000, is_away = us >= 27200000 && us < 28900000;
    if (us == 27200000)
        run_set_gone(&r->run, &away, at);
    else if (is_silent && us % TICK_US == 0)
        run_tick(&r->run, at);
    else if (!is_silent && !is_away)
        run_feed(&r->run, bytes, len, at);
    r->n_unheard += is_silent || is_away;
    look();
}

static void
run_visit(bool is_early_dropped)
{
    const uint8_t *bytes;
    set_up(is_early_dropped);
    while (r->mimic.board.t_s < LASTS_S) {
        const int n = mimic_step(&r->mimic, &bytes);
        cr_assert_gt(n, 0);
        act(r->mimic.board.t_s);
        pass_sample(units_us_from_s(r->mimic.board.t_s), bytes, (size_t) n);
    }
    run_finish(&r->run);
    look();
    take_end(&r->was, &r->run.session);
    cr_assert_eq(run_end(&r->run, LASTS_S), ERR_OK, "%s", message_english(&r->run.why));
    cr_assert_eq(r->n_done, N_SCRIPT);
    strcpy(r->path, r->run.record.kept_path);
    cr_assert_eq(access(r->path, R_OK), 0, "%s", r->path);
}

/* ---------------------------------------------------------------- comparing */

static int
compare_steps(void)
{
    int n_different = r->was.n_steps != r->is.n_steps;
    for (int i = 0; i < r->was.n_steps && i < r->is.n_steps; i++)
        n_different += !store_rig_same_step(&r->was.step[i], &r->is.step[i]) ||
                       r->was.step[i].step.arrived.us != r->is.step[i].step.arrived.us;
    return n_different;
}

static int
compare_blocks(void)
{
    int n_different = r->was.n_blocks != r->is.n_blocks;
    for (int i = 0; i < r->was.n_blocks && i < r->is.n_blocks; i++) {
        const struct coach_block *a = &r->was.block[i], *b = &r->is.block[i];
        n_different += a->index != b->index || a->plan_index != b->plan_index || a->target_version != b->target_version ||
                       a->kind != b->kind || a->start.us != b->start.us || !same_number(a->planned_s, b->planned_s) ||
                       !same_number(a->belt_speed_m_s, b->belt_speed_m_s) || !same_number(a->shown_share, b->shown_share) ||
                       r->was.step_of_block[i] != r->is.step_of_block[i];
    }
    return n_different;
}

static int
compare_targets(void)
{
    int n_different = r->was.n_targets != r->is.n_targets;
    for (int i = 0; i < r->was.n_targets && i < r->is.n_targets; i++) {
        const struct target *a = &r->was.target[i], *b = &r->is.target[i];
        n_different += a->metric != b->metric || !same_number(a->low, b->low) || !same_number(a->high, b->high) ||
                       !same_number(a->baseline, b->baseline) || a->is_change != b->is_change;
    }
    return n_different;
}

static int
compare_verdicts(const char **field)
{
    int n_different = r->was.n_verdicts != r->is.n_verdicts;
    for (int i = 0; i < r->was.n_verdicts && i < r->is.n_verdicts; i++) {
        const char *difference = verdict_difference(&r->was.verdict[i], &r->is.verdict[i]);
        if (difference && n_different++ == 0)
            *field = difference;
    }
    return n_different;
}

static void
compare_all(void)
{
    const char *field = "";
    cr_expect_eq(compare_steps(), 0, "%d and %d steps", r->was.n_steps, r->is.n_steps);
    cr_expect_eq(compare_blocks(), 0, "%d and %d blocks", r->was.n_blocks, r->is.n_blocks);
    cr_expect_eq(compare_targets(), 0, "%d and %d targets", r->was.n_targets, r->is.n_targets);
    const int n = compare_verdicts(&field);
    cr_expect_eq(n, 0, "%d of %d verdicts, first in %s", n, r->was.n_verdicts, field);
    cr_expect_eq(r->was.n_frames, r->is.n_frames);
    cr_expect_eq(r->was.n_lost, r->is.n_lost);
}

static void
rerun(struct rerun *again)
{
    struct rerun_config c = rerun_config_default();
    memset(&r->is, 0, sizeof r->is);
    fill_hooks(&c.session, &r->is);
    c.on_verdict = take_verdict;
    c.on_mark = take_mark;
    c.on_end = take_end;
    cr_assert_eq(rerun_file(again, r->path, &c), ERR_OK, "%s", message_english(&again->why));
}

/* ---------------------------------------------------------------- tests */

/* Enough of everything went on for the comparison to mean something. */
static void
check_rich(void)
{
    int n_shown = 0, n_withheld = 0, n_gone = 0, n_quiet = 0;
    for (int i = 0; i < r->was.n_steps; i++)
        (r->was.step[i].is_feedback_shown ? n_shown++ : n_withheld++);
    for (int i = 0; i < r->was.n_verdicts; i++) {
        n_gone += r->was.verdict[i].sensor == VERDICT_SENSOR_GONE;
        n_quiet += r->was.verdict[i].sensor == VERDICT_SENSOR_QUIET;
    }
    cr_assert(r->was.n_steps > 150 && n_shown > 20 && n_withheld > 20, "%d steps, %d shown", r->was.n_steps, n_shown);
    cr_assert_geq(r->was.n_blocks, 9, "%d blocks", r->was.n_blocks);
    cr_assert_gt(r->was.n_targets, 0);
    cr_assert(r->was.n_verdicts > 1000 && n_gone > 0 && n_quiet > 0, "%d, %d, %d", r->was.n_verdicts, n_gone, n_quiet);
}

static void
run_and_rerun(bool is_early_dropped)
{
    struct rerun again;
    run_visit(is_early_dropped);
    check_rich();
    rerun(&again);
    compare_all();
    cr_expect(!recording_has_lost(&again.recording), "%s", message_english(&again.why));
    cr_expect(again.has_begun);
    cr_expect_eq(again.visit_id, r->run.visit.row.id);
    cr_expect_str_eq(again.runner_code, "R-014");
    cr_expect_eq(again.n_refused, 0);
    cr_assert_eq(r->is.n_marks, 2);
    cr_expect_str_eq(r->is.mark[0], "pain 1 11111000 2.5 nan");
    cr_expect_str_eq(r->is.mark[1], "note 11112000 left calf: tight");
    rerun_close(&again);
}

Test(rerun, a_visit_that_waited_for_its_store_comes_out_the_same)
{
    run_and_rerun(false);
    cr_expect_eq(r->was.block[0].index, 0);
}

Test(rerun, a_visit_of_the_panel_comes_out_the_same_without_what_came_before_it)
{
    run_and_rerun(true);
    cr_expect_gt(r->was.step[0].step.touchdown.us, units_us_from_s(BEGINS_S) - 1000000);
}

/* The comparison bites: one command less, and it is another visit. */
Test(rerun, without_its_commands_it_would_be_another_visit)
{
    struct rerun again;
    struct session_config c = { .pipeline = pipeline_config_default() };
    struct session *s = malloc(sizeof *s);
    struct verdict v;
    const char *field;
    cr_assert(s);
    run_visit(false);
    cr_assert_eq(rerun_open(&again, r->path), ERR_OK);
    cr_assert_eq(rerun_set_up(&again, &c), ERR_OK);
    fill_hooks(&c, &r->is);
    session_init(s, &c);
    rerun_hold(&again, s);
    for (int n_commands = 0; rerun_next(&again);) {
        struct command command;
        if (again.item.kind == RECORDING_COMMAND && ++n_commands == 6) {
            cr_assert(command_code_read(again.item.data, again.item.len, &command));
            cr_assert(command.kind == COMMAND_EXTEND && command.number == 7.5);
            cr_assert_gt(again.item.arrived.us, 20000000);
            continue;
        }
        rerun_pass(&again, s, again.item.arrived);
        if (session_take_verdict(s, &v))
            take_verdict(&r->is, &v);
    }
    session_finish(s);
    cr_expect_gt(compare_steps(), 0);
    cr_expect_gt(compare_blocks(), 0);
    cr_expect_gt(compare_verdicts(&field), 0);
    rerun_close(&again);
    free(s);
}

Test(rerun, a_recording_that_is_cut_is_rerun_up_to_the_cut)
{
    struct rerun again;
    char command[2 * FILEIO_PATH_MAX + 64];
    r->rate_hz = 1000; /* in virtual time a frame ends when it is full: so there are several */
    run_visit(false);
    snprintf(command, sizeof command, "truncate -s $(($(stat -c %%s '%s') / 2)) '%s'", r->path, r->path);
    cr_assert_eq(system(command), 0);
    rerun(&again);
    cr_expect(recording_has_lost(&again.recording));
    cr_expect(!message_is_none(&again.why));
    cr_assert(r->is.n_steps > 20 && r->is.n_steps < r->was.n_steps, "%d of %d steps", r->is.n_steps, r->was.n_steps);
    const int n_whole = r->is.n_verdicts - 2; /* the end itself makes others */
    for (int i = 0; i < n_whole; i++)
        cr_assert(!verdict_difference(&r->was.verdict[i], &r->is.verdict[i]), "verdict %d", i);
    rerun_close(&again);
}

/* By the thread that a replay on the screen has. */
Test(rerun, the_reading_thread_gives_the_same_steps_and_blocks)
{
    struct rerun again;
    struct run_config c = run_config_default();
    const struct source_config source = source_config_default(); /* as fast as possible */
    run_visit(true);
    cr_assert_eq(rerun_open(&again, r->path), ERR_OK);
    cr_assert_eq(rerun_set_up(&again, &c.session), ERR_OK);
    fill_hooks(&c.session, &r->is);
    c.is_rerun = true;
    run_init(&r->run, &c);
    cr_assert_eq(run_open(&r->run, r->path, &source), ERR_OK, "%s", message_english(&r->run.why));
    cr_assert_eq(run_begin(&r->run), ERR_OK);
    while (!atomic_load(&r->run.reader.has_ended))
        monotime_sleep_us(1000);
    cr_assert_eq(run_end(&r->run, (double) NAN), ERR_OK);
    cr_expect_eq(compare_steps(), 0, "%d and %d steps", r->was.n_steps, r->is.n_steps);
    cr_expect_eq(compare_blocks(), 0);
    cr_expect_eq(compare_targets(), 0);
    rerun_close(&again);
}

/* A visit of 12 s. */
static void
run_short(void)
{
    const uint8_t *bytes;
    memset(&r->was, 0, sizeof r->was);
    r->n_done = 0;
    set_up(false);
    while (r->mimic.board.t_s < 12) {
        const int n = mimic_step(&r->mimic, &bytes);
        act(r->mimic.board.t_s);
        run_feed(&r->run, bytes, (size_t) n, (struct host_time){ units_us_from_s(r->mimic.board.t_s) + 1 });
    }
    run_finish(&r->run);
    cr_assert_eq(run_end(&r->run, 12), ERR_OK, "%s", message_english(&r->run.why));
}

/* A plain file stands where the recordings would lie. */
Test(rerun, a_visit_that_cannot_be_recorded_goes_on_and_says_so)
{
    struct store s;
    struct store_visit v;
    char command[256];
    struct message says;
    snprintf(command, sizeof command, "mkdir '%s/data' && touch '%s/data/recordings'", r->files.folder, r->files.folder);
    cr_assert_eq(system(command), 0);
    run_short();
    cr_expect(run_take_unrecorded(&r->run, &says));
    const char *words = message_english(&says);
    cr_expect(strstr(words, "not recorded") && strstr(words, "recordings"), "%s", words);
    cr_expect(!run_take_unrecorded(&r->run, &says), "once");
    cr_expect_str_empty(r->run.record.kept_path);
    cr_assert_eq(store_open(&s, r->files.path, STORE_MUST_EXIST), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_visit_get(&s, r->run.visit.row.id, &v), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
    cr_expect(v.is_finished && v.n_steps > 20 && v.n_dropped == 0);
}

Test(rerun, the_keep_rule_is_applied_as_a_visit_ends_and_told)
{
    char command[256];
    run_short();
    strcpy(r->path, r->run.record.kept_path);
    cr_expect(message_is_none(&r->run.tidied));
    cr_expect_eq(access(r->path, R_OK), 0);
    snprintf(command, sizeof command, "printf '[recordings]\nkeep_visits = 1\n' > '%s/data/settings.ini'", r->files.folder);
    cr_assert_eq(system(command), 0);
    run_short();
    cr_expect(strstr(message_english(&r->run.tidied), "1 old recording went, of visits 1 to 1, "), "%s", message_english(&r->run.tidied));
    cr_expect_neq(access(r->path, F_OK), 0, "the older one is gone");
    cr_expect_eq(access(r->run.record.kept_path, R_OK), 0, "and the newer one is there");
}

/* A sensor that was opened, and no visit: as when the physio goes back. */
Test(rerun, what_never_became_a_visit_leaves_nothing)
{
    const uint8_t *bytes;
    set_up(true);
    while (r->mimic.board.t_s < 1) {
        const int n = mimic_step(&r->mimic, &bytes);
        run_feed(&r->run, bytes, (size_t) n, (struct host_time){ units_us_from_s(r->mimic.board.t_s) + 1 });
    }
    strcpy(r->path, r->run.record.kept_path);
    cr_assert_eq(access(r->path, R_OK), 0, "%s", r->path);
    run_finish(&r->run);
    cr_assert_eq(run_end(&r->run, (double) NAN), ERR_OK);
    cr_expect_neq(access(r->path, F_OK), 0);
    snprintf(r->path, sizeof r->path, "%s/data", r->files.folder);
    cr_expect_neq(access(r->path, F_OK), 0, "nor the folder that was made for it");
}

Test(rerun, packets_that_were_lost_stand_in_the_visits_row)
{
    struct store s;
    struct store_visit v;
    run_visit(false);
    cr_assert_eq(store_open(&s, r->files.path, STORE_MUST_EXIST), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_visit_get(&s, r->run.visit.row.id, &v), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
    cr_assert_eq(r->n_unheard, 575, "0.6 s and 1.7 s of 250 Hz"); /* computed */
    cr_expect_eq(v.n_lost_packets, r->n_unheard, "%d", (int) v.n_lost_packets);
}
