/* cmd_repair.c - `underfoot repair`: saves what can be read of a damaged store, and reports it table by table. */
#include "care/repair.h"
#include "cli/commands.h"
#include "cli/say_options.h"
#include "cli/say_table.h"
#include "cli/store_word.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

/* Which rows of the table: all, or those of one visit, set of targets or measurement. */
static const char *
rows_text(const struct repair_table *t, const struct repair_gap *g, char out[SAY_MAX])
{
    if (g->owner == 0)
        return t->name;
    if (t->name[0] == 't')
        return say_text(out, MESSAGE_REPAIR_OF_TARGETS, t->name, g->owner);
    if (t->name[0] == 'm')
        return say_text(out, MESSAGE_REPAIR_OF_MEASUREMENT, t->name, g->owner);
    return say_text(out, MESSAGE_REPAIR_OF_VISIT, t->name, g->owner);
}

static void
print_gap(const struct repair_table *t, const struct repair_gap *g)
{
    char rows[SAY_MAX];
    printf("  ");
    if (g->last >= g->first)
        say_line(stdout, MESSAGE_REPAIR_GAP, rows_text(t, g, rows), g->first, g->last);
    else
        say_line(stdout, MESSAGE_REPAIR_GAP_TO_END, rows_text(t, g, rows), g->first);
}

static void
print_table(const struct repair_table *t)
{
    char text[SAY_MAX], number[SAY_NUMBER_MAX];
    const int digits = snprintf(number, sizeof number, "%" PRId64, t->n_rows);
    printf("%-14s %*s%s", t->name, digits < 8 ? 8 - digits : 0, "", say_text(text, MESSAGE_REPAIR_ROWS, t->n_rows));
    printf(", %s", say_text(text, MESSAGE_REPAIR_GAPS, t->n_gaps));
    if (t->n_orphans > 0)
        printf(", %s", say_text(text, MESSAGE_REPAIR_ORPHANS, t->n_orphans));
    printf("\n");
    for (int k = 0; k < t->n_gaps && k < REPAIR_MAX_GAPS; k++)
        print_gap(t, &t->gap[k]);
    if (t->n_gaps > REPAIR_MAX_GAPS)
        printf("  %s\n", say_text(text, MESSAGE_REPAIR_MORE_GAPS, t->name, t->n_gaps - REPAIR_MAX_GAPS));
}

static void
print_report(const struct repair *r)
{
    for (int i = 0; i < r->n_tables; i++)
        print_table(&r->table[i]);
    if (r->n_lost_runners > 0)
        say_line(stdout, MESSAGE_REPAIR_LOST_RUNNERS, r->n_lost_runners);
    if (r->n_forgotten > 0)
        say_line(stdout, MESSAGE_REPAIR_FORGOTTEN, r->n_forgotten);
}

int
cmd_repair(int argc, char **argv)
{
    const char *folder = NULL;
    char path[STORE_PATH_MAX];
    const struct option_row rows[] = { store_word_row(&folder) };
    const struct options_spec spec = { "repair", NULL,
                                       N_("Saves what can be read of a damaged store in a new one, which takes its place, and tells what "
                                       "could not be read. The damaged one is put aside as it lies. A kept copy may have more: see "
                                       "`underfoot restore`. A store that is whole is left as it is."),
                                       rows, 1 };
    struct message why;
    const int n = say_options(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    struct repair *r = calloc(1, sizeof *r);
    enum err err = r ? store_word_path(folder, path, &why) : ERR_MEMORY;
    if (!r)
        message_init(&why, MESSAGE_CLI_NO_MEMORY);
    if (err == ERR_OK)
        err = repair_store(r, folder ? path : NULL, &why);
    if (err != ERR_OK)
        say_note_of(&why);
    else if (r->is_whole)
        say_note(MESSAGE_REPAIR_WHOLE, message_path(r->path));
    else {
        print_report(r);
        say_note(MESSAGE_REPAIR_DONE, message_path(r->path), message_path(r->kept));
    }
    free(r);
    return err == ERR_OK ? 0 : 1;
}
