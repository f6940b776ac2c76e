/* cmd_keep.c - `underfoot keep FILE`: a consistent copy of the store, also while a visit runs. */
#include "care/keep.h"
#include "cli/commands.h"
#include "cli/overwrite.h"
#include "cli/say_options.h"
#include "cli/store_word.h"

#include <stddef.h>

int
cmd_keep(int argc, char **argv)
{
    const char *folder = NULL, *word[1];
    bool is_forced = false;
    const struct option_row rows[] = { overwrite_row(&is_forced), store_word_row(&folder) };
    const struct options_spec spec = { "keep", "FILE",
                                       N_("Copies the whole store to FILE, consistent also while a visit runs, and reads the copy again to check every "
                                       "page. `underfoot restore FILE` puts it in the place of the store."),
                                       rows, 2 };
    const int n = say_options(&spec, argc, argv, word, 1);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    if (n == 0)
        return say_refuse(&spec, MESSAGE_KEEP_WHICH);
    if (overwrite_refuses(word[0], is_forced))
        return 1;
    struct store s = { .db = NULL };
    enum err err = store_word_read(&s, folder);
    if (err == ERR_OK)
        err = keep_copy(&s, word[0]);
    if (err == ERR_OK)
        say_note(MESSAGE_KEEP_DONE, message_path(word[0]));
    return store_word_end(&s, err);
}
