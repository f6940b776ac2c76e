/* test_recorded.c - `underfoot steps` on windows of recorded runs that others made, against the step tables of an
 * independent reference (tests/reference, SciPy) whose sides the body markers confirm.
 *
 * The recordings are no part of this repository: aid/recordings.h finds them, and each test here says `skipped` where
 * they are not. What is expected of them is: tests/data/cuts.csv lists the windows, <cut>.expected the steps.
 * Tolerances are the product's promise on recorded data: counts equal, every side right, contact
 * within 2 ms on average, and looser bounds that only catch blunders for what the full comparison
 * (tests/reference/compare.py --strict, on the whole recordings) measures better.
 */
#include "aid/recordings.h"
#include "aid/step_table.h"
#include "aid/store_rig.h"

#include <criterion/criterion.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DATA        "tests/data" /* from the repository's root */
#define MAX_LINE    1024
#define MAX_CUTS    32
#define N_CUT_CELLS 10
#define THRESHOLD_N "50"

static struct store_rig RIG;

struct cut {
    char name[32], file[64], from[16], to[16], rate[16], mass[16], speed[16], foot[16], label_left[16], label_right[16];
};

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

TestSuite(recorded, .init = setup, .fini = teardown);

/* The windows whose recordings are here; says how many are not, and skips the test where none is. */
static int
load_cuts(struct cut *cuts)
{
    char path[256], line[MAX_LINE], *cells[N_CUT_CELLS];
    FILE *in = fopen(DATA "/cuts.csv", "r");
    cr_assert_not_null(in, DATA "/cuts.csv is not there: run from the repository's root");
    int n = 0, n_lost = 0;
    cr_assert_not_null(fgets(line, sizeof line, in));
    while (n < MAX_CUTS && fgets(line, sizeof line, in) != NULL) {
        struct cut *c = &cuts[n];
        char *fields[N_CUT_CELLS] = { c->name, c->file,  c->from, c->to,         c->rate,
                                      c->mass, c->speed, c->foot, c->label_left, c->label_right };
        cr_assert_eq(step_table_split(line, cells, N_CUT_CELLS), N_CUT_CELLS);
        for (int i = 0; i < N_CUT_CELLS; i++)
            snprintf(fields[i], i == 0 ? sizeof c->name : i == 1 ? sizeof c->file : sizeof c->rate, "%s", cells[i]);
        *(recordings_find(c->file, path, sizeof path) ? &n : &n_lost) += 1;
    }
    fclose(in);
    cr_assert_gt(n + n_lost, 10, "only %d cuts", n + n_lost);
    if (n_lost > 0)
        printf("skipped: %d of %d recordings are not in %s\n", n_lost, n + n_lost, recordings_folder());
    if (n == 0) {
        store_rig_remove(&RIG);
        cr_skip_test("no recordings");
    }
    return n;
}

static void
reference_of(const char *name, struct step_table *table)
{
    char path[256];
    snprintf(path, sizeof path, DATA "/%s.expected", name);
    step_table_load(path, table);
    cr_assert_gt(table->n_rows, 10, "%s expects too little to be a test", path);
}

/* Writes the window's rows, digit by digit, into the rig's folder. */
static void
cut_out(const struct cut *c, char *target, size_t cap)
{
    char source[256], line[MAX_LINE];
    cr_assert(recordings_find(c->file, source, sizeof source));
    snprintf(target, cap, "%s/%s.csv", RIG.folder, c->name);
    FILE *in = fopen(source, "r"), *out = fopen(target, "w");
    cr_assert(in != NULL && out != NULL);
    for (bool is_header = true; fgets(line, sizeof line, in) != NULL; is_header = false)
        if (is_header || (atof(line) >= atof(c->from) && atof(line) < atof(c->to)))
            fputs(line, out);
    fclose(in);
    fclose(out);
}

