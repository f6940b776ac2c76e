/* say_table.h - tables for people: heads and cells in columns, in a language whose words are longer or wider.
 *
 * A column is as wide as it was made for, or as its head is in that language (paper/phrase.h says how wide a text is).
 *
 * Memory: none.   Threads: any.   Errors: none.
 */
#ifndef CLI_SAY_TABLE_H
#define CLI_SAY_TABLE_H

#include <stdbool.h>
#include <stdio.h>

struct say_column {
    const char *head; /* NC_("table", …); "" for none */
    int width;        /* places, at least */
    int gap;          /* places before it */
    bool is_right;    /* figures; the last column at the left is not filled up */
};

/* The text, filled up to so many places; at the right when is_right. */
void say_cell(FILE *f, const char *text, int width, bool is_right);

/* Makes a column as wide as that text, where it is not. */
void say_widen(struct say_column *column, const char *text);

/* The line of heads, and a line below it: n columns of the table, from the first. */
void say_head(FILE *f, const struct say_column *column, int n);
void say_row(FILE *f, const struct say_column *column, int n, const char *const *cell);

/* The places that the widest of n labels takes; each is NC_("table", …). */
int say_labels_width(const char *const *label, int n);

/* A label of that width and two blanks. */
void say_label(FILE *f, const char *label, int width);

#endif
