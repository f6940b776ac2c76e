#include "coach/baseline.h"
#include "coach/target.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* 170 -> 178.5 / 182.75 / 187 steps/min: +5, +7.5 and +10 %. */
Test(target, cadence_rules_put_the_band_around_the_published_share)
{
    static const struct {
        enum target_rule rule;
        double middle;
    } rows[] = { { TARGET_RULE_CADENCE_UP_5, 178.5 }, { TARGET_RULE_CADENCE_UP_7_5, 182.75 },
                 { TARGET_RULE_CADENCE_UP_10, 187.0 } };
    for (size_t i = 0; i < 3; i++) {
        struct target t;
        cr_assert(target_by_rule(rows[i].rule, METRIC_CADENCE_SPM, 170, 1, &t));
        cr_assert_float_eq(0.5 * (t.low + t.high), rows[i].middle, 1e-9);
        cr_assert_float_eq(t.high - t.low, 8.5, 1e-9); /* +-2.5 % of 170 */
        cr_assert(t.is_change);
    }
}

Test(target, a_band_is_never_narrower_than_the_runners_spread)
{
    struct target t;
    cr_assert(target_by_rule(TARGET_RULE_CADENCE_UP_5, METRIC_CADENCE_SPM, 170, 6, &t));
    cr_assert_float_eq(t.high - t.low, 12, 1e-9);
    cr_assert_eq(target_warnings(&t, 1, 0, 6), 0);
}

Test(target, loading_rate_asks_for_a_fifth_less)
{
    struct target t;
    cr_assert(target_by_rule(TARGET_RULE_LOAD_RATE_DOWN_20, METRIC_LOAD_RATE_BW_S, 70, NAN, &t));
    cr_assert_float_eq(t.high, 56, 1e-9);
    cr_assert_float_eq(t.low, 28, 1e-9);
}

/* Computed: 0.80 and 0.95 of 0.020; the spread from step to step does not widen it. */
Test(target, brake_less_is_five_to_twenty_per_cent_under_the_baseline)
{
    struct target t;
    cr_assert(target_by_rule(TARGET_RULE_BRAKE_LESS, METRIC_BRAKING_IMPULSE_BW_S, 0.020, 0.003, &t));
    cr_assert_float_eq(t.low, 0.016, 1e-9);
    cr_assert_float_eq(t.high, 0.019, 1e-9);
    cr_assert(t.is_change);
    cr_assert(!target_by_rule(TARGET_RULE_BRAKE_LESS, METRIC_BRAKING_IMPULSE_BW_S, NAN, 0.003, &t));
}

Test(target, landing_nearer_is_a_share_less_and_needs_a_foot_that_lands_ahead)
{
    struct target t;
    cr_assert(target_by_rule(TARGET_RULE_LAND_NEARER, METRIC_LANDING_AHEAD_MM, 200, 4, &t));
    cr_assert_float_eq(t.low, 170, 1e-9);
    cr_assert_float_eq(t.high, 190, 1e-9);
    cr_assert(!target_by_rule(TARGET_RULE_LAND_NEARER, METRIC_LANDING_AHEAD_MM, -5, 4, &t));
    cr_assert(!target_by_rule(TARGET_RULE_LAND_NEARER, METRIC_LANDING_AHEAD_MM, NAN, 4, &t));
}

Test(target, staying_as_you_are_has_the_baseline_inside_and_is_no_change)
{
    struct target t;
    cr_assert(target_by_rule(TARGET_RULE_NO_MORE, METRIC_CONTACT_MS, 260, 5, &t));
    cr_assert(t.low < 260 && t.high == 265 && !t.is_change);
    cr_assert(target_by_rule(TARGET_RULE_HOLD, METRIC_STRIKE_INDEX_PCT, 4, 3, &t));
    cr_assert(t.low == 0 && t.high == 14 && !t.is_change);
}

Test(target, bounds_warn)
{
    const struct target far = { METRIC_CADENCE_SPM, 190, 196, 170, true };
    const struct target set[2] = { { METRIC_CADENCE_SPM, 174, 183, 170, true },
                                   { METRIC_LOAD_RATE_BW_S, 20, 56, 70, true } };
    struct target ten;
    target_by_rule(TARGET_RULE_CADENCE_UP_10, METRIC_CADENCE_SPM, 170, 1, &ten);
    cr_assert_eq(target_warnings(&far, 1, 0, 1), TARGET_WARN_CADENCE_FAR);
    cr_assert_eq(target_warnings(&ten, 1, 0, 1), 0);
    cr_assert_eq(target_warnings(set, 2, 1, NAN), TARGET_WARN_MANY);
    cr_assert_eq(target_warnings(&far, 1, 0, 7), TARGET_WARN_CADENCE_FAR | TARGET_WARN_NARROW);
}

