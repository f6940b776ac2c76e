#include "cli/say.h"

#include "base/catalogue.h"
#include "base/fileio.h"
#include "base/log.h"
#include "base/message_words.h"
#include "base/str.h"
#include "base/utf8.h"
#include "paper/phrase.h"
#include "runner/words.h"
#include "store/settings.h"
#include "store/store.h"

#include <math.h>
#include <string.h>

_Static_assert(SAY_MAX >= MESSAGE_WORDS_MAX, "any message's words fit");

/* Set before the command begins, and only read from then on. */
static struct catalogue said_in;

/* ---------------------------------------------------------------- which language */

/* What is wrong with the settings says whoever needs them. */
static bool
of_clinic(char language[3])
{
    char folder[FILEIO_PATH_MAX], path[FILEIO_PATH_MAX];
    struct settings settings;
    struct message why;
    if (fileio_data_folder(folder, sizeof folder, &why) != ERR_OK ||
        fileio_join(path, sizeof path, folder, STORE_FILE_NAME, &why) != ERR_OK ||
        settings_load(path, &settings, &why) != ERR_OK || settings.language[0] == '\0')
        return false;
    str_copy(language, 3, settings.language);
    return true;
}

void
say_open(void)
{
    char language[3];
    struct message why;
    catalogue_init(&said_in);
    if (!of_clinic(language))
        words_of_environment(NULL, language);
    if (words_catalogue(&said_in, language, NULL, &why) != ERR_OK)
        say_note_of(&why);
}

void
say_close(void)
{
    catalogue_close(&said_in);
}

/* ---------------------------------------------------------------- words */

const struct catalogue *
say_catalogue(void)
{
    return &said_in;
}

const char *
say_word(const char *english)
{
    return catalogue_of(&said_in, NULL, english);
}

const char *
say_table_word(const char *english)
{
    return catalogue_of(&said_in, "table", english);
}

const char *
say_number(char out[SAY_NUMBER_MAX], double value, int digits)
{
    if (!isfinite(value))
        return "-";
    return phrase_number(&said_in, out, value, digits);
}

const char *
say_typed(char out[SAY_NUMBER_MAX], double value)
{
    snprintf(out, SAY_NUMBER_MAX, "%.10g", value);
    return out;
}

void
say_fill_put(struct message *m, enum message_code code, const struct message_arg *arg, int n)
{
    if (n == 0)
        message_init(m, code);
    else
        message_put(m, code, arg, n);
}

const char *
say_text_of(const struct message *m, char out[SAY_MAX])
{
    return message_words(m, &said_in, out, SAY_MAX);
}

const char *
say_text_put(char out[SAY_MAX], enum message_code code, const struct message_arg *arg, int n)
{
    struct message m;
    say_fill_put(&m, code, arg, n);
    return say_text_of(&m, out);
}

/* ---------------------------------------------------------------- lines */

void
say_line_put(FILE *f, enum message_code code, const struct message_arg *arg, int n)
{
    char text[SAY_MAX];
    utf8_print(f, "%s\n", say_text_put(text, code, arg, n));
}

void
say_note_of(const struct message *m)
{
    char text[SAY_MAX];
    log_note("%s", say_text_of(m, text));
}

void
say_note_put(enum message_code code, const struct message_arg *arg, int n)
{
    struct message m;
    say_fill_put(&m, code, arg, n);
    say_note_of(&m);
}

void
say_as_of(const char *command, const struct message *m)
{
    char text[SAY_MAX];
    utf8_print(stderr, "underfoot %s: %s\n", command, say_text_of(m, text));
}

void
say_as_put(const char *command, enum message_code code, const struct message_arg *arg, int n)
{
    struct message m;
    say_fill_put(&m, code, arg, n);
    say_as_of(command, &m);
}
