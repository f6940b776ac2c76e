#include "runner/figure.h"

#include "base/str.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

struct figure_row {
    int digits;       /* after the decimal sign, on the runner's screen */
    double low, high; /* the neutral scale; 0, 0 = from the value's own size */
};

static const struct figure_row figure_table[METRIC_COUNT] = {
    [METRIC_STEP_TIME_S] = { 2, 0.3, 0.45 },      [METRIC_CONTACT_MS] = { 0, 200, 320 },
    [METRIC_FLIGHT_MS] = { 0, 60, 160 },          [METRIC_CADENCE_SPM] = { 0, 155, 185 },
    [METRIC_DUTY_FACTOR] = { 2, 0.3, 0.42 },      [METRIC_PEAK_FORCE_BW] = { 1, 2.0, 2.8 },
    [METRIC_LOAD_RATE_BW_S] = { 0, 30, 80 },      [METRIC_LOAD_RATE_MAX_BW_S] = { 0, 40, 110 },
    [METRIC_TRANSIENT_BW] = { 1, 1.0, 2.0 },      [METRIC_TRANSIENT_MS] = { 0, 20, 50 },
    [METRIC_TRANSIENT_LEAD_MS] = { 0, 40, 120 },  [METRIC_COM_DROP_MM] = { 0, 40, 90 },
    [METRIC_COM_LOW_MS] = { 0, 90, 160 },         [METRIC_STRIKE_INDEX_PCT] = { 0, 20, 70 },
    [METRIC_LANDING_AHEAD_MM] = { 0, 150, 350 },  [METRIC_AHEAD_AT_LOAD_MM] = { 0, 0, 150 },
    [METRIC_STIFFNESS_KN_M] = { 1, 15, 35 },      [METRIC_LEG_STIFFNESS_KN_M] = { 1, 8, 18 },
    [METRIC_BELT_SPEED_M_S] = { 1, 2, 4 },        [METRIC_STEP_WIDTH_MM] = { 0, 20, 100 },
    [METRIC_STRIKE_TRAVEL_MM] = { 0, -120, 0 },   [METRIC_LANDING_FIRST_MM] = { 0, 100, 250 },
    [METRIC_TOE_OUT_DEG] = { 0, 0, 15 },          [METRIC_HEEL_TO_FORE_MS] = { 0, 10, 60 },
    [METRIC_ASYM_STEP_TIME_PCT] = { 0, -5, 5 },   [METRIC_ASYM_CONTACT_PCT] = { 0, -5, 5 },
    [METRIC_ASYM_LOAD_RATE_PCT] = { 0, -20, 20 }, [METRIC_STEP_VAR_PCT] = { 1, 1, 4 },
    [METRIC_PEAK_BRAKING_BW] = { 2, 0.1, 0.4 },   [METRIC_BRAKING_IMPULSE_BW_S] = { 4, 0.01, 0.03 },
    [METRIC_BRAKING_END_PCT] = { 0, 40, 60 },
};

/* printf's number, with the language's decimal sign and a true minus sign; no "-0". */
static void
figure_print(char text[FIGURE_MAX], double value, int digits, const char *decimal)
{
    char plain[FIGURE_MAX];
    double unit = pow(10.0, digits);
    double rounded = round(value * unit) / unit;
    if (isnan(value) || fabs(value) > 99999.0) {
        snprintf(text, FIGURE_MAX, "%s", FIGURE_DASH);
        return;
    }
    snprintf(plain, sizeof plain, "%.*f", digits, fabs(rounded));
    str_set_decimal(plain, sizeof plain, decimal);
    snprintf(text, FIGURE_MAX, "%s%.20s", rounded < 0.0 ? "\xE2\x88\x92" : "", plain);
}

void
figure_value(char text[FIGURE_MAX], enum metric m, double value, const char *decimal)
{
    assert(m < METRIC_COUNT);
    figure_print(text, value, figure_table[m].digits, decimal);
}

void
figure_speed(char text[FIGURE_MAX], double m_s, const char *decimal)
{
    figure_print(text, m_s, 1, decimal);
}

void
figure_clock(char text[FIGURE_MAX], double left_s)
{
    if (isnan(left_s) || left_s > 359999.0) {
        snprintf(text, FIGURE_MAX, "%s", FIGURE_DASH);
        return;
    }
    int s = (int) ceil(fmax(0.0, left_s) - 1e-6);
    snprintf(text, FIGURE_MAX, "%d:%02d", s / 60, s % 60);
}

void
figure_range(enum metric m, double *low, double *high)
{
    assert(m < METRIC_COUNT);
    *low = figure_table[m].low;
    *high = figure_table[m].high;
    if (*low == *high)
        *high = *low + 1.0;
}
