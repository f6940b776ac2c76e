/* A whole course of eight visits by a shipped plan: the simulated runner through board, wire, pipeline, coach, visit flow,
 * writer and store to the course's figures, in virtual time at full pace. The runner's learning is given: before visit k
 * the share of the way to the target that stayed is CARRY[k]. What the course says must come out as that. Minutes are a
 * fifth of the plan's, so that the test takes seconds; but for the silent ones, that tell which change is real. */
#include "aid/store_file.h"
#include "aid/store_rig.h"
#include "care/next_visit.h"
#include "cli/demo.h"
#include "cli/mimic.h"
#include "coach/plan_file.h"
#include "coach/visit_flow.h"
#include "report/course.h"
#include "report/page.h"
#include "visit/run.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PLAN "profiles/plans/eight-faded.ini"
#define CODE "R-014"
#define N_VISITS 8
#define SHORTER 5.0
#define RATE_HZ 250
#define GAIN 0.9

static const double CARRY[N_VISITS] = { 0, 0.18, 0.33, 0.45, 0.55, 0.63, 0.69, 0.74 };

/* What was true of a visit. */
struct truth {
    double baseline_sum, own_spm;
    int n_baseline;
    double shown_s, coached_s; /* as the runner was shown it */
};

struct rig {
    struct store_rig files;
    struct plan_file plan;
    struct mimic mimic;
    struct run run;
    struct visit_flow flow;
    struct verdict verdict;
    struct sense_profile profile;
    struct truth truth[N_VISITS];
    struct truth *now;
    uint64_t n_truths;
    double stop_at_s, quit_block;
};

static struct rig *r; /* one a test process */

static void
make_rig(void)
{
    struct message why;
    r = calloc(1, sizeof *r);
    cr_assert(r);
    cr_assert_eq(store_rig_make(&r->files), 0);
    cr_assert_eq(plan_file_load(&r->plan, PLAN, &why), ERR_OK, "%s", message_english(&why));
    for (int i = 0; i < r->plan.n_visits; i++)
        for (int k = 0; k < r->plan.visit[i].n_blocks; k++)
            if (r->plan.visit[i].block[k].kind != VERDICT_BLOCK_BASELINE && r->plan.visit[i].block[k].kind != VERDICT_BLOCK_SILENT)
                r->plan.visit[i].block[k].minutes /= SHORTER;
    r->stop_at_s = (double) INFINITY;
}

static void
remove_rig(void)
{
    store_rig_remove(&r->files);
    free(r);
}

TestSuite(course, .init = make_rig, .fini = remove_rig, .timeout = 500);

static void
ask(void *user, struct mimic_feedback *out)
{
    (void) user;
    *out = demo_feedback(&r->verdict);
    if (r->verdict.block == VERDICT_BLOCK_COACHED) {
        r->now->coached_s += 0.1;
        r->now->shown_s += r->verdict.is_feedback_shown ? 0.1 : 0;
    }
}

static void
set_up(const struct next_visit *next, double carry)
{
    struct mimic_config m = mimic_config_default();
    m.board = board_config_default(FRAME_KIND_CELLS);
    m.board.rate_hz = RATE_HZ;
    m.runner.seed = 100 + (uint64_t) next->visit;
    m.runner.style.response = (struct runner_response){ .gain = GAIN, .tau_s = 12, .keep_share = 1, .forget_tau_s = 60 };
    m.ask = ask;
    mimic_init(&r->mimic, &m);
    r->mimic.runner.level = r->mimic.runner.level_best = carry;
    demo_profile(&r->mimic, &r->profile);

    struct run_config c = run_config_default();
    struct pipeline_config *p = &c.session.pipeline;
    p->profile = &r->profile;
    p->body_mass_kg = m.runner.style.mass_kg;
    p->foot_length_mm = m.runner.style.foot_length_mm;
    p->leg_length_mm = m.runner.style.leg_length_mm;
    p->belt_speed_m_s = m.runner.style.speed_m_s;
    plan_file_visit_plan(&r->plan, next->visit, m.runner.style.speed_m_s, &p->coach.plan);
    /* The simulated belt runs at one speed: no block may say another. */
    for (int i = 0; i < p->coach.plan.n_blocks; i++)
        p->coach.plan.block[i].belt_speed_m_s = m.runner.style.speed_m_s;
    p->coach.cadence_rule = r->plan.rule;
    p->coach.is_waiting = true;
    p->coach.n_targets = next->n_targets;
    p->coach.focus = next->focus;
    memcpy(p->coach.target, next->target, sizeof next->target);
    c.is_stored = c.is_virtual = true;
    c.visit = (struct visit_config){ .store_path = r->files.path, .runner_code = CODE,
                                     .belt_speed_m_s = p->belt_speed_m_s, .body_mass_kg = p->body_mass_kg,
                                     .foot_length_mm = p->foot_length_mm, .leg_length_mm = p->leg_length_mm,
                                     .n_targets = next->n_targets, .targets = next->target, .focus = next->focus,
                                     .course_visit = next->visit, .pain_before = (double) NAN };
    strcpy(c.visit.plan, r->plan.id);
    run_init(&r->run, &c);
}

