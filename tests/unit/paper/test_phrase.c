#include "paper/local_time.h"
#include "paper/paper.h"
#include "paper/phrase.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

Test(phrase, parts_go_to_their_places_in_any_order)
{
    char out[64];
    cr_assert_str_eq(phrase_fill(out, sizeof out, "{2} of {1}: {2}{9} {x} {", "a", "b", (char *) NULL), "b of a: b{9} {x} {");
    cr_assert_str_eq(PHRASE_COUNT(NULL, out, 1, NP_("{1} step", "{1} steps"), "1"), "1 step");
    cr_assert_str_eq(PHRASE_COUNT(NULL, out, 0, NP_("{1} step", "{1} steps"), "0"), "0 steps");
}

Test(phrase, what_does_not_fit_ends_with_dots_at_a_whole_letter)
{
    char out[12];
    cr_assert_str_eq(phrase_fill(out, sizeof out, "abc {1}", "äöüäöü", (char *) NULL), "abc …");
    cr_assert_str_eq(phrase_fill(out, sizeof out, "{1}", "12345678", (char *) NULL), "1234567…");
    cr_assert_str_eq(phrase_fill(out, sizeof out, "{1}", "1234567", (char *) NULL), "1234567");
}

Test(phrase, figures_and_moments_in_english)
{
    char number[NUMBER_MAX], time[PHRASE_TIME_MAX];
    cr_expect_str_eq(phrase_number(NULL, number, (double) NAN, 1), "–");
    cr_expect_str_eq(phrase_number(NULL, number, -0.04, 1), "0.0");
    cr_expect_str_eq(phrase_signed(NULL, number, 2.5, 1), "+2.5");
    cr_expect_str_eq(phrase_signed(NULL, number, -2.5, 1), "-2.5");
    cr_expect_str_eq(phrase_time(NULL, time, INT64_C(1774786509000), 120), "2026-03-29 14:15");
}

/* Unicode's East Asian Width: kana and kanji take two columns, Latin and Greek one. */
Test(phrase, columns_are_those_of_a_terminal)
{
    char *text = NULL;
    size_t len = 0;
    cr_expect_eq(phrase_columns("Läufe"), 5);
    cr_expect_eq(phrase_columns("接地 ms"), 7);
    FILE *f = open_memstream(&text, &len);
    phrase_put(f, 8, "接地");
    phrase_put(f, -6, "1,5");
    phrase_put(f, 2, "long");
    fclose(f);
    cr_expect_str_eq(text, "接地       1,5long ");
    free(text);
}

/* What cairo writes at a file's end, in small. */
Test(paper, a_language_is_said_behind_the_end_of_a_pdf)
{
    static const char pdf[] = "%PDF-1.5\n7 0 obj\n<< /Type /Catalog\n   /Pages 1 0 R\n>>\nendobj\nxref\n0 1\ntrailer\n<< /Size 8\n   /Root 7 0 R\n"
                              "   /Info 6 0 R\n>>\nstartxref\n65\n%%EOF\n";
    char *text = NULL, place[64];
    size_t len = 0;
    FILE *f = open_memstream(&text, &len);
    cr_assert(paper_pdf_put(f, pdf, sizeof pdf - 1, "de"));
    fclose(f);
    cr_expect_eq(memcmp(text, pdf, sizeof pdf - 1), 0, "what was there stays");
    const char *again = text + sizeof pdf - 1;
    cr_expect_eq(strncmp(again, "7 0 obj\n<< /Lang (de)\n", 22), 0, "%s", again);
    cr_expect(strstr(again, "/Pages 1 0 R\n>>\nendobj\n") && strstr(again, "/Prev 65") && strstr(again, "/Size 8 /Root 7 0 R /Info 6 0 R"), "%s", again);
    snprintf(place, sizeof place, "7 1\n%010zu 00000 n \n", sizeof pdf - 1);
    cr_expect(strstr(again, place), "%s", again);
    snprintf(place, sizeof place, "startxref\n%zu\n", (size_t) (strstr(again, "xref\n7 1") - text));
    cr_expect(strstr(again, place), "%s", again);
    free(text);
}
