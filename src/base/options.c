#include "base/options.h"

#include "base/str.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* A limit as one types it. */
static const char *
typed(char out[32], double limit)
{
    snprintf(out, 32, "%.10g", limit);
    return out;
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
set_number(const struct option_row *row, const char *value, struct message *why)
{
    char low[32], high[32];
    double x;
    if (!str_to_double(value, &x)) {
        message_tell(why, MESSAGE_OPTION_NO_NUMBER, row->name, value);
        return false;
    }
    if (x < row->min || x > row->max) {
        if (isfinite(row->min) && isfinite(row->max))
            message_tell(why, MESSAGE_OPTION_OUT_OF_RANGE, row->name, value, typed(low, row->min), typed(high, row->max));
        else if (x < row->min)
            message_tell(why, MESSAGE_OPTION_TOO_SMALL, row->name, value, typed(low, row->min));
        else
            message_tell(why, MESSAGE_OPTION_TOO_LARGE, row->name, value, typed(high, row->max));
        return false;
    }
    *row->number = x;
    return true;
}

static bool
set_value(const struct option_row *row, const char *value, struct message *why)
{
    if (row->type == OPTION_NUMBER)
        return set_number(row, value, why);
    if (value[0] == '\0') {
        message_tell(why, MESSAGE_OPTION_IS_EMPTY, row->name, row->argument);
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
    message_tell(why, MESSAGE_OPTION_TOO_MANY, row->name, value, (int) row->max);
    return false;
}

/* One word that begins with two dashes. Returns how many words it took, 0 when it is wrong. */
static int
take_option(const struct options_spec *spec, int n_words, char **words, struct message *why)
{
    const char *name = words[0] + 2;
    const char *equals = strchr(name, '=');
    const size_t len = equals ? (size_t) (equals - name) : strlen(name);
    const struct option_row *row = find_row(spec, name, len);
    if (!row) {
        char unknown[MESSAGE_PART_MAX + 8];
        snprintf(unknown, sizeof unknown, "%.*s", (int) len, name);
        message_tell(why, MESSAGE_OPTION_UNKNOWN, unknown);
        return 0;
    }
    if (row->type == OPTION_FLAG) {
        if (equals) {
            message_tell(why, MESSAGE_OPTION_TAKES_NO_VALUE, row->name, equals + 1);
            return 0;
        }
        *row->flag = true;
        return 1;
    }
    if (equals)
        return set_value(row, equals + 1, why) ? 1 : 0;
    if (n_words < 2) {
        message_tell(why, MESSAGE_OPTION_NEEDS_VALUE, row->name, row->argument);
        return 0;
    }
    return set_value(row, words[1], why) ? 2 : 0;
}

int
options_parse(const struct options_spec *spec, int argc, char **argv, const char **positional,
              int max_positional, struct message *why)
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
            return OPTIONS_HELP;
        } else if (may_be_option && strncmp(word, "--", 2) == 0) {
            const int n_taken = take_option(spec, argc - i, argv + i, why);
            if (n_taken == 0)
                return OPTIONS_BAD;
            i += n_taken;
        } else if (may_be_option && word[0] == '-' && word[1] != '\0') {
            message_tell(why, MESSAGE_OPTION_IS_SHORT, word);
            return OPTIONS_BAD;
        } else if (n_positional == max_positional) {
            message_tell(why, MESSAGE_OPTION_WORD_TOO_MANY, word);
            return OPTIONS_BAD;
        } else {
            positional[n_positional++] = word;
            i++;
        }
    }
    return n_positional;
}
