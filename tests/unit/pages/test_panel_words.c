/* The panel's words: catalogues of five languages, what is filled in, English where a language says nothing. */
#include "pages/panel_words.h"

#include "aid/made_catalogue.h"

#include <criterion/criterion.h>
#include <string.h>

static struct panel_words words;

static enum err
load(const struct made_pair *pairs, size_t n)
{
    char folder[] = "/tmp/underfoot-words-XXXXXX";
    const struct made_catalogue m = made_catalogue_of(pairs, n);
    made_catalogue_install(&m, folder);
    const enum err err = panel_words_load(&words, "qq", folder);
    made_catalogue_remove(folder);
    return err;
}

Test(panel_words, what_a_language_leaves_out_is_english)
{
    static const struct made_pair pairs[] = { MADE_PAIR("Save", "Speichern") };
    cr_assert_eq(load(pairs, 1), ERR_OK, "%s", message_english(&words.why));
    cr_assert_str_eq(panel_words_of(&words, "Save"), "Speichern");
    cr_assert_str_eq(panel_words_of(&words, "save"), "save", "another word");
    cr_assert_str_eq(panel_words_of(&words, "Edit"), "Edit");
    cr_assert_str_eq(panel_words_of(NULL, "Save"), "Save");
    cr_assert(!panel_words_are_english(&words) && panel_words_are_english(NULL));
    panel_words_close(&words);
    cr_assert_str_eq(panel_words_of(&words, "Save"), "Save");
}

Test(panel_words, parts_are_filled_in_in_any_order)
{
    char out[40];
    static const struct made_pair pairs[] = { MADE_PAIR("{1} of the {2}", "von {2}: {1}") };
    cr_assert_eq(load(pairs, 1), ERR_OK, "%s", message_english(&words.why));
    cr_assert_str_eq(panel_words_fill(&words, out, sizeof out, "{1} of the {2}", (const char *const[]){ "3", "8" }, 2),
                     "von 8: 3");
    cr_assert_str_eq(panel_words_fill(NULL, out, sizeof out, "{1} of the {2}", (const char *const[]){ "3", "8" }, 2),
                     "3 of the 8");
    cr_assert_str_eq(panel_words_of(&words, "1 of the 2"), "1 of the 2", "what is filled in is no text to fill");
    cr_assert_str_eq(panel_words_fill(NULL, out, sizeof out, "{1} {3} {x} {", (const char *const[]){ "%s{1}" }, 1),
                     "%s{1} {3} {x} {", "what is not there stays; what is filled in is not looked at again");
    cr_assert_str_eq(panel_words_fill(NULL, out, 6, "{1}, so", (const char *const[]){ "abc" }, 1), "abc, ");
    cr_assert_str_eq(panel_words_fill(NULL, out, 3, "{1}, so", (const char *const[]){ "abc" }, 1), "ab");
    panel_words_close(&words);
}

Test(panel_words, a_wrong_file_is_told_and_english)
{
    static const struct made_pair wrong[] = { MADE_PAIR("b", "B"), MADE_PAIR("a", "A") };
    cr_assert_eq(load(wrong, 2), ERR_FORMAT);
    cr_assert(strstr(message_english(&words.why), "qq.mo"), "%s", message_english(&words.why));
    cr_assert_str_eq(panel_words_of(&words, "b"), "b");
    cr_assert(panel_words_are_english(&words));
    cr_assert_eq(panel_words_load(&words, "qq", NULL), ERR_GONE);
    cr_assert_eq(panel_words_load(&words, "../x", NULL), ERR_USAGE);
}

Test(panel_words, english_needs_no_file)
{
    cr_assert_eq(panel_words_load(&words, "en", "/nowhere"), ERR_OK, "%s", message_english(&words.why));
    cr_assert_str_eq(panel_words_of(&words, "Save"), "Save");
}

Test(panel_words, the_decimal_sign_is_the_languages)
{
    static const struct made_pair pairs[] = { MADE_PAIR("runner\4.", ",") };
    cr_assert_str_eq(panel_words_decimal(NULL), ".");
    cr_assert_eq(load(pairs, 1), ERR_OK, "%s", message_english(&words.why));
    cr_assert_str_eq(panel_words_decimal(&words), ",");
    panel_words_close(&words);
    cr_assert_str_eq(panel_words_decimal(&words), ".");
}
