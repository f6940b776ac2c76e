#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <criterion/criterion.h>

#include "aid/made_catalogue.h"
#include "runner/words.h"

static const char *const languages[] = { "en", "de", "fr", "es", "ja" };

static int
n_words(const char *s)
{
    int n = *s != '\0';
    for (; *s != '\0'; s++)
        n += *s == ' ';
    return n;
}

Test(words, every_language_has_every_word_and_cues_of_at_most_three)
{
    for (size_t i = 0; i < sizeof languages / sizeof languages[0]; i++) {
        struct words w;
        cr_assert(words_load(&w, languages[i], NULL) == ERR_OK, "%s", message_english(&w.why));
        for (int c = 1; c < VERDICT_CUE_COUNT; c++)
            cr_assert(n_words(w.cue[c]) >= 1 && n_words(w.cue[c]) <= 3, "%s: %s", languages[i], w.cue[c]);
        cr_assert(strstr(w.word[WORDS_AGO_S], "%s") != NULL && strstr(w.word[WORDS_STEPS], "%s") != NULL);
        for (int m = 0; m < METRIC_COUNT; m++)
            cr_assert_str_neq(w.metric[m], metric_info((enum metric) m)->name, "%s", languages[i]);
        for (int k = 0; k < WORDS_COUNT; k++)
            cr_assert_str_neq(w.word[k], "", "%s, %d", languages[i], k);
    }
}

Test(words, no_two_cues_are_said_alike)
{
    for (size_t i = 0; i < sizeof languages / sizeof languages[0]; i++) {
        struct words w;
        cr_assert(words_load(&w, languages[i], NULL) == ERR_OK, "%s", message_english(&w.why));
        for (int a = 1; a < VERDICT_CUE_COUNT; a++)
            for (int b = a + 1; b < VERDICT_CUE_COUNT; b++)
                cr_assert_str_neq(w.cue[a], w.cue[b]);
    }
}

/* Loads a catalogue of these pairs as language qq. */
static enum err
load(struct words *w, const struct made_pair *pairs, size_t n)
{
    char folder[] = "/tmp/underfoot-words-XXXXXX";
    const struct made_catalogue m = made_catalogue_of(pairs, n);
    made_catalogue_install(&m, folder);
    const enum err err = words_load(w, "qq", folder);
    made_catalogue_remove(folder);
    return err;
}

Test(words, what_a_language_lacks_is_english)
{
    static const struct made_pair pairs[] = { MADE_PAIR("Quicker steps", "of another place"),
                                              MADE_PAIR("runner\4Land nearer", "Naeher") };
    struct words w;
    cr_assert_eq(load(&w, pairs, 2), ERR_OK, "%s", message_english(&w.why));
    cr_assert_str_eq(w.cue[VERDICT_CUE_LAND_NEARER], "Naeher");
    cr_assert_str_eq(w.cue[VERDICT_CUE_QUICKER_STEPS], "Quicker steps");
    cr_assert_str_eq(w.word[WORDS_DECIMAL], ".");
}

Test(words, words_too_long_for_the_screen_are_refused)
{
    static char words_of[WORDS_MAX + 1];
    memset(words_of, 'a', WORDS_MAX);
    const struct made_pair pairs[] = { { "runner\4Land nearer", 18, words_of, WORDS_MAX } };
    struct words w;
    cr_assert_eq(load(&w, pairs, 1), ERR_FORMAT);
    cr_assert(strstr(message_english(&w.why), "Land nearer") && strstr(message_english(&w.why), "too long"), "%s", message_english(&w.why));
}

Test(words, a_language_that_is_not_there_is_told_and_english)
{
    struct words w;
    cr_assert_eq(words_load(&w, "qq", NULL), ERR_GONE);
    cr_assert_not_null(strstr(message_english(&w.why), "qq.mo"), "%s", message_english(&w.why));
    cr_assert_str_eq(w.cue[VERDICT_CUE_QUICKER_STEPS], "Quicker steps");
    cr_assert_str_eq(w.language, "en");
}

Test(words, what_is_no_language_is_refused)
{
    struct words w;
    static const char *const bad[] = { "", "e", "../../etc/passwd", "EN", "english" };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        cr_assert(words_load(&w, bad[i], NULL) == ERR_USAGE, "%s", bad[i]);
    cr_assert(words_load(&w, NULL, NULL) == ERR_USAGE);
}

Test(words, the_languages_that_there_are_stand_in_order)
{
    char text[WORDS_LANGUAGES_MAX], folder[] = "/tmp/words-XXXXXX", path[64];
    words_languages(NULL, text);
    cr_assert_str_eq(text, "de en es fr ja");
    words_languages("/nowhere", text);
    cr_assert_str_eq(text, "en");
    cr_assert(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/languages", folder);
    cr_assert_eq(mkdir(path, 0700), 0);
    static const char *const names[] = { "en.mo", "zz.mo", "XX.mo", "deu.mo", "fr.po" };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(path, sizeof path, "%s/languages/%s", folder, names[i]);
        FILE *f = fopen(path, "w");
        cr_assert(f && fclose(f) == 0);
    }
    words_languages(folder, text);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(path, sizeof path, "%s/languages/%s", folder, names[i]);
        unlink(path);
    }
    snprintf(path, sizeof path, "%s/languages", folder);
    rmdir(path);
    rmdir(folder);
    cr_assert_str_eq(text, "en zz");
}