static void
steps_of(const struct cut *c, struct step_table *table)
{
    char path[128], words[512];
    cut_out(c, path, sizeof path);
    snprintf(words, sizeof words, "'%s' --rate %s --mass %s --speed %s --threshold " THRESHOLD_N "%s%s", path, c->rate,
             c->mass, c->speed, *c->foot ? " --foot " : "", c->foot);
    step_table_measure(words, table);
}

static bool
has_cop(const struct cut *c)
{
    return strncmp(c->name, "RBDS", 4) == 0; /* the hard traces and the slope runs are force alone */
}

Test(recorded, every_step_of_every_cut_is_found_and_none_is_made_up)
{
    struct cut cuts[MAX_CUTS];
    int n = load_cuts(cuts);
    for (int i = 0; i < n; i++) {
        struct step_table mine, theirs;
        steps_of(&cuts[i], &mine);
        reference_of(cuts[i].name, &theirs);
        cr_expect_eq(mine.n_rows, theirs.n_rows, "%s: %d steps, the reference has %d", cuts[i].name,
                     mine.n_rows, theirs.n_rows);
        for (int k = 0; k < theirs.n_rows; k++)
            cr_expect_not_null(step_table_find(&mine, &theirs.rows[k]), "%s: no step at %.3f s", cuts[i].name,
                               theirs.rows[k].touchdown_s);
        for (int k = 0; k < mine.n_rows; k++)
            cr_expect(mine.rows[k].is_running, "%s: step %d is not called running", cuts[i].name, k + 1);
    }
}

Test(recorded, every_side_is_the_one_that_the_markers_saw)
{
    struct cut cuts[MAX_CUTS];
    int n = load_cuts(cuts), n_compared = 0;
    for (int i = 0; i < n; i++) {
        struct step_table mine, theirs;
        if (!has_cop(&cuts[i]))
            continue;
        steps_of(&cuts[i], &mine);
        reference_of(cuts[i].name, &theirs);
        for (int k = 0; k < theirs.n_rows; k++, n_compared++) {
            const struct step_row *a = step_table_find(&mine, &theirs.rows[k]);
            cr_expect(a != NULL && a->side == theirs.rows[k].side, "%s: the step at %.3f s is %c",
                      cuts[i].name, theirs.rows[k].touchdown_s, theirs.rows[k].side);
        }
    }
    cr_assert_gt(n_compared, 15 * n / 2, "%d sides of %d runs are no test", n_compared, n);
}

Test(recorded, no_side_is_made_up_where_there_is_no_cop)
{
    struct cut cuts[MAX_CUTS];
    int n = load_cuts(cuts);
    for (int i = 0; i < n; i++) {
        struct step_table mine;
        if (has_cop(&cuts[i]))
            continue;
        steps_of(&cuts[i], &mine);
        for (int k = 0; k < mine.n_rows; k++) {
            cr_expect_eq(mine.rows[k].side, 0, "%s: step %d has a side", cuts[i].name, k + 1);
            cr_expect(isnan(mine.rows[k].landing_ahead_mm), "%s: step %d has a landing", cuts[i].name, k + 1);
        }
    }
}

Test(recorded, contact_times_lie_within_2_ms_of_the_reference)
{
    struct cut cuts[MAX_CUTS];
    int n = load_cuts(cuts);
    for (int i = 0; i < n; i++) {
        struct step_table mine, theirs;
        steps_of(&cuts[i], &mine);
        reference_of(cuts[i].name, &theirs);
        double contact = STEP_TABLE_DIFFERENCE(&mine, &theirs, contact_ms);
        double down = 1e3 * STEP_TABLE_DIFFERENCE(&mine, &theirs, touchdown_s);
        cr_expect(contact <= 2.0, "%s: contact differs by %.2f ms", cuts[i].name, contact);
        cr_expect(down <= 2.0, "%s: touchdown differs by %.2f ms", cuts[i].name, down);
    }
}

