#include "base/message_words.h"
#include "base/options.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

struct values {
    bool window;
    const char *port;
    double mass_kg, rate_hz;
    const char *target[3];
    const char *words[2];
    struct message why;
};

static int
parse(struct values *v, int argc, char **argv)
{
    *v = (struct values){ .mass_kg = NAN };
    const struct option_row rows[] = {
        { .name = "window", .type = OPTION_FLAG, .help = "in a window", .flag = &v->window },
        { .name = "port", .type = OPTION_TEXT, .argument = "P", .help = "port", .text = &v->port },
        { .name = "mass", .type = OPTION_NUMBER, .argument = "KG", .help = "body mass",
          .number = &v->mass_kg, .min = 20, .max = 300 },
        { .name = "target", .type = OPTION_LIST, .argument = "M=LO:HI", .help = "target", .text = v->target,
          .max = 2 },
        { .name = "rate", .type = OPTION_NUMBER, .argument = "HZ", .help = "rate", .number = &v->rate_hz, .min = 0.5,
          .max = INFINITY },
    };
    const struct options_spec spec = { "live", "[FILE]", "A test.", rows, 5 };
    return options_parse(&spec, argc, argv, v->words, 2, &v->why);
}

#define PARSE(v, ...)                                                           \
    parse((v), (int) (sizeof((char *[]){ "live", __VA_ARGS__ }) / sizeof(char *)), \
          (char *[]){ "live", __VA_ARGS__ })

Test(options, both_spellings_and_positional_words)
{
    struct values v;
    cr_assert_eq(PARSE(&v, "--port=/dev/x", "a.rec", "--mass", "71.5", "--window", "--", "--b"), 2);
    cr_assert(v.window);
    cr_assert_str_eq(v.port, "/dev/x");
    cr_assert_eq(v.mass_kg, 71.5);
    cr_assert_str_eq(v.words[0], "a.rec");
    cr_assert_str_eq(v.words[1], "--b");
}

Test(options, a_list_keeps_all)
{
    struct values v;
    cr_assert_eq(PARSE(&v, "--target", "a=1:2", "--target=b=3:4", "-"), 1);
    cr_assert_str_eq(v.target[0], "a=1:2");
    cr_assert_str_eq(v.target[1], "b=3:4");
    cr_assert_str_eq(v.words[0], "-");
}

/* Each must be refused, with a message that holds the words given. */
#define REFUSED(name, said, ...)                                            \
    Test(options, name)                                                     \
    {                                                                       \
        struct values v;                                                    \
        char text[MESSAGE_WORDS_MAX];                                       \
        cr_assert_eq(PARSE(&v, __VA_ARGS__), OPTIONS_BAD);                  \
        message_words(&v.why, NULL, text, sizeof text);                     \
        cr_assert(strstr(text, said), "%s", text);                          \
    }

REFUSED(unknown_option, "--speeed is no option", "--speeed", "3")
REFUSED(number_out_of_range, "--mass 700 is out of range; give a number from 20 to 300", "--mass", "700")
REFUSED(text_for_a_number, "--mass 'heavy' is not a number", "--mass", "heavy")
REFUSED(nan_for_a_number, "--mass 'nan' is not a number", "--mass=nan")
REFUSED(missing_value, "--port needs a value: P", "--window", "--port")
REFUSED(empty_value, "--port '' is empty", "--port=")
REFUSED(value_for_a_flag, "--window takes no value, but 'yes'", "--window=yes")
REFUSED(one_word_too_many, "'c' is one word too many", "a", "b", "c")
REFUSED(single_dash, "'-w' is no option", "-w")
REFUSED(list_overflow, "at most 2 times", "--target", "a", "--target", "b", "--target", "c")

REFUSED(number_too_small, "--rate -1 is out of range; give a number of at least 0.5", "--rate", "-1")

Test(options, help_wins_over_what_follows)
{
    struct values v;
    cr_assert_eq(PARSE(&v, "--help", "--nonsense"), OPTIONS_HELP);
}
