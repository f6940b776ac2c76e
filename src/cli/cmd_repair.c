/* cmd_repair.c - `underfoot repair`: saves what can be read of a damaged store, and reports it table by table. */
#include "base/log.h"
#include "base/message_words.h"
#include "base/options.h"
#include "care/repair.h"
#include "cli/commands.h"
#include "cli/store_word.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

static void
print_gap(const struct repair_table *t, const struct repair_gap *g)
{
    printf("  %s", t->name);
    if (g->owner != 0)
        printf(" of %s %" PRId64, t->name[0] == 't' ? "target set" : t->name[0] == 'm' ? "measurement" : "visit", g->owner);
    printf(": not read from %" PRId64, g->first);
    if (g->last >= g->first)
        printf(" to %" PRId64 "\n", g->last);
    else
        printf(" to the end\n");
}

static void
print_report(const struct repair *r)
{
    for (int i = 0; i < r->n_tables; i++) {
        const struct repair_table *t = &r->table[i];
        printf("%-14s %8" PRId64 " rows saved, %d gaps", t->name, t->n_rows, t->n_gaps);
        if (t->n_orphans > 0)
            printf(", %" PRId64 " rows left out: what they belong to is gone", t->n_orphans);
        printf("\n");
        for (int k = 0; k < t->n_gaps && k < REPAIR_MAX_GAPS; k++)
            print_gap(t, &t->gap[k]);
        if (t->n_gaps > REPAIR_MAX_GAPS)
            printf("  %s: %d more gaps\n", t->name, t->n_gaps - REPAIR_MAX_GAPS);
    }
    if (r->n_lost_runners > 0)
        printf("%d runners whose own rows are gone are called lost-1, lost-2 ...: `underfoot runner edit --code` names them\n",
               r->n_lost_runners);
    if (r->n_forgotten > 0)
        printf("%d runners were left out, who were forgotten here\n", r->n_forgotten);
}

int
cmd_repair(int argc, char **argv)
{
    const char *folder = NULL;
    char path[STORE_PATH_MAX], words[ERR_WHY_MAX];
    const struct option_row rows[] = { store_word_row(&folder) };
    const struct options_spec spec = { "repair", NULL,
                                       "Saves what can be read of a damaged store in a new one, which takes its place, and tells what "
                                       "could not be read. The damaged one is put aside as it lies. A kept copy may have more: see "
                                       "`underfoot restore`. A store that is whole is left as it is.",
                                       rows, 1 };
    struct message why;
    const int n = options_parse(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    struct repair *r = calloc(1, sizeof *r);
    enum err err = r ? store_word_path(folder, path, &why) : ERR_MEMORY;
    if (!r)
        message_say(&why, "out of memory");
    if (err == ERR_OK)
        err = repair_store(r, folder ? path : NULL, &why);
    if (err != ERR_OK)
        log_note("%s", message_words(&why, NULL, words, sizeof words));
    else if (r->is_whole)
        log_note("the store %s is whole: nothing was changed", r->path);
    else {
        print_report(r);
        log_note("what could be read of the store %s lies in its place now; the damaged one in %s", r->path, r->kept);
    }
    free(r);
    return err == ERR_OK ? 0 : 1;
}
