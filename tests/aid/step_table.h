/* step_table.h - step tables as `underfoot steps` prints them, read for comparing. With Criterion.
 *
 * Read by the names in the header line, so that the reference's tables and the simulator's truths, which have other
 * columns beside these, are read too. Empty cells are NAN.
 */
#ifndef AID_STEP_TABLE_H
#define AID_STEP_TABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#define STEP_TABLE_MAX_ROWS 128
#define STEP_TABLE_SAME_S   0.06 /* touchdowns nearer than this are of one contact */

struct step_row {
    char side; /* 'L', 'R' or 0 */
    bool is_running;
    double touchdown_s, toeoff_s, contact_ms, peak_force_bw, landing_ahead_mm, strike_index_pct;
};

struct step_table {
    int n_rows;
    struct step_row rows[STEP_TABLE_MAX_ROWS];
};

/* Cuts a line of CSV into at most `max` cells in place; empty cells stay. Returns how many. */
int step_table_split(char *line, char **cells, int max);

void step_table_read(FILE *in, struct step_table *table);
void step_table_load(const char *path, struct step_table *table);

/* What `underfoot steps WORDS` prints; a failure of the test when it ends badly. */
void step_table_measure(const char *words, struct step_table *table);

/* The row that is the same contact as `r`, or NULL. */
const struct step_row *step_table_find(const struct step_table *table, const struct step_row *r);

/* Mean absolute difference of one column over the contacts that both tables have; NAN when none. */
double step_table_difference(const struct step_table *mine, const struct step_table *theirs, size_t field);
#define STEP_TABLE_DIFFERENCE(mine, theirs, field) \
    step_table_difference(mine, theirs, offsetof(struct step_row, field))

/* Median strike index of one side; NAN when unknown. */
double step_table_median_index(const struct step_table *table, char side);

#endif
