#include "base/message_words.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SRC "src" /* the tests run in the root of the tree */

static const char *const NAME[MESSAGE_N_CODES] = {
    "MESSAGE_NONE",
#define MESSAGE(id, severity, signature, english)         "MESSAGE_" #id,
#define MESSAGE_COUNT(id, severity, signature, one, many) "MESSAGE_" #id,
#include "base/messages.inc"
#undef MESSAGE
#undef MESSAGE_COUNT
};

static struct message m, inner;
static char words[MESSAGE_WORDS_MAX];

/* A message of the code with a parameter of each kind that its signature asks for. */
static void
fill(enum message_code code)
{
    message_init(&m, code);
    for (const char *kind = message_signature(code); *kind != '\0'; kind++) {
        cr_assert_not(message_is_whole(&m));
        switch ((enum message_kind) *kind) {
        case MESSAGE_TEXT:
            message_add(&m, message_text("<text>"));
            break;
        case MESSAGE_WORD:
            message_add(&m, message_word("mat"));
            break;
        case MESSAGE_INTEGER:
            message_add(&m, message_integer(-42));
            break;
        case MESSAGE_REAL:
            message_add(&m, message_real(2.5, 1, MESSAGE_UNIT_NEWTON));
            break;
        case MESSAGE_PATH:
            message_add(&m, message_path("/a/path"));
            break;
        case MESSAGE_PLACE:
            message_add(&m, message_place("/a/file", 7));
            break;
        case MESSAGE_ERRNO:
            message_add(&m, message_errno(ENOENT));
            break;
        case MESSAGE_INNER:
            message_init(&inner, MESSAGE_RESTORE_NOT_CONFIRMED);
            message_add(&m, message_of(&inner));
            break;
        default:
            cr_assert(false, "%s: no kind of parameter is called '%c'", NAME[code], *kind);
        }
    }
    cr_assert(message_is_whole(&m));
}

Test(message, every_code_has_words_and_every_parameter_its_place_in_them)
{
    for (int code = MESSAGE_NONE + 1; code < MESSAGE_N_CODES; code++) {
        const char *text = message_words_template((enum message_code) code);
        const size_t n = strlen(message_signature((enum message_code) code));
        cr_assert(text != NULL && text[0] != '\0', "%s has no words", NAME[code]);
        cr_assert(n <= MESSAGE_MAX_PARTS && strlen(text) < MESSAGE_PART_MAX, "%s", NAME[code]);
        for (size_t i = 0; i < n; i++) {
            const char place[] = { '{', (char) ('1' + i), '}', '\0' };
            cr_expect_not_null(strstr(text, place), "%s: parameter %s is told nowhere", NAME[code], place);
        }
        for (const char *at = strchr(text, '{'); at; at = strchr(at + 1, '{'))
            cr_expect(at[1] >= '1' && at[1] < (char) ('1' + n) && at[2] == '}',
                      "%s: no parameter for '%.3s'", NAME[code], at);
        fill((enum message_code) code);
        cr_expect_null(strchr(message_words(&m, NULL, words, sizeof words), '{'), "%s: %s", NAME[code], words);
    }
}

/* Looks for each code in one source file, comments and all. */
static void
look_for_uses(const char *path, bool is_used[MESSAGE_N_CODES])
{
    static char text[256 * 1024];
    FILE *f = fopen(path, "r");
    cr_assert_not_null(f, "%s", path);
    const size_t len = fread(text, 1, sizeof text - 1, f);
    fclose(f);
    cr_assert_lt(len, sizeof text - 1, "%s is longer than this test can read", path);
    text[len] = '\0';
    for (int code = 0; code < MESSAGE_N_CODES; code++)
        for (const char *at = strstr(text, NAME[code]); at && !is_used[code]; at = strstr(at + 1, NAME[code]))
            is_used[code] = strchr(",);:} ?\n", at[strlen(NAME[code])]) != NULL;
}

Test(message, no_code_is_without_a_use)
{
    bool is_used[MESSAGE_N_CODES] = { false };
    DIR *src = opendir(SRC);
    cr_assert_not_null(src, "run the tests from the root of the tree");
    for (struct dirent *folder = readdir(src); folder; folder = readdir(src)) {
        char path[600];
        snprintf(path, sizeof path, SRC "/%s", folder->d_name);
        DIR *in = folder->d_name[0] == '.' ? NULL : opendir(path);
        if (!in)
            continue;
        for (struct dirent *file = readdir(in); file; file = readdir(in)) {
            const size_t len = strlen(file->d_name);
            if (len > 2 && strcmp(file->d_name + len - 2, ".c") == 0 && strcmp(file->d_name, "message_words.c") != 0) {
                snprintf(path, sizeof path, SRC "/%.100s/%.300s", folder->d_name, file->d_name);
                look_for_uses(path, is_used);
            }
        }
        closedir(in);
    }
    closedir(src);
    for (int code = 0; code < MESSAGE_N_CODES; code++)
        cr_expect(is_used[code], "%s is used nowhere", NAME[code]);
}

