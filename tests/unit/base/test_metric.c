/* test_metric.c - definitions of figures as text and back. */
#include "base/metric.h"

#include <criterion/criterion.h>
#include <string.h>

Test(metric, every_figure_has_a_definition_of_one_or_more)
{
    const struct metric_definitions d = metric_definitions_today();
    for (int m = 0; m < METRIC_COUNT; m++) {
        cr_expect_geq(d.of[m], 1);
        cr_expect_eq(d.of[m], metric_info((enum metric) m)->definition);
    }
}

Test(metric, definitions_of_1_are_no_text_and_come_back)
{
    char text[METRIC_DEFINITIONS_MAX];
    struct metric_definitions d = metric_definitions_read("");
    for (int m = 0; m < METRIC_COUNT; m++)
        cr_expect_eq(d.of[m], 1);
    cr_expect_str_eq(metric_definitions_write(&d, text), "");
    d.of[METRIC_FLIGHT_MS] = 12;
    d.of[METRIC_CONTACT_MS] = 3;
    cr_expect_str_eq(metric_definitions_write(&d, text), "contact_ms=3 flight_ms=12", "in the table's order");
    const struct metric_definitions back = metric_definitions_read("flight_ms=12 contact_ms=3");
    cr_expect_eq(memcmp(&back, &d, sizeof d), 0);
}

Test(metric, the_longest_text_fits_and_unknown_names_are_passed_over)
{
    char text[METRIC_DEFINITIONS_MAX];
    struct metric_definitions d;
    for (int m = 0; m < METRIC_COUNT; m++)
        d.of[m] = 99999 - m;
    metric_definitions_write(&d, text);
    const struct metric_definitions back = metric_definitions_read(text);
    cr_expect_eq(memcmp(&back, &d, sizeof d), 0);
    d = metric_definitions_read("of_tomorrow=4  =3 contact_ms cadence_spm=2 =");
    cr_expect_eq(d.of[METRIC_CADENCE_SPM], 2);
    cr_expect_eq(d.of[METRIC_CONTACT_MS], 1);
}
