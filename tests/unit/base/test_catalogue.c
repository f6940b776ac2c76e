#include "base/catalogue.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* A catalogue as msgfmt writes it: the tests need no gettext to build one, and can spoil any byte. */
struct made {
    unsigned char bytes[4096];
    size_t len;
};

static void
put_word(struct made *m, size_t at, uint32_t x)
{
    memcpy(m->bytes + at, &x, sizeof x);
}

struct pair {
    const char *id;
    size_t id_len;
    const char *words;
    size_t words_len;
};

#define PAIR(id, words) { id, sizeof(id) - 1, words, sizeof(words) - 1 }

static const struct pair PAIRS[] = { /* in order */
    PAIR("", "Language: de\nPlural-Forms: nplurals=2; plural=n != 1;\n"),
    PAIR("1 step\0{1} steps", "{1} Schritt\0{1} Schritte"),
    PAIR("Back", "Zurück"),
    PAIR("Empty", ""),
    PAIR("form\4Back", "Rücken"),
    PAIR("visit", "Termin"),
};

#define N_PAIRS (sizeof PAIRS / sizeof PAIRS[0])

static struct made
make_catalogue(const struct pair *pairs, size_t n)
{
    struct made m = { .len = 28 + 16 * n };
    put_word(&m, 0, 0x950412DEu);
    put_word(&m, 8, (uint32_t) n);
    put_word(&m, 12, 28);
    put_word(&m, 16, (uint32_t) (28 + 8 * n));
    for (size_t table = 0; table < 2; table++)
        for (size_t i = 0; i < n; i++) {
            const char *text = table == 0 ? pairs[i].id : pairs[i].words;
            const size_t len = table == 0 ? pairs[i].id_len : pairs[i].words_len;
            const size_t row = 28 + 8 * (table * n + i);
            put_word(&m, row, (uint32_t) len);
            put_word(&m, row + 4, (uint32_t) m.len);
            memcpy(m.bytes + m.len, text, len + 1);
            m.len += len + 1;
        }
    return m;
}

static enum err
load(struct catalogue *c, const struct made *m, char why[ERR_WHY_MAX])
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
    char why[ERR_WHY_MAX], language[8];
    const struct made m = make_catalogue(PAIRS, N_PAIRS);
    cr_assert_eq(load(&c, &m, why), ERR_OK, "%s", why);
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
    char why[ERR_WHY_MAX];
    const struct made m = make_catalogue(PAIRS, N_PAIRS);
    cr_assert_eq(load(&c, &m, why), ERR_OK, "%s", why);
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
    char why[ERR_WHY_MAX];
    const struct made m = make_catalogue(PAIRS, N_PAIRS);
    cr_assert_eq(load(&c, &m, why), ERR_OK, "%s", why);
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 1), "{1} Schritt");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 0), "{1} Schritte");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 7), "{1} Schritte");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 visit", "{1} visits", 1), "1 visit");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 visit", "{1} visits", 0), "{1} visits");
    catalogue_close(&c);
}

Test(catalogue, a_form_that_the_catalogue_lacks_is_english)
{
    static const struct pair few[] = {
        PAIR("", "Plural-Forms: nplurals=3; plural=n%10==1 ? 0 : n<5 ? 1 : 2;\n"),
        PAIR("1 step\0{1} steps", "krok\0kroky"),
    };
    struct catalogue c;
    char why[ERR_WHY_MAX];
    const struct made m = make_catalogue(few, 2);
    cr_assert_eq(load(&c, &m, why), ERR_OK, "%s", why);
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 21), "krok");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 3), "kroky");
    cr_assert_str_eq(catalogue_count(&c, NULL, "1 step", "{1} steps", 7), "{1} steps");
    catalogue_close(&c);
}

Test(catalogue, any_spoilt_byte_is_refused_or_harmless)
{
    const struct made whole = make_catalogue(PAIRS, N_PAIRS);
    int n_refused = 0;
    for (size_t at = 0; at < whole.len; at++)
        for (int bit = 0; bit < 8; bit++) {
            struct made m = whole;
            struct catalogue c;
            char why[ERR_WHY_MAX];
            m.bytes[at] ^= (unsigned char) (1 << bit);
            if (load(&c, &m, why) != ERR_OK) {
                n_refused++;
                cr_assert(why[0] != '\0' && !c.bytes);
            }
            cr_assert_not_null(catalogue_of(&c, "form", "Back"));
            cr_assert_not_null(catalogue_count(&c, NULL, "1 step", "{1} steps", 2));
            catalogue_close(&c);
        }
    cr_assert_gt(n_refused, 8 * 28, "the head and the tables: %d", n_refused);
}

Test(catalogue, a_cut_file_is_refused)
{
    const struct made whole = make_catalogue(PAIRS, N_PAIRS);
    for (size_t len = 0; len < whole.len; len++) {
        struct made m = whole;
        struct catalogue c;
        char why[ERR_WHY_MAX];
        m.len = len;
        cr_assert_eq(load(&c, &m, why), ERR_FORMAT, "%zu bytes", len);
    }
}

Test(catalogue, texts_out_of_order_are_refused)
{
    static const struct pair wrong[] = { PAIR("b", "B"), PAIR("a", "A") };
    struct catalogue c;
    char why[ERR_WHY_MAX];
    const struct made m = make_catalogue(wrong, 2);
    cr_assert_eq(load(&c, &m, why), ERR_FORMAT);
    cr_assert(strstr(why, "not in order"), "%s", why);
}

Test(catalogue, the_other_byte_order_is_read)
{
    struct made m = make_catalogue(PAIRS, N_PAIRS);
    struct catalogue c;
    char why[ERR_WHY_MAX];
    for (size_t at = 0; at < 28 + 16 * N_PAIRS; at += 4) {
        uint32_t x;
        memcpy(&x, m.bytes + at, 4);
        put_word(&m, at, __builtin_bswap32(x));
    }
    cr_assert_eq(load(&c, &m, why), ERR_OK, "%s", why);
    cr_assert_str_eq(catalogue_of(&c, NULL, "Back"), "Zurück");
    catalogue_close(&c);
}

Test(catalogue, no_file_is_told_from_a_bad_one)
{
    struct catalogue c;
    char why[ERR_WHY_MAX];
    cr_assert_eq(catalogue_load(&c, "/tmp/underfoot-no-such-catalogue.mo", why), ERR_GONE);
    cr_assert_eq(catalogue_load(&c, "/tmp", why), ERR_OS, "a folder");
    cr_assert_str_eq(catalogue_of(&c, NULL, "Back"), "Back");
}
