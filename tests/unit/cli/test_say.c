/* What commands say: in which language, on which side of a column, and a help made of its table. */
#include "aid/made_catalogue.h"
#include "cli/say.h"
#include "cli/say_options.h"
#include "cli/say_table.h"
#include "sim/cast.h"

#include <criterion/criterion.h>
#include <criterion/redirect.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char assets[] = "/tmp/underfoot-say-XXXXXX";

/* A language qq, in order of their bytes: heads of a table have their context before them. */
static const struct made_pair WORDS[] = {
    MADE_PAIR("", "Content-Type: text/plain; charset=UTF-8\nLanguage: qq\n"),
    MADE_PAIR("'{1}' is no command; `underfoot --help` lists them", "QQ {1}"),
    MADE_PAIR("body mass", "QQ mass"),
    MADE_PAIR("options:", "QQ options:"),
    MADE_PAIR("runner\004.", ","),
    MADE_PAIR("table\004code", "番号"),
    MADE_PAIR("table\004mass kg", "QQ long head"),
};

static void
set_up(void)
{
    const struct made_catalogue m = made_catalogue_of(WORDS, sizeof WORDS / sizeof *WORDS);
    unsetenv("LC_ALL");
    unsetenv("LC_MESSAGES");
    unsetenv("LANG");
    unsetenv("LANGUAGE");
    made_catalogue_install(&m, assets);
    setenv("UNDERFOOT_ASSETS", assets, 1);
    setenv("UNDERFOOT_DATA", assets, 1); /* no settings there, unless a test puts some */
}

static void
tear_down(void)
{
    char path[128];
    say_close();
    snprintf(path, sizeof path, "%s/settings.ini", assets);
    unlink(path);
    made_catalogue_remove(assets);
}

TestSuite(say, .init = set_up, .fini = tear_down);

/* All that a stream was given since the test began. */
static void
read_all(FILE *f, char *text, size_t cap)
{
    fflush(NULL);
    text[fread(text, 1, cap - 1, f)] = '\0';
}

static const char *
no_command(void)
{
    static char out[SAY_MAX];
    return say_text(out, MESSAGE_CLI_NO_COMMAND, "x");
}

static void
put_settings(const char *text)
{
    char path[128];
    snprintf(path, sizeof path, "%s/settings.ini", assets);
    FILE *f = fopen(path, "w");
    cr_assert(f != NULL);
    fputs(text, f);
    fclose(f);
}

Test(say, the_language_is_the_first_of_the_environment_that_says_anything)
{
    setenv("LANG", "qq_QQ.UTF-8", 1);
    say_open();
    cr_expect_str_eq(no_command(), "QQ x");
    say_close();
    setenv("LC_MESSAGES", "C", 1);
    say_open();
    cr_expect_str_eq(no_command(), "'x' is no command; `underfoot --help` lists them");
    say_close();
    setenv("LC_ALL", "qq", 1);
    say_open();
    cr_expect_str_eq(no_command(), "QQ x");
}

Test(say, c_and_posix_and_a_language_without_words_are_english_and_nothing_is_told)
{
    static const char *const values[] = { "C", "POSIX", "C.UTF-8", "it_IT.UTF-8", "english", "" };
    char told[256];
    cr_redirect_stderr();
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        setenv("LC_ALL", values[i], 1);
        say_open();
        cr_expect(strstr(no_command(), "is no command"), "%s", values[i]);
        say_close();
    }
    read_all(cr_get_redirected_stderr(), told, sizeof told);
    cr_expect_str_eq(told, "");
}

Test(say, a_broken_catalogue_is_told_once_and_all_is_english)
{
    struct made_catalogue m = made_catalogue_of(WORDS, sizeof WORDS / sizeof *WORDS);
    char told[1024], path[128];
    snprintf(path, sizeof path, "%s/languages/qq.mo", assets);
    FILE *f = fopen(path, "w");
    fwrite(m.bytes, 1, m.len / 2, f);
    fclose(f);
    setenv("LC_ALL", "qq", 1);
    cr_redirect_stderr();
    say_open();
    cr_expect(strstr(no_command(), "is no command"));
    cr_expect(strstr(no_command(), "is no command"));
    read_all(cr_get_redirected_stderr(), told, sizeof told);
    cr_expect(strncmp(told, "underfoot: ", 11) == 0 && strstr(told, "qq.mo"), "%s", told);
    cr_expect_eq(strchr(told, '\n'), told + strlen(told) - 1, "one line: %s", told);
}

