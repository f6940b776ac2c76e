#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <criterion/criterion.h>

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
        cr_assert(words_load(&w, languages[i], "assets") == ERR_OK, "%s", w.why);
        for (int c = 1; c < VERDICT_CUE_COUNT; c++)
            cr_assert(n_words(w.cue[c]) >= 1 && n_words(w.cue[c]) <= 3, "%s: %s", languages[i], w.cue[c]);
        cr_assert(strstr(w.word[WORDS_AGO_S], "%s") != NULL && strstr(w.word[WORDS_STEPS], "%s") != NULL);
        for (int m = 0; m < METRIC_COUNT; m++)
            cr_assert_str_neq(w.metric[m], metric_info((enum metric) m)->name, "%s", languages[i]);
    }
}

Test(words, no_two_cues_are_said_alike)
{
    for (size_t i = 0; i < sizeof languages / sizeof languages[0]; i++) {
        struct words w;
        cr_assert(words_load(&w, languages[i], "assets") == ERR_OK, "%s", w.why);
        for (int a = 1; a < VERDICT_CUE_COUNT; a++)
            for (int b = a + 1; b < VERDICT_CUE_COUNT; b++)
                cr_assert_str_neq(w.cue[a], w.cue[b]);
    }
}

/* Writes text as cues-xx.ini in a new folder and loads it. */
static enum err
load_text(struct words *w, const char *text)
{
    char dir[] = "/tmp/underfoot-words-XXXXXX", path[64];
    cr_assert_not_null(mkdtemp(dir));
    snprintf(path, sizeof path, "%s/cues-xx.ini", dir);
    FILE *f = fopen(path, "w");
    cr_assert_not_null(f);
    fputs(text, f);
    fclose(f);
    enum err e = words_load(w, "xx", dir);
    remove(path);
    rmdir(dir);
    return e;
}

Test(words, a_broken_file_is_told_with_its_line)
{
    struct words w;
    cr_assert(load_text(&w, "[cue]\nland_nearer = Land nearer\nland_sideways = Land sideways\n") == ERR_FORMAT);
    cr_assert_not_null(strstr(w.why, "line 3"), "%s", w.why);
    cr_assert(load_text(&w, "[cue]\nland_nearer = Land nearer\n") == ERR_FORMAT);
    cr_assert_not_null(strstr(w.why, "missing"), "%s", w.why);
    cr_assert(load_text(&w, "") == ERR_FORMAT);
}

Test(words, a_language_that_is_not_there_or_no_language_is_refused)
{
    struct words w;
    cr_assert(words_load(&w, "qq", "assets") == ERR_OS);
    cr_assert_not_null(strstr(w.why, "cues-qq.ini"), "%s", w.why);
    static const char *const bad[] = { "", "e", "../../etc/passwd", "EN", "english" };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        cr_assert(words_load(&w, bad[i], "assets") == ERR_USAGE, "%s", bad[i]);
    cr_assert(words_load(&w, NULL, "assets") == ERR_USAGE);
}

Test(words, the_languages_that_there_are_stand_in_order)
{
    char text[WORDS_LANGUAGES_MAX], folder[] = "/tmp/words-XXXXXX", path[64];
    words_languages("assets", text);
    cr_assert_str_eq(text, "de en es fr ja");
    words_languages("/nowhere", text);
    cr_assert_str_empty(text);
    cr_assert(mkdtemp(folder));
    static const char *const names[] = { "cues-en.ini", "cues-zz.ini", "cues-XX.ini", "cues-deu.ini", "panel-fr.ini" };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        FILE *f = fopen(path, "w");
        cr_assert(f && fclose(f) == 0);
    }
    words_languages(folder, text);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        unlink(path);
    }
    rmdir(folder);
    cr_assert_str_eq(text, "en zz");
}
