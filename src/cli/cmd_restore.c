/* cmd_restore.c - `underfoot restore FILE`: a kept copy in the place of the store; the store of today is kept beside it. */
#include "base/log.h"
#include "base/message_words.h"
#include "base/options.h"
#include "care/restore.h"
#include "cli/commands.h"
#include "cli/store_word.h"
#include "paper/local_time.h"

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
    char started[LOCAL_TIME_MAX];
    struct named *named = context;
    if (named->n++ < MAX_NAMED)
        printf("  %s  %s  %s  visit %" PRId64 "\n", named->what, local_time_short(started, started_utc_ms, zone_offset_min), code,
               visit_id);
    else if (named->n == MAX_NAMED + 1)
        printf("  %s  ...\n", named->what);
}

static void
print_counts(const char *what, const struct restore_counts *c)
{
    printf("%s %d runners, %d visits\n", what, c->n_runners, c->n_visits);
}

static enum err
print_what_changes(struct restore *r, struct message *why)
{
    enum err err = ERR_OK;
    print_counts("won: ", &r->won);
    if (r->has_store && !r->is_damaged) {
        err = restore_visits(r, false, print_visit, &(struct named){ "+", 0 }, why);
        print_counts("lost:", &r->lost);
        if (err == ERR_OK)
            err = restore_visits(r, true, print_visit, &(struct named){ "-", 0 }, why);
        print_counts("same:", &r->same);
    } else
        printf("lost: %s\n", r->has_store ? "not known, since the store of today is damaged" : "nothing, since there is no store yet");
    if (r->n_forgotten > 0)
        printf("left out: %d runners, who were forgotten here\n", r->n_forgotten);
    fflush(stdout);
    return err;
}

static bool
is_confirmed(void)
{
    char line[32];
    fprintf(stderr, "Put it in the place of the store? The store of today is kept beside it. Type restore to go on: ");
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
    char path[STORE_PATH_MAX], words[ERR_WHY_MAX];
    bool is_sure = false;
    const struct option_row rows[] = {
        { .name = "yes", .type = OPTION_FLAG, .help = "do it without being asked", .flag = &is_sure },
        store_word_row(&folder),
    };
    const struct options_spec spec = { "restore", "FILE",
                                       "Puts a copy, made by `underfoot keep` or kept beside the store, in the place of the store. It "
                                       "is checked first, what is won and lost is told, and the store of today is kept beside it. "
                                       "Runners who were forgotten here are left out. No other program may have the store open.",
                                       rows, 2 };
    struct restore r;
    struct message why;
    const int n = options_parse(&spec, argc, argv, word, 1);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    if (n == 0)
        return options_refuse(&spec, "name the copy");
    enum err err = store_word_path(folder, path, &why);
    if (err == ERR_OK)
        err = restore(&r, folder ? path : NULL, word[0], is_sure, &why);
    if (err != ERR_OK) {
        log_note("%s", message_words(&why, NULL, words, sizeof words));
        return 1;
    }
    log_note("%s is restored from %s%s%s", r.path, word[0], r.kept[0] ? "; as it was before it lies in " : "", r.kept);
    return 0;
}
