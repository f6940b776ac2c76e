#include "aid/step_table.h"

#include "aid/process.h"
#include "base/stats.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#define MAX_CELLS 64
#define MAX_LINE  1024

int
step_table_split(char *line, char **cells, int max)
{
    int n = 0;
    line[strcspn(line, "\r\n")] = '\0';
    for (char *at = line; n < max; n++) {
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

void
step_table_read(FILE *in, struct step_table *table)
{
    static const char *const wanted[] = {
        "side",       "gait",          "touchdown_s",      "toeoff_s",
        "contact_ms", "peak_force_bw", "landing_ahead_mm", "strike_index_pct",
    };
    enum { N_WANTED = sizeof wanted / sizeof wanted[0] };
    char first[MAX_LINE], line[MAX_LINE], *cells[MAX_CELLS];
    int at[N_WANTED];
    table->n_rows = 0;
    cr_assert_not_null(fgets(first, sizeof first, in), "no step table");
    const int n_header = step_table_split(first, cells, MAX_CELLS);
    for (int i = 0; i < N_WANTED; i++)
        at[i] = column_of(cells, n_header, wanted[i]);
    while (fgets(line, sizeof line, in) != NULL) {
        cr_assert_eq(step_table_split(line, cells, MAX_CELLS), n_header, "row %d is not as wide as the header",
                     table->n_rows + 1);
        cr_assert_lt(table->n_rows, STEP_TABLE_MAX_ROWS, "more than %d steps", STEP_TABLE_MAX_ROWS);
        struct step_row *r = &table->rows[table->n_rows++];
        const char side = cells[at[0]][0];
        r->side = (char) (side == 'l' || side == 'L' ? 'L' : side == 'r' || side == 'R' ? 'R' : 0);
        r->is_running = strcmp(cells[at[1]], "running") == 0;
        double *fields[] = { &r->touchdown_s,   &r->toeoff_s,         &r->contact_ms,
                             &r->peak_force_bw, &r->landing_ahead_mm, &r->strike_index_pct };
        for (int i = 0; i < 6; i++)
            *fields[i] = number(cells[at[2 + i]]);
    }
}

void
step_table_load(const char *path, struct step_table *table)
{
    FILE *in = fopen(path, "r");
    cr_assert_not_null(in, "no %s: run from the repository's root", path);
    step_table_read(in, table);
    fclose(in);
}

void
step_table_measure(const char *words, struct step_table *table)
{
    char command[1024];
    snprintf(command, sizeof command, "'%s' steps %s", process_program(), words);
    FILE *in = popen(command, "r");
    cr_assert_not_null(in);
    step_table_read(in, table);
    const int status = pclose(in);
    cr_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0, "failed: %s", command);
}

const struct step_row *
step_table_find(const struct step_table *table, const struct step_row *r)
{
    for (int i = 0; i < table->n_rows; i++)
        if (fabs(table->rows[i].touchdown_s - r->touchdown_s) < STEP_TABLE_SAME_S)
            return &table->rows[i];
    return NULL;
}

double
step_table_difference(const struct step_table *mine, const struct step_table *theirs, size_t field)
{
    double sum = 0.0;
    int n = 0;
    for (int i = 0; i < theirs->n_rows; i++) {
        const struct step_row *a = step_table_find(mine, &theirs->rows[i]);
        double x, y;
        if (a == NULL)
            continue;
        memcpy(&x, (const char *) a + field, sizeof x);
        memcpy(&y, (const char *) &theirs->rows[i] + field, sizeof y);
        if (isnan(x) || isnan(y))
            continue;
        sum += fabs(x - y);
        n++;
    }
    return n > 0 ? sum / n : (double) NAN;
}

double
step_table_median_index(const struct step_table *table, char side)
{
    double values[STEP_TABLE_MAX_ROWS];
    int n = 0;
    for (int i = 0; i < table->n_rows; i++)
        if (table->rows[i].side == side && !isnan(table->rows[i].strike_index_pct))
            values[n++] = table->rows[i].strike_index_pct;
    return n > 0 ? stats_median_of(values, n) : (double) NAN;
}
