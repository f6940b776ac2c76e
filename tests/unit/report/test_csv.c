#include "report/csv.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static char *text;
static size_t len;

static struct step
empty_step(void)
{
    struct step s;

    memset(&s, 0, sizeof s);
    s.number = 1;
    s.cop_fwd_mm = s.cop_right_mm = s.body_weight_n = NAN;
    for (int m = 0; m < METRIC_COUNT; m++)
        s.value[m] = NAN;
    return s;
}

static void
set(struct step *s, enum metric m, double value)
{
    s->value[m] = value;
    s->standing[m] = METRIC_MEASURED;
}

static const char *
line_of(const struct step *s, double zero_s)
{
    FILE *f = open_memstream(&text, &len);

    csv_step(f, s, zero_s);
    fclose(f);
    return text;
}

Test(csv, the_header_is_the_promised_one)
{
    FILE *f = open_memstream(&text, &len);

    csv_header(f);
    fclose(f);
    cr_assert_str_eq(
        text, "step,side,touchdown_s,toeoff_s,step_time_s,contact_ms,flight_ms,cadence_spm,duty_factor,"
              "peak_force_bw,load_rate_bw_s,load_rate_max_bw_s,impact_transient,transient_bw,"
              "transient_ms,com_drop_mm,com_low_ms,strike_index_pct,strike_zone,landing_ahead_mm,"
              "stiffness_kn_m,gait,flags,strike_travel_mm,landing_first_mm,braking_impulse_bw_s,"
              "peak_braking_bw,braking_end_pct\n");
    free(text);
}

Test(csv, a_full_step_fills_every_column)
{
    struct step s = empty_step();

    s.number = 12;
    s.foot = STEP_FOOT_RIGHT;
    s.gait = STEP_GAIT_RUNNING;
    s.zone = STEP_ZONE_REAR;
    s.flags = STEP_FLAG_FIRST | STEP_FLAG_LOW_RATE | STEP_FLAG_SIDE_GUESS;
    s.touchdown.us = 1500000;
    s.toe_off.us = 1743250;
    set(&s, METRIC_STEP_TIME_S, 0.3667);
    set(&s, METRIC_CONTACT_MS, 243.25);
    set(&s, METRIC_FLIGHT_MS, 123.45);
    set(&s, METRIC_CADENCE_SPM, 163.62);
    set(&s, METRIC_DUTY_FACTOR, 0.3317);
    set(&s, METRIC_PEAK_FORCE_BW, 2.4412);
    set(&s, METRIC_LOAD_RATE_BW_S, 61.27);
    set(&s, METRIC_LOAD_RATE_MAX_BW_S, 88);
    set(&s, METRIC_IMPACT_TRANSIENT, 1);
    set(&s, METRIC_TRANSIENT_BW, 1.7);
    set(&s, METRIC_TRANSIENT_MS, 31.5);
    set(&s, METRIC_COM_DROP_MM, 71.2);
    set(&s, METRIC_COM_LOW_MS, 120.1);
    set(&s, METRIC_STRIKE_INDEX_PCT, 11.1);
    set(&s, METRIC_LANDING_AHEAD_MM, -3.25);
    set(&s, METRIC_STIFFNESS_KN_M, 23.4567);
    set(&s, METRIC_STRIKE_TRAVEL_MM, -104.25);
    set(&s, METRIC_LANDING_FIRST_MM, -20.5);
    set(&s, METRIC_BRAKING_IMPULSE_BW_S, 0.01883);
    set(&s, METRIC_PEAK_BRAKING_BW, 0.2741);
    set(&s, METRIC_BRAKING_END_PCT, 51.4);
    cr_assert_str_eq(
        line_of(&s, 10),
        "12,right,11.500000,11.743250,0.3667,243.25,123.45,163.62,0.3317,2.4412,61.27,88.00,yes,1.7000,"
        "31.50,71.20,120.10,11.10,rear,-3.25,23.457,running,first;low_rate;side_guess,-104.25,-20.50,"
        "0.01883,0.2741,51.40\n");
    free(text);
}

Test(csv, what_is_missing_is_empty_and_never_zero)
{
    struct step s = empty_step();

    s.touchdown.us = 250000;
    s.toe_off.us = 0;                 /* cut off by the end of the data */
    s.value[METRIC_CONTACT_MS] = 240; /* a number without standing is not told */
    cr_assert_str_eq(line_of(&s, 0), "1,,0.250000,,,,,,,,,,,,,,,,,,,,,,,,,\n");
    free(text);
}

Test(csv, no_transient_is_no_and_not_empty)
{
    struct step s = empty_step();

    set(&s, METRIC_IMPACT_TRANSIENT, 0);
    s.foot = STEP_FOOT_LEFT;
    s.zone = STEP_ZONE_FORE;
    s.gait = STEP_GAIT_WALKING;
    cr_assert_str_eq(line_of(&s, 0), "1,left,0.000000,,,,,,,,,,no,,,,,,fore,,,walking,,,,,,\n");
    free(text);
}

Test(csv, all_flags_have_their_words)
{
    struct step s = empty_step();

    s.flags = (1u << STEP_N_FLAGS) - 1;
    cr_assert_str_eq(
        strstr(line_of(&s, 0), "first;"),
        "first;last;gap;saturated;edge;unsteady;bridged;low_rate;no_weight;relative;cut;side_guess;overlap,,,,,\n");
    free(text);
}
