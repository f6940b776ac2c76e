#include "report/json.h"

#include "paper/number.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

static char *text;
static size_t len;

static struct json
begin(void)
{
    struct json j;

    json_init(&j, open_memstream(&text, &len));
    return j;
}

static const char *
end(struct json *j)
{
    fclose(j->f);
    return text;
}

Test(json, nesting_sets_commas_and_indents)
{
    struct json j = begin();

    json_open_object(&j, NULL);
    json_int(&j, "a", -5);
    json_open_array(&j, "b");
    json_number(&j, NULL, 1.5);
    json_bool(&j, NULL, true);
    json_close(&j);
    json_open_object(&j, "c");
    json_close(&j);
    json_text(&j, "d", "x");
    json_close(&j);
    cr_assert_str_eq(
        end(&j), "{\n  \"a\": -5,\n  \"b\": [\n    1.5,\n    true\n  ],\n  \"c\": {},\n  \"d\": \"x\"\n}\n");
    free(text);
}

Test(json, what_is_no_number_is_null)
{
    const double none[] = { (double) NAN, (double) INFINITY, (double) -INFINITY };

    for (size_t i = 0; i < 3; i++) {
        struct json j = begin();
        json_number(&j, NULL, none[i]);
        cr_assert_str_eq(end(&j), "null");
        free(text);
    }
    struct json j = begin();
    json_text(&j, NULL, NULL);
    cr_assert_str_eq(end(&j), "null");
    free(text);
}

Test(json, text_is_escaped)
{
    static const struct {
        const char *in, *out;
    } rows[] = {
        { "plain", "\"plain\"" },
        { "a\"b\\c", "\"a\\\"b\\\\c\"" },
        { "line\nand\ttab", "\"line\\nand\\ttab\"" },
        { "\x01\x1f\x7f", "\"\\u0001\\u001f\\u007f\"" },
        { "caf\xc3\xa9 \xe8\xb6\xb3 \xf0\x9f\x91\xa3", "\"caf\xc3\xa9 \xe8\xb6\xb3 \xf0\x9f\x91\xa3\"" },
        { "\xff", "\"\\ufffd\"" },                                  /* never valid */
        { "a\xc3", "\"a\\ufffd\"" },                                /* cut short */
        { "\xe8\xb6", "\"\\ufffd\\ufffd\"" },                       /* cut short */
        { "\xc0\xaf", "\"\\ufffd\\ufffd\"" },                       /* overlong */
        { "\xed\xa0\x80", "\"\\ufffd\\ufffd\\ufffd\"" },            /* surrogate */
        { "\xf4\x90\x80\x80", "\"\\ufffd\\ufffd\\ufffd\\ufffd\"" }, /* beyond U+10FFFF */
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct json j = begin();
        json_text(&j, NULL, rows[i].in);
        cr_expect_str_eq(end(&j), rows[i].out, "row %zu: %s", i, text);
        free(text);
    }
}

Test(json, numbers_are_short_and_exact_enough)
{
    char out[NUMBER_MAX];

    cr_assert_str_eq(number_short(out, 0.1), "0.1");
    cr_assert_str_eq(number_short(out, 1234567.891), "1234567.891");
    cr_assert_str_eq(number_short(out, -0.0), "0");
    cr_assert_str_eq(number_short(out, 1e-7), "1e-07");
    cr_assert_str_eq(number_fixed(out, -0.004, 2), "0.00");
    cr_assert_str_eq(number_fixed(out, -0.006, 2), "-0.01");
    cr_assert_str_eq(number_fixed(out, 2.5e20, 2), "2.50e+20");
}