Test(recorded, spikes_and_drift_leave_the_clean_steps)
{
    static const char *const hard[] = { "hard_spikes", "hard_drift" };
    struct cut cuts[MAX_CUTS];
    struct step_table clean = { 0 };
    int n = load_cuts(cuts), n_hard = 0, n_found = 0;
    for (int i = 0; i < n; i++) {
        if (strcmp(cuts[i].name, "RBDS001_T25") == 0)
            steps_of(&cuts[i], &clean);
        n_hard += strncmp(cuts[i].name, "hard_", 5) == 0;
    }
    for (int i = 0; i < n; i++) {
        struct step_table mine;
        if (strcmp(cuts[i].name, hard[0]) != 0 && strcmp(cuts[i].name, hard[1]) != 0)
            continue;
        n_found++;
        steps_of(&cuts[i], &mine);
        double down = 1e3 * STEP_TABLE_DIFFERENCE(&mine, &clean, touchdown_s);
        double off = 1e3 * STEP_TABLE_DIFFERENCE(&mine, &clean, toeoff_s);
        cr_expect_eq(mine.n_rows, clean.n_rows, "%s: %d steps of %d", cuts[i].name, mine.n_rows,
                     clean.n_rows);
        cr_expect(down <= 2.0 && off <= 2.5, "%s: touchdown off by %.2f, toe-off by %.2f ms", cuts[i].name,
                  down, off);
    }
    cr_assert_eq(n_found, n_hard);
}

Test(recorded, landing_ahead_and_peak_force_are_near_the_reference)
{
    struct cut cuts[MAX_CUTS];
    int n = load_cuts(cuts);
    for (int i = 0; i < n; i++) {
        struct step_table mine, theirs;
        steps_of(&cuts[i], &mine);
        reference_of(cuts[i].name, &theirs);
        double peak = STEP_TABLE_DIFFERENCE(&mine, &theirs, peak_force_bw);
        cr_expect(peak <= 0.03, "%s: peak differs by %.4f BW", cuts[i].name, peak);
        if (!has_cop(&cuts[i]))
            continue;
        double ahead = STEP_TABLE_DIFFERENCE(&mine, &theirs, landing_ahead_mm);
        cr_expect(ahead <= 15.0, "%s: landing ahead differs by %.1f mm", cuts[i].name, ahead);
    }
}

Test(recorded, feet_are_rear_or_not_as_the_published_labels_have_it)
{
    struct cut cuts[MAX_CUTS];
    int n = load_cuts(cuts), n_feet = 0, n_agree = 0;
    for (int i = 0; i < n; i++) {
        struct step_table mine;
        if (!has_cop(&cuts[i]))
            continue;
        steps_of(&cuts[i], &mine);
        for (int k = 0; k < 2; k++) {
            double index = step_table_median_index(&mine, k == 0 ? 'L' : 'R');
            bool is_rear = strcmp(k == 0 ? cuts[i].label_left : cuts[i].label_right, "Rearfoot") == 0;
            n_feet++;
            n_agree += !isnan(index) && (index < 100.0 / 3.0) == is_rear;
        }
    }
    cr_expect(n_agree * 100 >= n_feet * 88, "%d of %d feet agree", n_agree, n_feet);
}

/* Runs one of the Python checks; true when it passes. Skips the test where SciPy is not there. What it skips itself it
 * says. */
static bool
python_passes(const char *script)
{
    char command[512];
    if (system("/usr/bin/python3 -c 'import scipy' 2>/dev/null") != 0) {
        printf("skipped %s: no python3-scipy here\n", script);
        store_rig_remove(&RIG);
        cr_skip_test("no python3-scipy");
    }
    fflush(stdout);
    snprintf(command, sizeof command, "/usr/bin/python3 -B tests/reference/%s", script);
    return system(command) == 0;
}

Test(recorded, the_reference_itself_gives_published_values)
{
    cr_expect(python_passes("test_reference.py"));
}

Test(recorded, the_public_sets_files_become_our_recordings)
{
    cr_expect(python_passes("test_public_set.py"));
}

Test(recorded, the_expectations_are_what_the_reference_says_today)
{
    cr_expect(python_passes("make_expected.py --check"));
}