Test(target, words_are_read_or_refused_with_a_reason)
{
    struct target t = { 0 };
    struct message why;
    cr_assert(target_parse("cadence_spm=170:180.5", &t, &why), "%s", message_english(&why));
    cr_assert(t.metric == METRIC_CADENCE_SPM && t.low == 170 && t.high == 180.5 && isnan(t.baseline));
    cr_assert(target_parse("landing_ahead_mm=-20:40", &t, &why));
    cr_assert(t.low == -20);
    static const struct {
        const char *text, *said;
    } rows[] = {
        { "cadence_spm", "METRIC=LOW:HIGH" },     { "cadence_spm=170", "METRIC=LOW:HIGH" },
        { "speed=1:2", "there is no metric" },    { "cadence_spm=a:180", "not two numbers" },
        { "cadence_spm=170:", "not two numbers" }, { "cadence_spm=180:170", "below the high" },
        { "cadence_spm=-1:1e9", "between 60 and 300" }, { "contact_ms=-1:250", "between 0 and 1000 ms" },
        { "cadence_spm=170:170", "below the high" }, { "", "METRIC=LOW:HIGH" },
        { "cadence_spm=11111111111111111111111111111111111111111111111:2", "METRIC=LOW:HIGH" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_assert(!target_parse(rows[i].text, &t, &why), "%s", rows[i].text);
        cr_assert(strstr(message_english(&why), rows[i].said), "%s: %s", rows[i].text, message_english(&why));
    }
}

static struct step
step_of(double cadence, double contact, double ahead, double strike)
{
    struct step s = { .is_settled = true, .gait = STEP_GAIT_RUNNING };
    for (int m = 0; m < METRIC_COUNT; m++)
        s.value[m] = NAN;
    s.value[METRIC_CADENCE_SPM] = cadence;
    s.value[METRIC_CONTACT_MS] = contact;
    s.value[METRIC_LANDING_AHEAD_MM] = ahead;
    s.value[METRIC_STRIKE_INDEX_PCT] = strike;
    return s;
}

Test(baseline, says_nothing_until_warm_then_proposes_one_change)
{
    static struct baseline b;
    struct target t[BASELINE_MAX_TARGETS];
    baseline_init(&b);
    for (int i = 0; i < BASELINE_MIN_STEPS - 1; i++) {
        const struct step s = step_of(166 + i % 3, 270, 210, 12);
        baseline_feed(&b, &s);
    }
    cr_assert_eq(baseline_propose(&b, TARGET_RULE_CADENCE_UP_5, t), 0);
    cr_assert(isnan(baseline_median(&b, METRIC_CADENCE_SPM)));
    const struct step s = step_of(167, 270, 210, 12);
    baseline_feed(&b, &s);
    cr_assert_eq(baseline_propose(&b, TARGET_RULE_CADENCE_UP_5, t), 3);
    cr_assert(t[0].metric == METRIC_CADENCE_SPM && t[0].baseline == 167 && t[0].is_change);
    cr_assert(t[1].metric == METRIC_CONTACT_MS && !t[1].is_change);
    cr_assert(t[2].metric == METRIC_LANDING_AHEAD_MM && !t[2].is_change);
}

Test(baseline, without_landing_ahead_the_strike_index_is_held_and_without_both_two_bars_remain)
{
    static struct baseline b;
    struct target t[BASELINE_MAX_TARGETS];
    for (int with_strike = 0; with_strike < 2; with_strike++) {
        baseline_init(&b);
        for (int i = 0; i < BASELINE_MIN_STEPS; i++) {
            const struct step s = step_of(166, 270, NAN, with_strike ? 40 : NAN);
            baseline_feed(&b, &s);
        }
        cr_assert_eq(baseline_propose(&b, TARGET_RULE_CADENCE_UP_5, t), 2 + with_strike);
        if (with_strike)
            cr_assert_eq(t[2].metric, METRIC_STRIKE_INDEX_PCT);
    }
}