Test(message, parameters_come_out_as_people_read_them)
{
    fill(MESSAGE_CALIB_NO_KEY);
    cr_expect_str_eq(message_words(&m, NULL, words, sizeof words), "/a/file:7: no such key: <text>");
    cr_expect_eq(message_severity(m.code), MESSAGE_IS_REFUSAL);

    message_init(&m, MESSAGE_CALIB_SOMEBODY_ON);
    message_add(&m, message_real(686.4, 0, MESSAGE_UNIT_NEWTON));
    message_words(&m, NULL, words, sizeof words);
    cr_expect_eq(strncmp(words, "686 N were taken off: ", 22), 0, "%s", words);
    cr_expect_eq(message_severity(m.code), MESSAGE_IS_WARNING);

    static const struct {
        double value;
        const char *words;
    } rows[] = { { 2.5, "more than the 2.5 % that" }, { 3, "more than the 3 % that" }, { NAN, "more than the – that" } };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        message_init(&m, MESSAGE_CALIB_GAIN_WAS_OFF);
        message_add(&m, message_real(rows[i].value, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_PCT));
        cr_expect_not_null(strstr(message_words(&m, NULL, words, sizeof words), rows[i].words), "%s", words);
    }
    message_init(&m, MESSAGE_NONE);
    cr_expect_str_eq(message_words(&m, NULL, words, sizeof words), "");
    cr_expect_eq(message_severity(m.code), MESSAGE_IS_NOTE);
}

Test(message, a_text_that_is_cut_says_so_a_path_keeps_its_end)
{
    char longer[MESSAGE_PART_MAX + 2];
    memset(longer, 'a', sizeof longer - 1);
    longer[sizeof longer - 1] = '\0';
    message_say(&m, longer + 1); /* just fits */
    cr_expect_not(m.part[0].is_cut);
    cr_expect_str_eq(message_words(&m, NULL, words, sizeof words), longer + 1);

    message_say(&m, longer);
    cr_expect(m.part[0].is_cut);
    message_words(&m, NULL, words, sizeof words);
    cr_expect_eq(strlen(words), MESSAGE_PART_MAX + strlen("…"));
    cr_expect_str_eq(words + MESSAGE_PART_MAX, "…");

    memcpy(longer + MESSAGE_PART_MAX - 1, "é", 2); /* the cut would go through a letter */
    message_say(&m, longer);
    message_words(&m, NULL, words, sizeof words);
    cr_expect_str_eq(words + MESSAGE_PART_MAX - 2, "a…");

    memcpy(longer, "é", 2);
    memcpy(longer + sizeof longer - 8, "end.ini", 8);
    message_init(&m, MESSAGE_CALIB_NOT_OPENED);
    message_add(&m, message_path(longer));
    message_add(&m, message_word("no such thing"));
    cr_expect(m.part[0].is_cut && !m.part[1].is_cut);
    message_words(&m, NULL, words, sizeof words);
    cr_expect_not_null(strstr(words, "calibration …a"), "%s", words);
    cr_expect_not_null(strstr(words, "end.ini cannot be opened: no such thing"), "%s", words);
}

Test(message, texts_that_fill_the_message_up_are_cut_and_none_is_lost_in_silence)
{
    char longer[MESSAGE_PART_MAX + 100] = { 0 };
    message_init(&m, MESSAGE_TARGET_NO_NUMBERS);
    message_add(&m, message_text(memset(longer, 'a', sizeof longer - 1)));
    message_add(&m, message_text(memset(longer, 'b', sizeof longer - 1)));
    message_add(&m, message_text(memset(longer, 'c', sizeof longer - 1)));
    cr_expect(m.part[0].is_cut && m.part[1].is_cut && m.part[2].is_cut);
    message_words(&m, NULL, words, sizeof words);
    const size_t n_a = strspn(words + strlen("target '"), "a");
    const char *rest = words + strlen("target '") + n_a + strlen("…': '");
    cr_expect_eq(n_a, MESSAGE_PART_MAX);
    cr_expect_eq(strspn(rest, "b"), MESSAGE_PART_MAX);
    rest += MESSAGE_PART_MAX + strlen("…:");
    /* What is left, but for its own end and a byte for each parameter that could still come. */
    const size_t n_c = MESSAGE_TEXT_CAP - 2 * (MESSAGE_PART_MAX + 1) - 1 - (MESSAGE_MAX_PARTS - 3);
    cr_expect_eq(strspn(rest, "c"), n_c < MESSAGE_PART_MAX ? n_c : MESSAGE_PART_MAX);
    cr_expect_str_eq(rest + strspn(rest, "c"), "…' are not two numbers");
}

Test(message, words_that_do_not_fit_end_with_a_sign_and_a_whole_letter)
{
    char small[12];
    message_say(&m, "ééééééééé");
    cr_expect_str_eq(message_words(&m, NULL, small, sizeof small), "éééé…");
    message_say(&m, "aéééééééé");
    cr_expect_str_eq(message_words(&m, NULL, small, sizeof small), "aééé…");
    message_say(&m, "elevenbytes");
    cr_expect_str_eq(message_words(&m, NULL, small, sizeof small), "elevenbytes");
}
