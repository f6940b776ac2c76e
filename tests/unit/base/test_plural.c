#include "base/plural.h"

#include <criterion/criterion.h>
#include <string.h>

/* Rules as the GNU gettext manual lists them ("Additional functions for plural forms"), and the forms that the
 * rules, worked out by hand, give: from memory. */
Test(plural, rules_of_the_manual_give_their_forms)
{
    static const struct {
        const char *line;
        int forms[12]; /* of 0, 1, 2, 3, 4, 5, 11, 12, 21, 22, 101, 111 */
    } rows[] = {
        { "nplurals=1; plural=0;", { 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0 } },
        { "nplurals=2; plural=n != 1;", { 1, 0, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1 } },
        { "nplurals=2; plural=n>1;", { 0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1 } },
        { "nplurals=3; plural=n%10==1 && n%100!=11 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2;",
          { 2, 0, 1, 1, 1, 2, 2, 2, 0, 1, 0, 2 } },
        { "nplurals=3; plural=n%10==1 && n%100!=11 ? 0 : n != 0 ? 1 : 2;", { 2, 0, 1, 1, 1, 1, 1, 1, 0, 1, 0, 1 } },
        { "nplurals=6; plural=n==0 ? 0 : n==1 ? 1 : n==2 ? 2 : n%100>=3 && n%100<=10 ? 3 : n%100>=11 ? 4 : 5;",
          { 0, 1, 2, 3, 3, 3, 4, 4, 4, 4, 5, 4 } },
    };
    static const uint64_t counts[12] = { 0, 1, 2, 3, 4, 5, 11, 12, 21, 22, 101, 111 };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct plural p;
        cr_assert(plural_parse(&p, rows[i].line), "%s", rows[i].line);
        for (int k = 0; k < 12; k++)
            cr_assert_eq(plural_form(&p, counts[k]), rows[i].forms[k], "%s of %d", rows[i].line, (int) counts[k]);
    }
}

Test(plural, every_operator_is_as_in_c)
{
    static const struct {
        const char *rule;
        int form; /* of 7, computed by the C compiler's own rules */
    } rows[] = {
        { "n*2-13", 7 * 2 - 13 },   { "n/3+1", 7 / 3 + 1 }, { "n-2*3", 7 - 2 * 3 },     { "(n-5)*2", (7 - 5) * 2 },
        { "n<7", 0 },               { "n<=7", 1 },          { "n>7", 0 },               { "n>=7", 1 },
        { "n==7", 1 },              { "!n", 0 },            { "!!n", 1 },               { "!(n==1)", 1 },
        { "n==1||n==7", 1 },        { "n==1&&n==7", 0 },    { "n ? 2 : 3", 2 },         { "!n ? 2 : n==7 ? 4 : 5", 4 },
        { "1<2==1", 1 },            { "n%4", 3 },           { "0&&1||1", 1 },           { "n/0", 0 },
        { "n%0", 0 },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct plural p;
        char line[80] = "nplurals=6; plural=";
        strcat(line, rows[i].rule);
        cr_assert(plural_parse(&p, line), "%s", line);
        cr_assert_eq(plural_form(&p, 7), rows[i].form, "%s", line);
    }
}

Test(plural, an_index_that_is_no_form_gives_the_last)
{
    struct plural p;
    cr_assert(plural_parse(&p, "nplurals=2; plural=n;"));
    cr_assert_eq(plural_form(&p, 9), 1);
    cr_assert(plural_parse(&p, "nplurals=2; plural=n-1;"));
    cr_assert_eq(plural_form(&p, 0), 1, "below nothing");
}

Test(plural, what_is_no_rule_is_english)
{
    char deep[300] = "nplurals=2; plural=";
    char *at = deep + strlen(deep);
    memset(at, '(', 100);
    strcpy(at + 100, "n");
    char long_rule[900] = "nplurals=2; plural=n";
    for (int i = 0; i < 100; i++)
        strcat(long_rule, "+1");
    const char *const rows[] = { "", "nplurals=2", "plural=n", "nplurals=2; plural=", "nplurals=2; plural=n !=",
        "nplurals=2; plural=(n", "nplurals=2; plural=n)", "nplurals=2; plural=x", "nplurals=0; plural=0;",
        "nplurals=7; plural=n;", "nplurals=2; plural=n ? 1;", "nplurals=2; plural=99999999999;", deep, long_rule };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct plural p;
        cr_assert(!plural_parse(&p, rows[i]), "%s", rows[i]);
        cr_assert_eq(plural_form(&p, 1), 0, "%s", rows[i]);
        cr_assert_eq(plural_form(&p, 0), 1, "%s", rows[i]);
    }
}
