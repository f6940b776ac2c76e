/* A runner's display choices: each word, each wrong word, and back to text. */
#include "runner/show_as.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#define LANGUAGES "de en es fr ja"

Test(show_as, every_word_is_read_and_said_again)
{
    static const char all[] = "theme=light language=ja distance=3.5 sound=on metronome=172 volume=30";
    struct show_as s;
    char text[SHOW_AS_TEXT_MAX];
    cr_assert(show_as_parse(all, LANGUAGES, &s), "%s", s.wrong);
    cr_assert_eq(s.has, (1u << SHOW_AS_N_KEYS) - 1);
    cr_assert_eq(s.theme, THEME_LIGHT);
    cr_assert_str_eq(s.language, "ja");
    cr_assert_eq(s.distance_m, 3.5);
    cr_assert(s.has_signs && !s.beat_is_target);
    cr_assert_eq(s.beat_spm, 172);
    cr_assert_float_eq(s.volume, 0.3, 1e-12);
    show_as_text(&s, text);
    cr_assert_str_eq(text, all);
}

Test(show_as, nothing_said_is_nothing_chosen)
{
    struct show_as s;
    char text[SHOW_AS_TEXT_MAX];
    static const char *const rows[] = { "", "  ", "\t\n" };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_assert(show_as_parse(rows[i], LANGUAGES, &s));
        cr_assert_eq(s.has, 0);
        show_as_text(&s, text);
        cr_assert_str_empty(text);
    }
}

Test(show_as, the_last_of_a_key_counts_and_a_comma_is_a_point)
{
    struct show_as s;
    char text[SHOW_AS_TEXT_MAX];
    cr_assert(show_as_parse(" metronome=target  theme=light distance=2,25 theme=dark metronome=off sound=off ", LANGUAGES, &s));
    show_as_text(&s, text);
    cr_assert_str_eq(text, "theme=dark distance=2.25 sound=off metronome=off");
    cr_assert(isnan(s.beat_spm) && !s.beat_is_target);
}

/* The wrong word is named with what is allowed, and the right ones hold. */
Test(show_as, a_wrong_word_is_named_and_the_others_hold)
{
    static const struct {
        const char *text, *wrong, *allowed;
    } rows[] = {
        { "theme=purple volume=10", "theme=purple", "theme=dark|light" },
        { "volume=10 foo", "foo", "theme= language= distance= sound= metronome= volume=" },
        { "them=light volume=10", "them=light", "theme= language= distance= sound= metronome= volume=" },
        { "volume=10 theme", "theme", "theme=dark|light" },
        { "theme= volume=10", "theme=", "theme=dark|light" },
        { "volume=10 language=xx", "language=xx", "language=de|en|es|fr|ja" },
        { "volume=10 language=deu", "language=deu", "language=de|en|es|fr|ja" },
        { "volume=10 language=e", "language=e", "language=de|en|es|fr|ja" },
        { "volume=10 distance=0.2", "distance=0.2", "distance=0.3..10 (m)" },
        { "volume=10 distance=far", "distance=far", "distance=0.3..10 (m)" },
        { "volume=10 sound=loud", "sound=loud", "sound=on|off" },
        { "volume=10 metronome=99", "metronome=99", "metronome=100..260|target|off" },
        { "volume=10 metronome=nan", "metronome=nan", "metronome=100..260|target|off" },
        { "volume=10 volume=101 foo", "volume=101", "volume=0..100" },
        { "=light volume=10", "=light", "theme= language= distance= sound= metronome= volume=" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct show_as s;
        char allowed[SHOW_AS_TEXT_MAX];
        cr_expect(!show_as_parse(rows[i].text, LANGUAGES, &s), "%s", rows[i].text);
        cr_expect_str_eq(s.wrong, rows[i].wrong);
        cr_expect_str_eq(show_as_allowed(s.wrong_key, LANGUAGES, allowed), rows[i].allowed, "%s", rows[i].text);
        cr_expect_eq(s.has, 1u << SHOW_AS_VOLUME, "%s", rows[i].text);
        cr_expect_float_eq(s.volume, 0.1, 1e-12, "%s", rows[i].text);
    }
}

Test(show_as, without_a_list_any_two_letters_are_a_language)
{
    struct show_as s;
    cr_assert(show_as_parse("language=xx", NULL, &s) && show_as_parse("language=xx", "", &s));
    cr_assert(!show_as_parse("language=X1", "", &s));
}

Test(show_as, words_longer_than_any_choice_are_cut_and_wrong)
{
    char text[4 * SHOW_AS_TEXT_MAX];
    struct show_as s;
    memset(text, 'a', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    cr_assert(!show_as_parse(text, LANGUAGES, &s));
    cr_assert_eq(strlen(s.wrong), SHOW_AS_TEXT_MAX - 1);
}
