/* test_simulated_runs.c - `underfoot steps` on simulated recordings of the hard kinds (aid/simulated_run.h) against the
 * simulator's truth. Always runs; test_recorded.c does the like on recordings that others made, where they are.
 *
 * Tolerances are the product's promise on recorded data (test_recorded.c): every step once, every side right, contact
 * within 2 ms on average. Where a kind gets another one, bounds_of() says why.
 */
#include "aid/process.h"
#include "aid/simulated_run.h"
#include "aid/step_table.h"
#include "aid/store_rig.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static struct store_rig RIG;
static struct step_table MINE, TRUTH;

static void
setup(void)
{
    cr_assert_eq(store_rig_make(&RIG), 0);
}

static void
teardown(void)
{
    store_rig_remove(&RIG);
}

TestSuite(simulated_runs, .init = setup, .fini = teardown);

struct bounds {
    double down_ms, contact_ms, peak_bw, ahead_mm, index_pct;
};

static struct bounds
bounds_of(const struct simulated_run *run)
{
    struct bounds b = { .down_ms = 2.0, .contact_ms = 2.0, .peak_bw = 0.03, .ahead_mm = 10.0, .index_pct = 6.0 };
    if (run->strike_index_pct > 60)
        /* the place is a mean over 25 ms, in which the pressure under a forefoot has begun to run to the heel */
        b.ahead_mm = 20.0;
    if (run->slope_deg < 0 || run->slope_deg > 0) {
        /* the low-pass is the recording's own: it spreads a hard landing by some ms */
        b.down_ms = 6.0;
        b.contact_ms = 6.5;
    }
    return b;
}

/* Makes kind k and measures it. */
static const struct simulated_run *
measure(int k)
{
    const struct simulated_run *run = simulated_run_at(k);
    char words[512], path[256];
    if (run == NULL)
        return NULL;
    cr_assert(simulated_run_write(run, RIG.folder), "%s can't be written", run->name);
    simulated_run_words(run, RIG.folder, words, sizeof words);
    snprintf(path, sizeof path, "%s/%s_truth.csv", RIG.folder, run->name);
    step_table_load(path, &TRUTH);
    step_table_measure(words, &MINE);
    return run;
}

static bool
is_in_hole(const struct simulated_run *run, const struct step_row *r)
{
    return r->toeoff_s > run->hole_from_s && r->touchdown_s < run->hole_to_s;
}

static void
expect_same_steps(const struct simulated_run *run)
{
    int n_found = 0, n_in_hole = 0;
    cr_expect_gt(TRUTH.n_rows, 20, "%s: %d steps are no test", run->name, TRUTH.n_rows);
    for (int i = 0; i < TRUTH.n_rows; i++) {
        const struct step_row *o = &TRUTH.rows[i], *a = step_table_find(&MINE, o);
        n_in_hole += is_in_hole(run, o);
        n_found += a != NULL;
        cr_expect(a != NULL || is_in_hole(run, o), "%s: no step at %.3f s", run->name, o->touchdown_s);
        cr_expect(a == NULL || a->is_running, "%s: the step at %.3f s is not called running", run->name,
                  o->touchdown_s);
    }
    cr_expect_eq(MINE.n_rows, n_found, "%s: %d steps, %d of them are true", run->name, MINE.n_rows, n_found);
    cr_expect_geq(n_found, TRUTH.n_rows - n_in_hole);
    cr_expect_eq(n_in_hole > 0, run->hole_to_s > run->hole_from_s, "%s: %d steps in its hole", run->name, n_in_hole);
}

Test(simulated_runs, every_step_of_every_hard_kind_is_found_and_none_is_made_up)
{
    const struct simulated_run *run;
    for (int k = 0; (run = measure(k)) != NULL; k++)
        if (!run->is_walking)
            expect_same_steps(run);
}

