#include "base/str.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

Test(str, numbers_are_whole_words)
{
    static const struct {
        const char *text;
        bool is_number;
        double value;
    } rows[] = {
        { "12.5", true, 12.5 },   { " -3 ", true, -3 },   { "1e3", true, 1000 },  { ".5", true, .5 },
        { "", false, 0 },         { " ", false, 0 },      { "12,5", false, 0 },   { "12.5kg", false, 0 },
        { "0x10", false, 0 },     { "nan", false, 0 },    { "INF", false, 0 },    { "infinity", false, 0 },
        { "1e999", false, 0 },    { "1 2", false, 0 },    { "--1", false, 0 },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double x = 99;
        cr_assert_eq(str_to_double(rows[i].text, &x), rows[i].is_number, "'%s'", rows[i].text);
        cr_assert_eq(x, rows[i].is_number ? rows[i].value : 99, "'%s'", rows[i].text);
    }
}

Test(str, whole_numbers_refuse_fractions_and_overflow)
{
    int64_t x = 99;
    cr_assert(str_to_i64("-42", &x) && x == -42);
    cr_assert(!str_to_i64("4.2", &x) && !str_to_i64("", &x) && !str_to_i64("99999999999999999999", &x));
    cr_assert_eq(x, -42);
}

Test(str, copies_always_end_and_say_when_cut)
{
    char out[5];
    cr_assert(str_copy(out, sizeof out, "four"));
    cr_assert_str_eq(out, "four");
    cr_assert(!str_copy(out, sizeof out, "fiver"));
    cr_assert_str_eq(out, "five");
    cr_assert(str_copy(out, sizeof out, "a"));
    cr_assert(str_append(out, sizeof out, "bcd"));
    cr_assert(!str_append(out, sizeof out, "e"));
    cr_assert_str_eq(out, "abcd");
}

Test(str, beginnings_and_ends)
{
    cr_assert(str_begins_with("#underfoot 1", "#under") && !str_begins_with("#u", "#under"));
    cr_assert(str_ends_with("a.csv", ".csv") && !str_ends_with("csv", ".csv"));
}

Test(str, the_point_becomes_a_sign_of_any_length)
{
    char text[8] = "-12.5";
    cr_assert(str_set_decimal(text, sizeof text, ","));
    cr_assert_str_eq(text, "-12,5");
    strcpy(text, "1.25");
    cr_assert(str_set_decimal(text, sizeof text, "\xD9\xAB"));
    cr_assert_str_eq(text, "1\xD9\xAB" "25");
    strcpy(text, "12");
    cr_assert(str_set_decimal(text, sizeof text, ","));
    cr_assert_str_eq(text, "12");
    strcpy(text, "123.456");
    cr_assert(!str_set_decimal(text, sizeof text, "\xD9\xAB"));
    cr_assert_str_eq(text, "123.456", "no room: as it was");
}
