#include "cli/say_options.h"

#include "base/utf8.h"

#include <math.h>
#include <stdio.h>

static void
print_row(const struct option_row *row)
{
    char left[64], low[SAY_NUMBER_MAX], high[SAY_NUMBER_MAX], range[SAY_MAX];
    snprintf(left, sizeof left, "--%s%s%s", row->name, row->type == OPTION_FLAG ? "" : " ",
             row->type == OPTION_FLAG ? "" : row->argument);
    printf("  %-23s %s", left, say_word(row->help)); /* a long one still has its blank */
    if (row->type == OPTION_NUMBER && isfinite(row->min) && isfinite(row->max))
        printf(" %s", say_text(range, MESSAGE_OPTION_RANGE, say_typed(low, row->min), say_typed(high, row->max)));
    printf("\n");
}

static void
print_help(const struct options_spec *spec)
{
    const bool has_words = spec->positional && spec->positional[0];
    printf("%s underfoot %s%s%s %s\n\n", say_word(N_("usage:")), spec->command, has_words ? " " : "",
           has_words ? spec->positional : "", say_word(N_("[options]")));
    printf("%s\n\n%s\n", say_word(spec->summary), say_word(N_("options:")));
    for (int i = 0; i < spec->n_rows; i++)
        print_row(&spec->rows[i]);
    printf("  %-23s %s\n", "--help", say_word(N_("this text")));
}

int
say_refuse_of(const struct options_spec *spec, const struct message *m)
{
    say_as(spec->command, MESSAGE_CLI_SEE_HELP, message_of(m), spec->command);
    return 2;
}

int
say_refuse_put(const struct options_spec *spec, enum message_code code, const struct message_arg *arg, int n)
{
    struct message m;
    say_fill_put(&m, code, arg, n);
    return say_refuse_of(spec, &m);
}

int
say_options(const struct options_spec *spec, int argc, char **argv, const char **positional, int max_positional)
{
    struct message why;
    const int n = options_parse(spec, argc, argv, positional, max_positional, &why);
    if (n == OPTIONS_HELP)
        print_help(spec);
    else if (n == OPTIONS_BAD)
        say_refuse_of(spec, &why);
    return n;
}
