#include "base/message_words.h"
#include "base/str.h"
#include "base/utf8.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#define GONE "\xef\xbf\xbd" /* U+FFFD, the replacement character (Unicode 15, chapter 23.8) */

/* Unicode 15, table 3-7, well-formed UTF-8 byte sequences: the first and last of each row, and what lies beside them. */
Test(utf8, what_is_utf8_is_as_the_standard_has_it)
{
    static const struct {
        const char *text;
        int len;
    } rows[] = {
        { "a", 1 },          { "\x7f", 1 },          { "\xc2\x80", 2 },         { "\xdf\xbf", 2 },
        { "\xe0\xa0\x80", 3 }, { "\xed\x9f\xbf", 3 },  { "\xee\x80\x80", 3 },     { "\xef\xbf\xbf", 3 },
        { "\xf0\x90\x80\x80", 4 }, { "\xf4\x8f\xbf\xbf", 4 },
        { "\x80", 0 },       { "\xc1\xbf", 0 },      { "\xc2", 0 },             { "\xc2g", 0 },
        { "\xe0\x9f\xbf", 0 }, { "\xed\xa0\x80", 0 },  { "\xe2\x82", 0 },
        { "\xf0\x8f\xbf\xbf", 0 }, { "\xf4\x90\x80\x80", 0 }, { "\xf5\x80\x80\x80", 0 }, { "\xff", 0 },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_eq(utf8_len(rows[i].text), rows[i].len, "row %zu", i);
}

Test(utf8, a_text_is_kept_or_refused_for_the_first_thing_that_is_wrong)
{
    static const struct {
        const char *text;
        size_t cap;
        bool has_lines;
        enum utf8_fault fault;
    } rows[] = {
        { "", 1, false, UTF8_IS_FINE },
        { "left knee", 10, false, UTF8_IS_FINE },
        { "left knee", 9, false, UTF8_IS_TOO_LONG },
        { "Sp\xc3\xbcren", 16, false, UTF8_IS_FINE },
        { "Sp\xfcren", 16, false, UTF8_IS_BROKEN }, /* the same in Latin-1 */
        { "a\nb\tc", 16, true, UTF8_IS_FINE },
        { "a\nb", 16, false, UTF8_HAS_CONTROL },
        { "a\rb", 16, true, UTF8_HAS_CONTROL },
        { "\x1b[2J", 16, true, UTF8_HAS_CONTROL },     /* ECMA-48: erases the screen */
        { "\xc2\x9b" "2J", 16, true, UTF8_HAS_CONTROL }, /* the same by its one-letter introducer */
        { "a\xe2\x80\xae" "b", 16, true, UTF8_HAS_CONTROL }, /* U+202E turns what follows */
        { "\x7f", 16, true, UTF8_HAS_CONTROL },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_eq(utf8_judge(rows[i].text, rows[i].cap, rows[i].has_lines), rows[i].fault, "row %zu", i);
}

Test(utf8, a_refusal_says_what_how_long_and_what_to_do)
{
    struct message m;
    char words[256];
    cr_assert_eq(utf8_enter("12345", 4, false, "the note", &m), ERR_USAGE);
    cr_assert_str_eq(message_words(&m, NULL, words, sizeof words), "the note has 5 bytes, and there is room for 3: shorten it");
    cr_assert_eq(utf8_enter("\xfc", 4, false, "the note", &m), ERR_USAGE);
    cr_assert(strstr(message_words(&m, NULL, words, sizeof words), "the note is not UTF-8"));
    cr_assert_eq(utf8_enter("\x1b", 4, false, "the note", &m), ERR_USAGE);
    cr_assert(strstr(message_words(&m, NULL, words, sizeof words), "control sign"));
    cr_assert_eq(utf8_enter("1\n2", 4, true, "the note", &m), ERR_OK);
}

Test(utf8, what_is_shown_holds_nothing_that_a_terminal_obeys)
{
    char out[64];
    cr_assert(utf8_show(out, sizeof out, "Sp\xfcr \x1b[31mred\xc2\x9b" "0m\r\n\tok \xe2\x80\xae!"));
    cr_assert_str_eq(out, "Sp" GONE "r " GONE "[31mred" GONE "0m" GONE "\n\tok " GONE "!");
}

Test(utf8, what_has_no_room_ends_with_its_sign_at_a_whole_letter)
{
    char out[64];
    for (size_t cap = 4; cap < 24; cap++) {
        const bool fits = utf8_show(out, cap, "\xc3\xbc\xe2\x82\xac" "abc\xf0\x9f\x91\x9f"); /* 12 bytes */
        cr_assert_eq(fits, cap >= 13, "cap %zu", cap);
        cr_assert_lt(strlen(out), cap);
        cr_assert_eq(utf8_judge(out, sizeof out, false), UTF8_IS_FINE, "cap %zu", cap);
        cr_assert_eq(str_ends_with(out, "\xe2\x80\xa6"), !fits, "cap %zu: %s", cap, out);
    }
}

Test(utf8, a_printed_line_is_shown_whole_however_long_it_is)
{
    const size_t n = 9000;
    char *text = malloc(n + 1), *read = calloc(1, 4 * n);
    FILE *f = tmpfile();
    cr_assert(text && read && f);
    memset(text, '\x1b', n);
    text[n] = '\0';
    cr_assert(utf8_print(f, "<%s>\n", text));
    rewind(f);
    cr_assert_eq(fread(read, 1, 4 * n, f), 3 * n + 3);
    cr_assert_eq(read[0], '<');
    cr_assert_eq(memcmp(read + 3 * n - 2, GONE ">\n", 5), 0);
    cr_assert_null(memchr(read, '\x1b', 4 * n));
    fclose(f);
    free(text);
    free(read);
}
