#include <math.h>
#include <string.h>

#include <criterion/criterion.h>

#include "runner/figure.h"

#define MINUS "\xE2\x88\x92"

Test(figure, numbers_have_the_digits_a_runner_can_use)
{
    static const struct {
        enum metric metric;
        double value;
        const char *decimal, *text;
    } rows[] = {
        { METRIC_CADENCE_SPM, 171.4, ".", "171" },
        { METRIC_CADENCE_SPM, 171.5, ".", "172" },
        { METRIC_LANDING_AHEAD_MM, -12.2, ".", MINUS "12" },
        { METRIC_LANDING_AHEAD_MM, -0.3, ".", "0" },
        { METRIC_DUTY_FACTOR, 0.345, ".", "0.35" },
        { METRIC_PEAK_FORCE_BW, 2.44, ",", "2,4" },
        { METRIC_CONTACT_MS, NAN, ".", FIGURE_DASH },
        { METRIC_CONTACT_MS, INFINITY, ".", FIGURE_DASH },
        { METRIC_CONTACT_MS, 0.0, ".", "0" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[FIGURE_MAX];
        figure_value(text, rows[i].metric, rows[i].value, rows[i].decimal);
        cr_assert_str_eq(text, rows[i].text, "row %zu: %s", i, text);
    }
}

Test(figure, the_clock_rounds_up_so_that_zero_is_the_end)
{
    static const struct {
        double left_s;
        const char *text;
    } rows[] = { { 192.0, "3:12" }, { 191.2, "3:12" }, { 59.99, "1:00" }, { 0.2, "0:01" }, { 0.0, "0:00" },
                 { -3.0, "0:00" },  { 3600.0, "60:00" }, { NAN, FIGURE_DASH } };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[FIGURE_MAX];
        figure_clock(text, rows[i].left_s);
        cr_assert_str_eq(text, rows[i].text);
    }
}

Test(figure, every_metric_has_a_neutral_scale)
{
    for (int m = 0; m < METRIC_COUNT; m++) {
        double low = NAN, high = NAN;
        figure_range((enum metric) m, &low, &high);
        cr_assert(low < high, "%s", metric_info((enum metric) m)->name);
    }
}
