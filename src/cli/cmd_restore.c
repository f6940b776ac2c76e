/* cmd_restore.c - `underfoot restore FILE`: a kept copy in the place of the store; the store of today is kept beside it. */
#include "care/restore.h"
#include "cli/commands.h"
#include "cli/say_options.h"
#include "cli/say_table.h"
#include "cli/store_word.h"
#include "paper/phrase.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { MAX_NAMED = 20 };

struct named {
    const char *what;
    int n;
};

static void
print_visit(void *context, const char *code, int64_t visit_id, int64_t started_utc_ms, int zone_offset_min)
{
    char started[PHRASE_TIME_MAX];
    struct named *named = context;
    if (named->n++ < MAX_NAMED) {
        printf("  %s  %s  %s  ", named->what, phrase_time(say_catalogue(), started, started_utc_ms, zone_offset_min), code);
        say_line(stdout, MESSAGE_RESTORE_VISIT, visit_id);
    } else if (named->n == MAX_NAMED + 1)
        printf("  %s  ...\n", named->what);
}

static const char *const LABEL[] = { NC_("table", "won:"), NC_("table", "lost:"), NC_("table", "same:") };
enum { LABEL_WON, LABEL_LOST, LABEL_SAME, N_LABELS };

static void
print_label(int label)
{
    say_cell(stdout, say_table_word(LABEL[label]), say_labels_width(LABEL, N_LABELS) + 1, false);
}

static void
print_counts(int label, const struct restore_counts *c)
{
    char runners[SAY_MAX], visits[SAY_MAX];
    print_label(label);
    printf("%s, %s\n", say_text(runners, MESSAGE_CLI_RUNNERS, c->n_runners), say_text(visits, MESSAGE_CLI_VISITS, c->n_visits));
}

static enum err
print_what_changes(struct restore *r, struct message *why)
{
    enum err err = ERR_OK;
    print_counts(LABEL_WON, &r->won);
    if (r->has_store && !r->is_damaged) {
        err = restore_visits(r, false, print_visit, &(struct named){ "+", 0 }, why);
        print_counts(LABEL_LOST, &r->lost);
        if (err == ERR_OK)
            err = restore_visits(r, true, print_visit, &(struct named){ "-", 0 }, why);
        print_counts(LABEL_SAME, &r->same);
    } else {
        print_label(LABEL_LOST);
        printf("%s\n", say_word(r->has_store ? N_("not known, since the store of today is damaged")
                                             : N_("nothing, since there is no store yet")));
    }
    if (r->n_forgotten > 0)
        say_line(stdout, MESSAGE_RESTORE_LEFT_OUT, r->n_forgotten);
    fflush(stdout);
    return err;
}

static bool
is_confirmed(void)
{
    char line[32], question[SAY_MAX];
    fprintf(stderr, "%s ", say_text(question, MESSAGE_RESTORE_ASK, "restore"));
    if (!fgets(line, sizeof line, stdin))
        return false;
    line[strcspn(line, "\r\n")] = '\0';
    return strcmp(line, "restore") == 0;
}

static enum err
restore(struct restore *r, const char *path, const char *file, bool is_sure, struct message *why)
{
    enum err err = restore_prepare(r, path, file, why);
    if (err != ERR_OK)
        return err;
    err = print_what_changes(r, why);
    if (err == ERR_OK && !is_sure && !is_confirmed()) {
        message_init(why, MESSAGE_RESTORE_NOT_CONFIRMED);
        err = ERR_USAGE;
    }
    if (err == ERR_OK)
        return restore_commit(r, why);
    restore_drop(r);
    return err;
}

int
cmd_restore(int argc, char **argv)
{
    const char *folder = NULL, *word[1];
    char path[STORE_PATH_MAX];
    bool is_sure = false;
    const struct option_row rows[] = {
        { .name = "yes", .type = OPTION_FLAG, .help = N_("do it without being asked"), .flag = &is_sure },
        store_word_row(&folder),
    };
    const struct options_spec spec = { "restore", "FILE",
                                       N_("Puts a copy, made by `underfoot keep` or kept beside the store, in the place of the store. It "
                                       "is checked first, what is won and lost is told, and the store of today is kept beside it. "
                                       "Runners who were forgotten here are left out. No other program may have the store open."),
                                       rows, 2 };
    struct restore r;
    struct message why;
    const int n = say_options(&spec, argc, argv, word, 1);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    if (n == 0)
        return say_refuse(&spec, MESSAGE_RESTORE_WHICH);
    enum err err = store_word_path(folder, path, &why);
    if (err == ERR_OK)
        err = restore(&r, folder ? path : NULL, word[0], is_sure, &why);
    if (err != ERR_OK) {
        say_note_of(&why);
        return 1;
    }
    if (r.kept[0])
        say_note(MESSAGE_RESTORE_DONE_KEPT, message_path(r.path), message_path(word[0]), message_path(r.kept));
    else
        say_note(MESSAGE_RESTORE_DONE, message_path(r.path), message_path(word[0]));
    return 0;
}