Test(say, the_clinics_choice_comes_before_the_environment)
{
    char told[1024];
    setenv("LC_ALL", "C", 1);
    put_settings("[clinic]\nlanguage = qq\n");
    say_open();
    cr_expect_str_eq(no_command(), "QQ x");
    say_close();
    setenv("LC_ALL", "qq", 1);
    put_settings("[clinic]\nlanguage = en\n");
    say_open();
    cr_expect(strstr(no_command(), "is no command"));
    say_close();
    put_settings("[clinic]\nlanguage = zz\n");
    cr_redirect_stderr();
    say_open();
    cr_expect(strstr(no_command(), "is no command"));
    read_all(cr_get_redirected_stderr(), told, sizeof told);
    cr_expect(strstr(told, "zz"), "a choice that there are no words for is told: %s", told);
}

Test(say, figures_have_the_languages_decimal_sign_and_what_is_typed_a_point)
{
    char out[SAY_NUMBER_MAX];
    cr_expect_str_eq(say_number(out, 71.5, 1), "71.5");
    setenv("LC_ALL", "qq", 1);
    say_open();
    cr_expect_str_eq(say_number(out, 71.5, 1), "71,5");
    cr_expect_str_eq(say_number(out, (double) NAN, 1), "-");
    cr_expect_str_eq(say_typed(out, 0.5), "0.5");
}

static const struct say_column COLUMNS[] = { { "code", 6, 0, false }, { "mass kg", 8, 2, true }, { "shoe", 0, 2, false } };

Test(say, a_table_keeps_its_columns_where_heads_are_wider)
{
    static const char *const row[] = { "R-014", "71,5", "road" };
    char text[512];
    cr_redirect_stdout();
    say_head(stdout, COLUMNS, 3);
    say_row(stdout, COLUMNS, 3, row);
    setenv("LC_ALL", "qq", 1);
    say_open();
    say_head(stdout, COLUMNS, 3);
    say_row(stdout, COLUMNS, 3, row);
    read_all(cr_get_redirected_stdout(), text, sizeof text);
    cr_expect_str_eq(text, "code     mass kg  shoe\n"
                           "R-014       71,5  road\n"
                           "番号    QQ long head  shoe\n"
                           "R-014           71,5  road\n");
}

Test(say, a_help_is_made_of_the_table_of_options_in_the_language)
{
    double mass_kg = NAN;
    bool is_json = false;
    const char *word[1];
    const struct option_row rows[] = {
        { "mass", OPTION_NUMBER, "KG", "body mass", NULL, NULL, &mass_kg, 0.5, 300 },
        { "json", OPTION_FLAG, NULL, "as JSON", &is_json, NULL, NULL, 0, 0 },
    };
    const struct options_spec spec = { "test", "[FILE]", "A summary.", rows, 2 };
    char text[1024];
    cr_redirect_stdout();
    cr_assert_eq(say_options(&spec, 2, (char *[]){ "test", "--help" }, word, 1), OPTIONS_HELP);
    setenv("LC_ALL", "qq", 1);
    say_open();
    cr_assert_eq(say_options(&spec, 2, (char *[]){ "test", "--help" }, word, 1), OPTIONS_HELP);
    read_all(cr_get_redirected_stdout(), text, sizeof text);
    cr_expect_str_eq(text, "usage: underfoot test [FILE] [options]\n\nA summary.\n\noptions:\n"
                           "  --mass KG               body mass (0.5 to 300)\n"
                           "  --json                  as JSON\n"
                           "  --help                  this text\n"
                           "usage: underfoot test [FILE] [options]\n\nA summary.\n\nQQ options:\n"
                           "  --mass KG               QQ mass (0.5 to 300)\n"
                           "  --json                  as JSON\n"
                           "  --help                  this text\n");
}

Test(say, a_refusal_is_one_line_that_names_the_command_and_the_help)
{
    const struct options_spec spec = { "test", NULL, "A summary.", NULL, 0 };
    const char *word[1];
    char told[512];
    cr_redirect_stderr();
    cr_assert_eq(say_options(&spec, 2, (char *[]){ "test", "--nonsense" }, word, 1), OPTIONS_BAD);
    cr_assert_eq(say_refuse(&spec, MESSAGE_KEEP_WHICH), 2);
    read_all(cr_get_redirected_stderr(), told, sizeof told);
    cr_expect_str_eq(told, "underfoot test: --nonsense is no option of this command (`underfoot test --help` lists the options)\n"
                           "underfoot test: name the file for the copy (`underfoot test --help` lists the options)\n");
}

/* A help is one text for translators, so that the runner's code stands in it by hand. */
Test(say, helps_name_the_simulated_runner_that_is_taken)
{
    char text[64];
    snprintf(text, sizeof text, "simulated runner (%s)", CAST_RUNNER_DEFAULT);
    cr_expect_str_eq(text, "simulated runner (R-014)");
}