/* As the panel does it: each command and pain of the flow, in order. */
static void
pass_on(void)
{
    struct command command;
    struct visit_flow_pain pain;
    while (visit_flow_take_command(&r->flow, &command))
        cr_assert(run_command(&r->run, &command));
    while (r->run.is_begun && visit_flow_take_pain(&r->flow, &pain))
        cr_assert(run_put_pain(&r->run, &pain));
}

/* What a physio does before the run, as soon as it can be done. */
static void
do_before(void)
{
    struct message why;
    if (r->flow.phase == VISIT_FLOW_PAIN_BEFORE)
        cr_assert(visit_flow_pain(&r->flow, 1));
    if (r->flow.phase < VISIT_FLOW_RUN)
        visit_flow_next(&r->flow, &why);
}

static void
take_truth(void)
{
    if (r->mimic.n_truths == r->n_truths)
        return;
    r->n_truths = r->mimic.n_truths;
    if (r->verdict.block == VERDICT_BLOCK_BASELINE && !isnan(r->mimic.last.cadence_spm)) {
        r->now->baseline_sum += r->mimic.last.cadence_spm;
        r->now->n_baseline++;
    }
}

/* One visit from the sensor check to its saving. */
static void
run_visit(const struct next_visit *next, double carry, struct truth *truth)
{
    struct message why;
    const uint8_t *bytes;
    r->now = truth;
    r->n_truths = 0;
    memset(&r->verdict, 0, sizeof r->verdict);
    visit_flow_init(&r->flow, &(struct visit_flow_config){ .pain_limit = 5 });
    set_up(next, carry);
    while (r->flow.phase < VISIT_FLOW_AFTER && r->mimic.board.t_s < 3600) {
        const int n = mimic_step(&r->mimic, &bytes);
        const struct host_time at = { units_us_from_s(r->mimic.board.t_s) };
        if (n > 0)
            run_feed(&r->run, bytes, (size_t) n, at);
        if (!r->run.is_begun && run_is_ready(&r->run))
            cr_assert_eq(run_begin(&r->run), ERR_OK, "%s", message_english(&r->run.why));
        take_truth();
        if (!run_take_verdict(&r->run, &r->verdict))
            continue;
        visit_flow_feed(&r->flow, &r->verdict);
        pass_on();
        do_before();
        if (r->mimic.board.t_s > r->stop_at_s)
            visit_flow_stop(&r->flow);
    }
    cr_assert_eq(r->flow.phase, VISIT_FLOW_AFTER, "the plan comes to its end");
    cr_assert(visit_flow_pain(&r->flow, 2) && visit_flow_effort(&r->flow, 5));
    cr_assert(visit_flow_next(&r->flow, &why));
    pass_on();
    run_finish(&r->run);
    cr_assert_eq(run_end(&r->run, r->mimic.board.t_s), ERR_OK, "%s", message_english(&r->run.why));
    cr_assert_eq(r->run.visit.writer.status.n_dropped, 0);
}

