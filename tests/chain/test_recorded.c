/* test_recorded.c - `underfoot steps` on cuts of real recorded runs (tests/data), against the step
 * tables of an independent reference (tests/reference, SciPy) whose sides the body markers confirm.
 *
 * Tolerances are the product's promise on recorded data: counts equal, every side right, contact
 * within 2 ms on average, and looser bounds that only catch blunders for what the full comparison
 * (tests/reference/compare.py --strict, on the whole recordings) measures better.
 */
#include <criterion/criterion.h>

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#define MAX_ROWS       64
#define MAX_CELLS      40
#define MAX_LINE       1024
#define MAX_CUTS       32
#define THRESHOLD_N    "50"
#define SAME_CONTACT_S 0.06 /* touchdowns nearer than this are of one contact */

struct row {
    char side; /* 'L', 'R' or 0 */
    bool is_running;
    double touchdown_s, toeoff_s, contact_ms, peak_force_bw, landing_ahead_mm, strike_index_pct;
};

struct step_table {
    int n_rows;
    struct row rows[MAX_ROWS];
};

struct cut {
    char name[32], rate[16], mass[16], speed[16], foot[16], label_left[16], label_right[16];
};

/* Cuts a line into cells in place; empty cells stay. Returns how many. */
static int
split(char *line, char **cells)
{
    int n = 0;
    line[strcspn(line, "\r\n")] = '\0';
    for (char *at = line; n < MAX_CELLS; n++) {
        cells[n] = at;
        at = strchr(at, ',');
        if (at == NULL)
            return n + 1;
        *at++ = '\0';
    }
    return n;
}

static int
column_of(char **header, int n_header, const char *name)
{
    for (int i = 0; i < n_header; i++)
        if (strcmp(header[i], name) == 0)
            return i;
    cr_assert_fail("the step table has no column %s", name);
    return -1;
}

static double
number(const char *cell)
{
    return *cell == '\0' ? (double) NAN : strtod(cell, NULL);
}

/* Reads a step table, ours or the reference's. */
static void
read_table(FILE *in, struct step_table *table)
{
    static const char *const wanted[] = {
        "side",       "gait",          "touchdown_s",      "toeoff_s",
        "contact_ms", "peak_force_bw", "landing_ahead_mm", "strike_index_pct"
    };
    enum { N_WANTED = sizeof wanted / sizeof wanted[0] };
    char first[MAX_LINE], line[MAX_LINE], *cells[MAX_CELLS];
    int at[N_WANTED];
    table->n_rows = 0;
    cr_assert_not_null(fgets(first, sizeof first, in), "no step table");
    int n_header = split(first, cells);
    for (int i = 0; i < N_WANTED; i++)
        at[i] = column_of(cells, n_header, wanted[i]);
    while (fgets(line, sizeof line, in) != NULL) {
        cr_assert_eq(split(line, cells), n_header, "row %d is not as wide as the header", table->n_rows + 1);
        cr_assert_lt(table->n_rows, MAX_ROWS, "more than %d steps in a cut", MAX_ROWS);
        struct row *r = &table->rows[table->n_rows++];
        char side = cells[at[0]][0];
        r->side = (char) (side == 'l' || side == 'L' ? 'L' : side == 'r' || side == 'R' ? 'R' : 0);
        r->is_running = strcmp(cells[at[1]], "running") == 0;
        double *fields[] = { &r->touchdown_s,   &r->toeoff_s,         &r->contact_ms,
                             &r->peak_force_bw, &r->landing_ahead_mm, &r->strike_index_pct };
        for (int i = 0; i < 6; i++)
            *fields[i] = number(cells[at[2 + i]]);
    }
}

/* tests/data from the repository's root (make check) or from a build folder's neighbour. */
static const char *
data_dir(void)
{
    const char *given = getenv("UNDERFOOT_TEST_DATA");
    return given != NULL ? given : "tests/data";
}

