#include "base/options.h"

#include "base/str.h"
#include "base/utf8.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void
print_left_column(const struct option_row *row)
{
    char left[64];
    if (row->type == OPTION_FLAG)
        snprintf(left, sizeof left, "--%s", row->name);
    else
        snprintf(left, sizeof left, "--%s %s", row->name, row->argument);
    printf("  %-23s %s", left, row->help); /* a long one still has its blank */
}

static void
print_help(const struct options_spec *spec)
{
    const bool has_words = spec->positional && spec->positional[0];
    printf("usage: underfoot %s%s%s [options]\n\n", spec->command, has_words ? " " : "",
           has_words ? spec->positional : "");
    printf("%s\n\noptions:\n", spec->summary);
    for (int i = 0; i < spec->n_rows; i++) {
        const struct option_row *row = &spec->rows[i];
        print_left_column(row);
        if (row->type == OPTION_NUMBER && isfinite(row->min) && isfinite(row->max))
            printf(" (%.10g to %.10g)", row->min, row->max);
        printf("\n");
    }
    printf("  %-23s %s\n", "--help", "this text");
}

static void
complain(const struct options_spec *spec, const char *format, va_list words)
{
    char line[2048];
    vsnprintf(line, sizeof line, format, words);
    utf8_print(stderr, "underfoot %s: %s (`underfoot %s --help` lists the options)\n", spec->command, line,
            spec->command);
}

int
options_refuse(const struct options_spec *spec, const char *format, ...)
{
    va_list words;
    va_start(words, format);
    complain(spec, format, words);
    va_end(words);
    return 2;
}

static const struct option_row *
find_row(const struct options_spec *spec, const char *name, size_t len)
{
    for (int i = 0; i < spec->n_rows; i++)
        if (strlen(spec->rows[i].name) == len && memcmp(spec->rows[i].name, name, len) == 0)
            return &spec->rows[i];
    return NULL;
}

static bool
set_number(const struct options_spec *spec, const struct option_row *row, const char *value)
{
    double x;
    if (!str_to_double(value, &x)) {
        options_refuse(spec, "--%s '%s' is not a number; give a plain decimal such as 12.5", row->name, value);
        return false;
    }
    if (x < row->min || x > row->max) {
        if (isfinite(row->min) && isfinite(row->max))
            options_refuse(spec, "--%s %s is out of range; give a number from %.10g to %.10g", row->name, value,
                           row->min, row->max);
        else
            options_refuse(spec, "--%s %s is out of range; give a number of at %s %.10g", row->name, value,
                           x < row->min ? "least" : "most", x < row->min ? row->min : row->max);
        return false;
    }
    *row->number = x;
    return true;
}

static bool
set_value(const struct options_spec *spec, const struct option_row *row, const char *value)
{
    if (row->type == OPTION_NUMBER)
        return set_number(spec, row, value);
    if (value[0] == '\0') {
        options_refuse(spec, "--%s '' is empty; give %s", row->name, row->argument);
        return false;
    }
    if (row->type == OPTION_TEXT) {
        *row->text = value;
        return true;
    }
    for (int i = 0; i < (int) row->max; i++)
        if (!row->text[i]) {
            row->text[i] = value;
            return true;
        }
    options_refuse(spec, "--%s '%s' is one too many; give it at most %d times", row->name, value,
                   (int) row->max);
    return false;
}

/* One word that begins with two dashes. Returns how many words it took, 0 when it is wrong. */
static int
take_option(const struct options_spec *spec, int n_words, char **words)
{
    const char *name = words[0] + 2;
    const char *equals = strchr(name, '=');
    const size_t len = equals ? (size_t) (equals - name) : strlen(name);
    const struct option_row *row = find_row(spec, name, len);
    if (!row) {
        options_refuse(spec, "--%.*s is no option of this command", (int) len, name);
        return 0;
    }
    if (row->type == OPTION_FLAG) {
        if (equals) {
            options_refuse(spec, "--%s takes no value, but '%s' was given; leave it away", row->name,
                           equals + 1);
            return 0;
        }
        *row->flag = true;
        return 1;
    }
    if (equals)
        return set_value(spec, row, equals + 1) ? 1 : 0;
    if (n_words < 2) {
        options_refuse(spec, "--%s needs a value: %s", row->name, row->argument);
        return 0;
    }
    return set_value(spec, row, words[1]) ? 2 : 0;
}

int
options_parse(const struct options_spec *spec, int argc, char **argv, const char **positional,
              int max_positional)
{
    assert(argc >= 1);
    int n_positional = 0;
    bool may_be_option = true;
    for (int i = 1; i < argc;) {
        const char *word = argv[i];
        if (may_be_option && strcmp(word, "--") == 0) {
            may_be_option = false;
            i++;
        } else if (may_be_option && (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0)) {
            print_help(spec);
            return OPTIONS_HELP;
        } else if (may_be_option && strncmp(word, "--", 2) == 0) {
            const int n_taken = take_option(spec, argc - i, argv + i);
            if (n_taken == 0)
                return OPTIONS_BAD;
            i += n_taken;
        } else if (may_be_option && word[0] == '-' && word[1] != '\0') {
            options_refuse(spec, "'%s' is no option; long options begin with two dashes", word);
            return OPTIONS_BAD;
        } else if (n_positional == max_positional) {
            options_refuse(spec, "'%s' is one word too many", word);
            return OPTIONS_BAD;
        } else {
            positional[n_positional++] = word;
            i++;
        }
    }
    return n_positional;
}