static void
find_next(struct next_visit *next)
{
    struct store s;
    struct store_runner runner = { .id = 0 };
    const enum err err = store_open(&s, r->files.path, STORE_MUST_EXIST);
    cr_assert(err == ERR_OK || (err == ERR_GONE && r->truth[0].n_baseline == 0), "%s", message_english(&s.why));
    if (err == ERR_OK)
        cr_assert_eq(store_runner_get(&s, CODE, &runner), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(next_visit_find(&s, runner.id, &r->plan, next), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
}

static void
load_course(struct course *c)
{
    struct store s;
    cr_assert_eq(store_open(&s, r->files.path, STORE_MUST_EXIST), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(course_of_runner(&s, CODE, NULL, c), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
}

static void
check_blocks(const struct course_visit *v, int i)
{
    static const enum verdict_block kinds[] = { VERDICT_BLOCK_PAUSED,  VERDICT_BLOCK_WARM_UP, VERDICT_BLOCK_BASELINE,
                                                VERDICT_BLOCK_COACHED, VERDICT_BLOCK_SILENT,  VERDICT_BLOCK_COOL_DOWN,
                                                VERDICT_BLOCK_ENDED };
    static const double share[N_VISITS] = { 1, 1, 1, 1, 0.8, 0.6, 0.4, 0.2 };
    cr_assert_eq(v->n_blocks, 7, "visit %d has %d blocks", i + 1, v->n_blocks);
    for (int k = 0; k < 7; k++)
        cr_assert_eq(v->block[k].kind, kinds[k], "visit %d, block %d", i + 1, k);
    const struct course_block *coached = &v->block[3];
    const double minutes = 15 + 15.0 * i / 7;
    cr_assert_float_eq(coached->length_s, 60 * minutes / SHORTER, 0.5, "visit %d", i + 1);
    cr_assert_float_eq(coached->shown_share, share[i], 1e-9);
    /* And so it was shown: to a tenth of a second in each window. */
    cr_assert_float_eq(r->truth[i].shown_s / r->truth[i].coached_s, share[i], 0.02, "visit %d: %g", i + 1,
                       r->truth[i].shown_s / r->truth[i].coached_s);
}

/* Targets come from the first baseline, and stay. */
static void
check_targets(const struct course *c, int i)
{
    const struct store_target_set *set = &c->visit[i].targets;
    cr_assert_gt(set->n, 0, "visit %d", i + 1);
    cr_assert_eq(set->id, c->visit[0].targets.id, "visit %d has targets of its own", i + 1);
    cr_assert_eq(set->target[0].metric, METRIC_CADENCE_SPM);
    cr_assert(set->target[0].is_focus && set->target[0].is_change);
    const double middle = 0.5 * (set->target[0].low + set->target[0].high);
    cr_assert_float_eq(middle / c->visit[0].baseline[METRIC_CADENCE_SPM].mean, 1.05, 0.003);
    for (int k = 0; k < c->visit[i].n_blocks; k++)
        if (i > 0 || k > 2)
            cr_assert_eq(c->visit[i].block[k].target_set_id, set->id, "visit %d, block %d", i + 1, k);
}

static void
check_learning(const struct course *c, int i)
{
    const struct course_visit *v = &c->visit[i];
    const double truth = r->truth[i].baseline_sum / r->truth[i].n_baseline;
    const double own = r->truth[0].baseline_sum / r->truth[0].n_baseline;
    const struct store_target *t = &v->targets.target[0];
    const double expected = own + CARRY[i] * GAIN * (0.5 * (t->low + t->high) - own);
    const double got = v->baseline[METRIC_CADENCE_SPM].mean;
    cr_assert_float_eq(got, truth, 0.2, "visit %d: %.2f measured, %.2f true", i + 1, got, truth);
    cr_assert_float_eq(got, expected, 0.6, "visit %d: %.2f measured, %.2f by the learning curve", i + 1, got, expected);
    const struct course_change *stayed = &v->baseline_from_first[METRIC_CADENCE_SPM];
    cr_assert_float_eq(stayed->by, got - c->visit[0].baseline[METRIC_CADENCE_SPM].mean, 1e-9);
    if (i == 0)
        cr_assert(!stayed->is_real);
    if (CARRY[i] > 0.4)
        cr_assert(stayed->is_real, "visit %d: %.2f kept, real from %.2f", i + 1, stayed->by, c->mdc[METRIC_CADENCE_SPM]);
    cr_assert_gt(v->band[METRIC_CADENCE_SPM].shown_pct, 80, "visit %d: %.0f", i + 1, v->band[METRIC_CADENCE_SPM].shown_pct);
}

Test(course, eight_visits_fade_hold_their_targets_and_carry_over_as_simulated)
{
    struct course c;
    struct next_visit next;
    char path[160];
    struct message why;
    for (int i = 0; i < N_VISITS; i++) {
        find_next(&next);
        cr_assert_eq(next.visit, i + 1, "%d after %d, done %d, repeat %d", next.visit, i, next.n_done, next.is_repeat);
        cr_assert(!next.is_repeat);
        cr_assert_eq(next.n_targets > 0, i > 0);
        run_visit(&next, CARRY[i], &r->truth[i]);
    }
    find_next(&next);
    cr_assert_eq(next.visit, 0, "the course is over");
    load_course(&c);
    cr_assert_eq(c.n_visits, N_VISITS);
    cr_assert_str_eq(c.plan, "eight-faded");
    cr_assert(c.mdc[METRIC_CADENCE_SPM] > 0.05 && c.mdc[METRIC_CADENCE_SPM] < 3, "%g", c.mdc[METRIC_CADENCE_SPM]);
    for (int i = 0; i < N_VISITS; i++) {
        check_blocks(&c.visit[i], i);
        check_targets(&c, i);
        check_learning(&c, i);
        cr_assert(c.visit[i].pain_before == 1 && c.visit[i].pain_after == 2 && c.visit[i].effort == 5);
        cr_assert_eq(c.visit[i].dose_grew, DOSE_IS_STEADY, "visit %d grew by a seventh", i + 1);
    }
    snprintf(path, sizeof path, "%s/course.pdf", r->files.folder);
    cr_assert_eq(page_course(&c, NULL, path, &why), ERR_OK, "%s", message_english(&why));
    const char *keep = getenv("UNDERFOOT_KEEP_COURSE"); /* a folder for a look at what came out */
    if (keep) {
        snprintf(path, sizeof path, "cp %s %s", r->files.path, keep);
        cr_assert_eq(system(path), 0);
    }
    course_destroy(&c);
}

Test(course, a_visit_cut_short_is_kept_as_such_and_comes_again)
{
    struct next_visit next;
    struct course c;
    find_next(&next);
    r->stop_at_s = 300; /* in the coached block */
    run_visit(&next, 0, &r->truth[0]);
    cr_assert(r->flow.is_cut_short);
    find_next(&next);
    cr_assert(next.visit == 1 && next.is_repeat && next.n_done == 0);
    cr_assert_gt(next.n_targets, 0, "its targets are kept for the next try");
    load_course(&c);
    cr_assert(c.visit[0].visit.is_cut_short && c.visit[0].visit.is_finished);
    cr_assert_eq(c.visit[0].n_blocks, 4);
    course_destroy(&c);
}

/* The second visit was begun in another time zone, and the computer's clock had been set back by a year. */
Test(course, zones_and_clocks_change_nothing_of_the_order)
{
    struct next_visit next;
    struct course c;
    for (int i = 0; i < 3; i++) {
        find_next(&next);
        cr_assert_eq(next.visit, i + 1, "%d after %d, done %d, repeat %d", next.visit, i, next.n_done, next.is_repeat);
        r->stop_at_s = i == 2 ? 250 : (double) INFINITY;
        run_visit(&next, CARRY[i], &r->truth[i]);
        if (i == 1)
            store_file_sql(r->files.path, "UPDATE visit SET zone_offset_min = -600, started_utc_ms = started_utc_ms"
                                          " - 31536000000, ended_utc_ms = ended_utc_ms - 31536000000 WHERE id = 2");
    }
    find_next(&next);
    cr_assert(next.visit == 3 && next.is_repeat, "the third again, not the second");
    load_course(&c);
    for (int i = 0; i < 3; i++)
        cr_assert_eq(c.visit[i].visit.course_visit, i + 1);
    cr_assert_eq(c.visit[1].visit.zone_offset_min, -600);
    course_destroy(&c);
}
