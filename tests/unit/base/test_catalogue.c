#include "base/catalogue.h"
#include "base/message.h"

#include "aid/made_catalogue.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const struct made_pair PAIRS[] = { /* in order */
    MADE_PAIR("", "Language: de\nPlural-Forms: nplurals=2; plural=n != 1;\n"),
    MADE_PAIR("1 step\0{1} steps", "{1} Schritt\0{1} Schritte"),
    MADE_PAIR("Back", "Zurück"),
    MADE_PAIR("Empty", ""),
    MADE_PAIR("form\4Back", "Rücken"),
    MADE_PAIR("visit", "Termin"),
};

#define N_PAIRS (sizeof PAIRS / sizeof PAIRS[0])

static enum err
load(struct catalogue *c, const struct made_catalogue *m, struct message *why)
{
    char path[] = "/tmp/underfoot-catalogue-XXXXXX";
    const int fd = mkstemp(path);
    cr_assert(fd >= 0 && write(fd, m->bytes, m->len) == (ssize_t) m->len);
    close(fd);
    const enum err err = catalogue_load(c, path, why);
    unlink(path);
    return err;
}

Test(catalogue, words_are_found_by_text_and_context)
{
    struct catalogue c;
    struct message why;
    char language[8];
    const struct made_catalogue m = made_catalogue_of(PAIRS, N_PAIRS);
    cr_assert_eq(load(&c, &m, &why), ERR_OK, "%s", message_english(&why));
    cr_assert_str_eq(catalogue_of(&c, NULL, "Back"), "Zurück");
    cr_assert_str_eq(catalogue_of(&c, "form", "Back"), "Rücken");
    cr_assert_str_eq(catalogue_of(&c, NULL, "visit"), "Termin");
    cr_assert(catalogue_head(&c, "Language", language, sizeof language));
    cr_assert_str_eq(language, "de");
    catalogue_close(&c);
}

Test(catalogue, what_has_no_words_stays_english)
{
    struct catalogue c;
    struct message why;
    const struct made_catalogue m = made_catalogue_of(PAIRS, N_PAIRS);
    cr_assert_eq(load(&c, &m, &why), ERR_OK, "%s", message_english(&why));
    static const char *const NONE[] = { "Bac", "Backs", "back", "Empty", "zebra", "\1", "" };
    for (size_t i = 0; i < sizeof NONE / sizeof NONE[0]; i++)
        cr_assert_eq(catalogue_of(&c, NULL, NONE[i]), NONE[i], "'%s'", NONE[i]);
    static const char back[] = "Back", visit[] = "visit";
    cr_assert_eq(catalogue_of(&c, "for", back), back, "another context");
    cr_assert_eq(catalogue_of(&c, "form", visit), visit);
    cr_assert_eq(catalogue_of(NULL, NULL, back), back);
    catalogue_close(&c);
    cr_assert_eq(catalogue_of(&c, NULL, back), back, "closed: English");
}

Test(catalogue, a_count_takes_its_form)
{
    struct catalogue c;
    struct message why;
    const struct made_catalogue m = made_catalogue_of(PAIRS, N_PAIRS);
    cr_assert_eq(load(&c, &m, &why), ERR_OK, "%s", message_english(&why));
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 1), "{1} Schritt");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 0), "{1} Schritte");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 7), "{1} Schritte");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 visit", "{1} visits", 1), "1 visit");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 visit", "{1} visits", 0), "{1} visits");
    catalogue_close(&c);
}

Test(catalogue, a_form_that_the_catalogue_lacks_is_english)
{
    static const struct made_pair few[] = {
        MADE_PAIR("", "Plural-Forms: nplurals=3; plural=n%10==1 ? 0 : n<5 ? 1 : 2;\n"),
        MADE_PAIR("1 step\0{1} steps", "krok\0kroky"),
    };
    struct catalogue c;
    struct message why;
    const struct made_catalogue m = made_catalogue_of(few, 2);
    cr_assert_eq(load(&c, &m, &why), ERR_OK, "%s", message_english(&why));
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 21), "krok");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 3), "kroky");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 7), "{1} steps");
    catalogue_close(&c);
}

Test(catalogue, any_spoilt_byte_is_refused_or_harmless)
{
    const struct made_catalogue whole = made_catalogue_of(PAIRS, N_PAIRS);
    int n_refused = 0;
    for (size_t at = 0; at < whole.len; at++)
        for (int bit = 0; bit < 8; bit++) {
            struct made_catalogue m = whole;
            struct catalogue c;
            struct message why;
            m.bytes[at] ^= (unsigned char) (1 << bit);
            if (load(&c, &m, &why) != ERR_OK) {
                n_refused++;
                cr_assert(!message_is_none(&why) && !c.bytes);
            }
            cr_assert_not_null(catalogue_of(&c, "form", "Back"));
            cr_assert_not_null(catalogue_count(&c, NULL, "1 step", "{1} steps", 2));
            catalogue_close(&c);
        }
    cr_assert_gt(n_refused, 8 * 28, "the head and the tables: %d", n_refused);
}

Test(catalogue, a_cut_file_is_refused)
{
    const struct made_catalogue whole = made_catalogue_of(PAIRS, N_PAIRS);
    for (size_t len = 0; len < whole.len; len++) {
        struct made_catalogue m = whole;
        struct catalogue c;
        struct message why;
        m.len = len;
        cr_assert_eq(load(&c, &m, &why), ERR_FORMAT, "%zu bytes", len);
    }
}

Test(catalogue, texts_out_of_order_are_refused)
{
    static const struct made_pair wrong[] = { MADE_PAIR("b", "B"), MADE_PAIR("a", "A") };
    struct catalogue c;
    struct message why;
    const struct made_catalogue m = made_catalogue_of(wrong, 2);
    cr_assert_eq(load(&c, &m, &why), ERR_FORMAT);
    cr_assert(strstr(message_english(&why), "not in order"), "%s", message_english(&why));
}

Test(catalogue, the_other_byte_order_is_read)
{
    struct made_catalogue m = made_catalogue_of(PAIRS, N_PAIRS);
    struct catalogue c;
    struct message why;
    for (size_t at = 0; at < 28 + 16 * N_PAIRS; at += 4) {
        uint32_t x;
        memcpy(&x, m.bytes + at, 4);
        made_catalogue_put_word(&m, at, __builtin_bswap32(x));
    }
    cr_assert_eq(load(&c, &m, &why), ERR_OK, "%s", message_english(&why));
    cr_assert_str_eq(catalogue_of(&c, NULL, "Back"), "Zurück");
    catalogue_close(&c);
}

Test(catalogue, no_file_is_told_from_a_bad_one)
{
    struct catalogue c;
    struct message why;
    cr_assert_eq(catalogue_load(&c, "/tmp/underfoot-no-such-catalogue.mo", &why), ERR_GONE);
    cr_assert_eq(catalogue_load(&c, "/tmp", &why), ERR_OS, "a folder");
    cr_assert_str_eq(catalogue_of(&c, NULL, "Back"), "Back");
}
