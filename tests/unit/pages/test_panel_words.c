/* The panel's words: keys, files of five languages, what is filled in, English where a file says nothing. */
#include "pages/panel_words.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct panel_words words, english;

static enum err
load(const char *text)
{
    char folder[] = "/tmp/underfoot-words-XXXXXX", path[64];
    cr_assert(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/panel-qq.ini", folder);
    FILE *f = fopen(path, "w");
    cr_assert(f && fputs(text, f) >= 0 && fclose(f) == 0);
    const enum err err = panel_words_load(&words, "qq", folder);
    unlink(path);
    rmdir(folder);
    return err;
}

Test(panel_words, a_key_is_the_letters_and_digits_of_the_english_text)
{
    static const char *const rows[][2] = {
        { "Pain now, 0 to 10?", "Pain_now_0_to_10" }, { "visit", "visit" },
        { "Visit", "Visit" },                         { "  Skip\xE2\x80\xA6", "Skip" },
        { "{1}, {2} steps", "x1_x2_steps" },          { "don't save", "don_t_save" },
        { "\xE2\x80\x93", "" },                       { "", "" },
        { "a text that is much longer than any key may be, by far", "a_text_that_is_much_longer_than_any_key" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char key[PANEL_WORDS_KEY_MAX];
        panel_words_key(rows[i][0], key);
        cr_assert(strncmp(key, rows[i][1], strlen(rows[i][1])) == 0 && strlen(key) < PANEL_WORDS_KEY_MAX, "%s: %s",
                  rows[i][0], key);
        cr_assert(i == 8 || strlen(key) == strlen(rows[i][1]), "%s: %s", rows[i][0], key);
    }
}

Test(panel_words, what_a_file_leaves_out_is_english)
{
    cr_assert_eq(load("[panel]\nSave = Speichern\n"), ERR_OK, "%s", words.why);
    cr_assert_str_eq(panel_words_of(&words, "Save"), "Speichern");
    cr_assert_str_eq(panel_words_of(&words, "save"), "save", "another word");
    cr_assert_str_eq(panel_words_of(&words, "Edit"), "Edit");
    cr_assert_str_eq(panel_words_of(&words, "\xE2\x80\x93"), "\xE2\x80\x93");
    cr_assert_str_eq(panel_words_of(NULL, "Save"), "Save");
}

Test(panel_words, parts_are_filled_in_in_any_order)
{
    char out[40];
    cr_assert_eq(load("[panel]\nx1_of_the_x2 = von {2}: {1}\n"), ERR_OK, "%s", words.why);
    cr_assert_str_eq(panel_words_fill(&words, out, sizeof out, "{1} of the {2}", (const char *const[]){ "3", "8" }, 2),
                     "von 8: 3");
    cr_assert_str_eq(panel_words_fill(NULL, out, sizeof out, "{1} of the {2}", (const char *const[]){ "3", "8" }, 2),
                     "3 of the 8");
    cr_assert_str_eq(panel_words_of(&words, "1 of the 2"), "1 of the 2", "what is filled in is no text to fill");
    cr_assert_str_eq(panel_words_fill(NULL, out, sizeof out, "{1} {3} {x} {", (const char *const[]){ "%s{1}" }, 1),
                     "%s{1} {3} {x} {", "what is not there stays; what is filled in is not looked at again");
    cr_assert_str_eq(panel_words_fill(NULL, out, 6, "{1}, so", (const char *const[]){ "abc" }, 1), "abc, ");
    cr_assert_str_eq(panel_words_fill(NULL, out, 3, "{1}, so", (const char *const[]){ "abc" }, 1), "ab");
}

Test(panel_words, a_long_text_goes_on_in_the_next_line)
{
    cr_assert_eq(load("[panel]\nSave = one\n    two\n    three\nEdit = four\n"), ERR_OK, "%s", words.why);
    cr_assert_str_eq(panel_words_of(&words, "Save"), "one two three");
    cr_assert_str_eq(panel_words_of(&words, "Edit"), "four");
}

Test(panel_words, a_wrong_file_gives_its_line_and_english)
{
    static const struct {
        const char *text;
        int line;
    } rows[] = {
        { "[panel]\nSave\n", 2 },
        { "[words]\nSave = x\n", 2 },
        { "[panel]\nSave =\n", 2 },
        { "[panel]\nEdit = x\nthis_key_is_longer_than_any_english_text_can_ever_make_it = x\n", 3 },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char line[24];
        snprintf(line, sizeof line, "line %d", rows[i].line);
        cr_assert_eq(load(rows[i].text), ERR_FORMAT, "row %zu", i);
        cr_assert(strstr(words.why, line), "%s", words.why);
        cr_assert_str_eq(panel_words_of(&words, "Save"), "Save");
    }
    cr_assert_eq(panel_words_load(&words, "qq", "assets"), ERR_OS);
    cr_assert_eq(panel_words_load(&words, "../x", "assets"), ERR_USAGE);
}

/* Which of {1}..{9} a text has, a bit each. */
static unsigned
parts_of(const char *text)
{
    unsigned bits = 0;
    for (const char *c = text; *c; c++)
        if (c[0] == '{' && c[1] >= '1' && c[1] <= '9' && c[2] == '}')
            bits |= 1u << (c[1] - '0');
    return bits;
}

Test(panel_words, all_languages_say_the_same_things_with_the_same_parts)
{
    static const char *const languages[] = { "de", "fr", "es", "ja" };
    cr_assert_eq(panel_words_load(&english, "en", "assets"), ERR_OK, "%s", english.why);
    cr_assert_gt(english.n, 200);
    for (size_t l = 0; l < sizeof languages / sizeof *languages; l++) {
        cr_assert_eq(panel_words_load(&words, languages[l], "assets"), ERR_OK, "%s", words.why);
        cr_assert_eq(words.n, english.n, "%s: %d of %d", languages[l], words.n, english.n);
        for (int i = 0; i < words.n; i++) {
            cr_assert_str_eq(words.row[i].key, english.row[i].key, "%s", languages[l]);
            cr_assert_eq(parts_of(words.row[i].text), parts_of(english.row[i].text), "%s: %s", languages[l], words.row[i].text);
        }
    }
}

Test(panel_words, no_key_stands_twice_and_each_is_that_of_its_english_text)
{
    cr_assert_eq(panel_words_load(&english, "en", "assets"), ERR_OK, "%s", english.why);
    for (int i = 0; i < english.n; i++) {
        char key[PANEL_WORDS_KEY_MAX];
        panel_words_key(english.row[i].text, key);
        cr_assert_str_eq(key, english.row[i].key);
        cr_assert(i == 0 || strcmp(english.row[i].key, english.row[i - 1].key) != 0, "%s", key);
    }
}