static int
load_cuts(struct cut *cuts)
{
    char path[256], line[MAX_LINE], *cells[MAX_CELLS];
    snprintf(path, sizeof path, "%s/cuts.csv", data_dir());
    FILE *in = fopen(path, "r");
    cr_assert_not_null(in, "%s is not there: run from the repository's root", path);
    int n = 0;
    cr_assert_not_null(fgets(line, sizeof line, in));
    while (n < MAX_CUTS && fgets(line, sizeof line, in) != NULL) {
        struct cut *c = &cuts[n++];
        char *fields[] = { c->name, c->rate, c->mass, c->speed, c->foot, c->label_left, c->label_right };
        cr_assert_eq(split(line, cells), 7);
        for (int i = 0; i < 7; i++)
            snprintf(fields[i], i == 0 ? sizeof c->name : sizeof c->rate, "%s", cells[i]);
    }
    fclose(in);
    cr_assert_gt(n, 10, "only %d cuts in %s", n, path);
    return n;
}

static void
reference_of(const char *name, struct step_table *table)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s.expected", data_dir(), name);
    FILE *in = fopen(path, "r");
    cr_assert_not_null(in, "no %s", path);
    read_table(in, table);
    fclose(in);
    cr_assert_gt(table->n_rows, 10, "%s expects too little to be a test", path);
}

static void
steps_of(const struct cut *c, struct step_table *table)
{
    const char *binary = getenv("UNDERFOOT_BIN");
    cr_assert_not_null(binary, "UNDERFOOT_BIN names the program under test");
    char command[1024];
    snprintf(command, sizeof command,
             "'%s' steps '%s/%s.csv' --rate %s --mass %s --speed %s --threshold " THRESHOLD_N "%s%s", binary,
             data_dir(), c->name, c->rate, c->mass, c->speed, *c->foot ? " --foot " : "", c->foot);
    FILE *in = popen(command, "r");
    cr_assert_not_null(in);
    read_table(in, table);
    int status = pclose(in);
    cr_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0, "failed: %s", command);
}

/* The row of `table` that is the same contact as `r`, or NULL. */
static const struct row *
same_contact(const struct step_table *table, const struct row *r)
{
    for (int i = 0; i < table->n_rows; i++)
        if (fabs(table->rows[i].touchdown_s - r->touchdown_s) < SAME_CONTACT_S)
            return &table->rows[i];
    return NULL;
}

/* Mean absolute difference of one column over the contacts that both tables have; NAN when none. */
static double
mean_difference(const struct step_table *mine, const struct step_table *theirs, size_t field)
{
    double sum = 0.0;
    int n = 0;
    for (int i = 0; i < theirs->n_rows; i++) {
        const struct row *a = same_contact(mine, &theirs->rows[i]);
        if (a == NULL)
            continue;
        double x, y;
        memcpy(&x, (const char *) a + field, sizeof x);
        memcpy(&y, (const char *) &theirs->rows[i] + field, sizeof y);
        if (isnan(x) || isnan(y))
            continue;
        sum += fabs(x - y);
        n++;
    }
    return n > 0 ? sum / n : (double) NAN;
}

#define DIFFERENCE(mine, theirs, field) mean_difference(mine, theirs, offsetof(struct row, field))

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
            cr_expect_not_null(same_contact(&mine, &theirs.rows[k]), "%s: no step at %.3f s", cuts[i].name,
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
            const struct row *a = same_contact(&mine, &theirs.rows[k]);
            cr_expect(a != NULL && a->side == theirs.rows[k].side, "%s: the step at %.3f s is %c",
                      cuts[i].name, theirs.rows[k].touchdown_s, theirs.rows[k].side);
        }
    }
    cr_assert_gt(n_compared, 150);
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
        double contact = DIFFERENCE(&mine, &theirs, contact_ms);
        double down = 1e3 * DIFFERENCE(&mine, &theirs, touchdown_s);
        cr_expect(contact <= 2.0, "%s: contact differs by %.2f ms", cuts[i].name, contact);
        cr_expect(down <= 2.0, "%s: touchdown differs by %.2f ms", cuts[i].name, down);
    }
}

