/* options.h - reads a command's words by one table, which its --help is printed from as well.
 *
 * In:  argv of a command (argv[0] is the command's name) and the table of its options.
 * Out: the values, where the rows point; the positional words, in order.
 *
 *      --name VALUE and --name=VALUE are the same; a value may begin with a minus;
 *      -- ends the options; a lone - is a positional word (standard input by custom);
 *      the last one wins when an option is given twice, except OPTION_LIST, which keeps all.
 *
 * Numbers are plain decimals (a hex number, "nan" or "inf" is refused), whatever the locale.
 * Errors: a message that names the option, the value, what is wrong, what to do. Nothing is printed here: a command's help
 * and refusals are told by cli/say_options.h.
 */
#ifndef BASE_OPTIONS_H
#define BASE_OPTIONS_H

#include "base/message.h"

#include <stdbool.h>

enum option_type {
    OPTION_FLAG,
    OPTION_TEXT,
    OPTION_NUMBER,
    OPTION_LIST, /* a text that may be given several times */
};

struct option_row {
    const char *name;     /* without dashes */
    enum option_type type;
    const char *argument; /* as shown in the help: KG, FILE; NULL for a flag */
    const char *help;     /* one line, unit and default in words; marked N_() (base/mark.h) */
    bool *flag;           /* OPTION_FLAG: set true */
    const char **text;    /* OPTION_TEXT: set to the word. OPTION_LIST: an array of (int) max pointers, */
                          /* all NULL before; filled from the front. The words belong to argv. */
    double *number;       /* OPTION_NUMBER */
    double min, max;      /* OPTION_NUMBER: allowed values, inclusive; INFINITY for no limit */
};

struct options_spec {
    const char *command;    /* "live" */
    const char *positional; /* as shown in the usage line: "FILE", "[FILE]"; NULL or "" for none */
    const char *summary;    /* a sentence or more for the help; likewise */
    const struct option_row *rows;
    int n_rows;
};

enum { OPTIONS_HELP = -1, OPTIONS_BAD = -2 };

/* Walks argv[1..argc-1]. Returns the number of positional words (at most max_positional, kept in
 * positional), OPTIONS_HELP when the help is asked for, or OPTIONS_BAD with why. --help is always known; it wins over
 * what follows. */
int options_parse(const struct options_spec *spec, int argc, char **argv, const char **positional,
                  int max_positional, struct message *why);

#endif