Test(simulated_runs, times_and_peak_are_the_truths)
{
    const struct simulated_run *run;
    for (int k = 0; (run = measure(k)) != NULL; k++) {
        const struct bounds b = bounds_of(run);
        if (run->is_walking)
            continue;
        const double down_ms = 1e3 * STEP_TABLE_DIFFERENCE(&MINE, &TRUTH, touchdown_s);
        const double contact_ms = STEP_TABLE_DIFFERENCE(&MINE, &TRUTH, contact_ms);
        const double peak_bw = STEP_TABLE_DIFFERENCE(&MINE, &TRUTH, peak_force_bw);
        cr_expect(down_ms <= b.down_ms, "%s: touchdown off by %.2f ms", run->name, down_ms);
        cr_expect(contact_ms <= b.contact_ms, "%s: contact off by %.2f ms", run->name, contact_ms);
        cr_expect(peak_bw <= b.peak_bw, "%s: peak off by %.4f BW", run->name, peak_bw);
    }
}

static void
expect_place(const struct simulated_run *run)
{
    const struct bounds b = bounds_of(run);
    const double ahead_mm = STEP_TABLE_DIFFERENCE(&MINE, &TRUTH, landing_ahead_mm);
    cr_expect(ahead_mm <= b.ahead_mm, "%s: landing ahead off by %.1f mm", run->name, ahead_mm);
    for (const char *side = "LR"; *side; side++) {
        const double index = step_table_median_index(&MINE, *side), truth = step_table_median_index(&TRUTH, *side);
        cr_expect(fabs(index - truth) <= b.index_pct, "%s: strike index of %c is %.1f, truly %.1f", run->name, *side,
                  index, truth);
    }
}

Test(simulated_runs, sides_landing_and_strike_index_are_the_truths_where_the_cop_is_seen)
{
    const struct simulated_run *run;
    for (int k = 0; (run = measure(k)) != NULL; k++) {
        if (!run->has_cop)
            continue;
        for (int i = 0; i < MINE.n_rows; i++) {
            const struct step_row *o = step_table_find(&TRUTH, &MINE.rows[i]);
            cr_expect(o != NULL && o->side == MINE.rows[i].side, "%s: the step at %.3f s is of the other foot", run->name,
                      MINE.rows[i].touchdown_s);
        }
        expect_place(run);
    }
}

Test(simulated_runs, no_side_and_no_landing_is_made_up_where_there_is_no_cop)
{
    const struct simulated_run *run;
    for (int k = 0; (run = measure(k)) != NULL; k++)
        for (int i = 0; i < MINE.n_rows && !run->has_cop; i++) {
            cr_expect_eq(MINE.rows[i].side, 0, "%s: step %d has a side", run->name, i + 1);
            cr_expect(isnan(MINE.rows[i].landing_ahead_mm), "%s: step %d has a landing", run->name, i + 1);
        }
}

Test(simulated_runs, a_walk_is_called_one_and_holds_no_running_step)
{
    const struct simulated_run *run;
    char options[600], text[4096];
    struct process p;
    for (int k = 0; (run = measure(k)) != NULL; k++) {
        if (!run->is_walking)
            continue;
        cr_expect_gt(TRUTH.n_rows, 20, "%d steps are no test", TRUTH.n_rows);
        cr_expect_eq(MINE.n_rows, 0, "%d steps made of a walk", MINE.n_rows);
        snprintf(options, sizeof options, "steps %s/%s.csv --mass 70 --summary", RIG.folder, run->name);
        cr_expect_eq(process_run_words(&p, RIG.folder, 20000, options), 0);
        cr_expect(strstr(process_read(p.out_path, text, sizeof text), "\"gait\": \"walking\""), "%s", text);
    }
}

Test(simulated_runs, the_same_kind_is_made_bit_for_bit_again)
{
    static char first[200000], again[200000];
    char path[256];
    const struct simulated_run *run = simulated_run_at(0);
    snprintf(path, sizeof path, "%s/%s.csv", RIG.folder, run->name);
    cr_assert(simulated_run_write(run, RIG.folder));
    cr_assert_gt(strlen(process_read(path, first, sizeof first)), 100000);
    cr_assert(simulated_run_write(run, RIG.folder));
    cr_expect_str_eq(process_read(path, again, sizeof again), first);
}