Test(recorded, spikes_and_drift_leave_the_clean_steps)
{
    static const char *const hard[] = { "hard_spikes", "hard_drift" };
    struct cut cuts[MAX_CUTS];
    struct step_table clean;
    int n = load_cuts(cuts), n_found = 0;
    for (int i = 0; i < n; i++)
        if (strcmp(cuts[i].name, "RBDS001_T25") == 0)
            steps_of(&cuts[i], &clean);
    for (int i = 0; i < n; i++) {
        struct step_table mine;
        if (strcmp(cuts[i].name, hard[0]) != 0 && strcmp(cuts[i].name, hard[1]) != 0)
            continue;
        n_found++;
        steps_of(&cuts[i], &mine);
        double down = 1e3 * DIFFERENCE(&mine, &clean, touchdown_s);
        double off = 1e3 * DIFFERENCE(&mine, &clean, toeoff_s);
        cr_expect_eq(mine.n_rows, clean.n_rows, "%s: %d steps of %d", cuts[i].name, mine.n_rows,
                     clean.n_rows);
        cr_expect(down <= 2.0 && off <= 2.5, "%s: touchdown off by %.2f, toe-off by %.2f ms", cuts[i].name,
                  down, off);
    }
    cr_assert_eq(n_found, 2);
}

Test(recorded, landing_ahead_and_peak_force_are_near_the_reference)
{
    struct cut cuts[MAX_CUTS];
    int n = load_cuts(cuts);
    for (int i = 0; i < n; i++) {
        struct step_table mine, theirs;
        steps_of(&cuts[i], &mine);
        reference_of(cuts[i].name, &theirs);
        double peak = DIFFERENCE(&mine, &theirs, peak_force_bw);
        cr_expect(peak <= 0.03, "%s: peak differs by %.4f BW", cuts[i].name, peak);
        if (!has_cop(&cuts[i]))
            continue;
        double ahead = DIFFERENCE(&mine, &theirs, landing_ahead_mm);
        cr_expect(ahead <= 15.0, "%s: landing ahead differs by %.1f mm", cuts[i].name, ahead);
    }
}

static int
by_value(const void *a, const void *b)
{
    double x = *(const double *) a, y = *(const double *) b;
    return (x > y) - (x < y);
}

static double
median_index(const struct step_table *table, char side)
{
    double values[MAX_ROWS];
    size_t n = 0;
    for (int i = 0; i < table->n_rows; i++)
        if (table->rows[i].side == side && !isnan(table->rows[i].strike_index_pct))
            values[n++] = table->rows[i].strike_index_pct;
    qsort(values, n, sizeof values[0], by_value);
    return n > 0 ? values[n / 2] : (double) NAN;
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
            double index = median_index(&mine, k == 0 ? 'L' : 'R');
            bool is_rear = strcmp(k == 0 ? cuts[i].label_left : cuts[i].label_right, "Rearfoot") == 0;
            n_feet++;
            n_agree += !isnan(index) && (index < 100.0 / 3.0) == is_rear;
        }
    }
    cr_expect(n_agree * 100 >= n_feet * 88, "%d of %d feet agree", n_agree, n_feet);
}

/* Runs one of the Python checks; true when it passes. Says `skipped` where SciPy is not there. */
static bool
python_passes(const char *script)
{
    char command[512];
    if (system("/usr/bin/python3 -c 'import scipy' 2>/dev/null") != 0) {
        printf("skipped %s: no python3-scipy here\n", script);
        return true;
    }
    snprintf(command, sizeof command, "/usr/bin/python3 -B %s/../reference/%s", data_dir(), script);
    return system(command) == 0;
}

Test(recorded, the_reference_itself_gives_published_values)
{
    cr_expect(python_passes("test_reference.py"));
}

Test(recorded, the_expectations_are_what_the_reference_says_today)
{
    cr_expect(python_passes("make_expected.py --check"));
}
