/* cmd_keep.c - `underfoot keep FILE`: a consistent copy of the store, also while a visit runs. */
#include "base/log.h"
#include "care/keep.h"
#include "cli/commands.h"
#include "cli/overwrite.h"
#include "cli/store_word.h"

#include <stddef.h>

int
cmd_keep(int argc, char **argv)
{
    const char *folder = NULL, *word[1];
    bool is_forced = false;
    const struct option_row rows[] = { overwrite_row(&is_forced), store_word_row(&folder) };
    const struct options_spec spec = { "keep", "FILE",
                                       "Copies the whole store to FILE, consistent also while a visit runs, and reads the copy again to check every "
                                       "page. `underfoot restore FILE` puts it in the place of the store.",
                                       rows, 2 };
    const int n = options_parse(&spec, argc, argv, word, 1);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    if (n == 0)
        return options_refuse(&spec, "name the file for the copy");
    if (overwrite_refuses(word[0], is_forced))
        return 1;
    struct store s = { .db = NULL };
    enum err err = store_word_read(&s, folder);
    if (err == ERR_OK)
        err = keep_copy(&s, word[0]);
    if (err == ERR_OK)
        log_note("kept a copy in %s", word[0]);
    return store_word_end(&s, err);
}
