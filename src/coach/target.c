#include "coach/target.h"

#include "base/mark.h"
#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static double
larger(double a, double b)
{
    return a > b ? a : b;
}

bool
target_by_rule(enum target_rule rule, enum metric metric, double baseline, double spread, struct target *out)
{
    const double s = isnan(spread) ? 0 : spread;
    double middle = 0, half = 0;
    if (isnan(baseline) || (baseline <= 0 && rule != TARGET_RULE_HOLD))
        return false;
    switch (rule) {
    case TARGET_RULE_CADENCE_UP_5:
    case TARGET_RULE_CADENCE_UP_7_5:
    case TARGET_RULE_CADENCE_UP_10:
        middle = baseline * (rule == TARGET_RULE_CADENCE_UP_5     ? 1.05
                             : rule == TARGET_RULE_CADENCE_UP_7_5 ? 1.075
                                                                  : 1.10);
        half = larger(0.025 * baseline, s);
        break;
    case TARGET_RULE_LOAD_RATE_DOWN_20:
        middle = 0.6 * baseline;
        half = 0.2 * baseline;
        break;
    case TARGET_RULE_LAND_NEARER:
        middle = 0.90 * baseline;
        half = larger(0.05 * baseline, s);
        break;
    case TARGET_RULE_BRAKE_LESS: /* 5 to 20 % less: live feedback on it took 15 % away (facts R) */
        middle = 0.875 * baseline;
        half = 0.075 * baseline;
        break;
    case TARGET_RULE_NO_MORE:
        middle = 0.875 * baseline;
        half = 0.125 * baseline + s;
        break;
    case TARGET_RULE_HOLD:
        middle = baseline;
        half = larger(10, 2 * s);
        break;
    }
    *out = (struct target){ .metric = metric,
                            .low = middle - half,
                            .high = middle + half,
                            .baseline = baseline,
                            .is_change = rule != TARGET_RULE_NO_MORE && rule != TARGET_RULE_HOLD };
    if (rule == TARGET_RULE_HOLD) {
        out->low = larger(out->low, 0);
        out->high = out->high < 100 ? out->high : 100;
    }
    return true;
}

/* Between what an edge can sensibly stand: wide, against slips of the finger. What is not in it has no limits. */
static const struct limits {
    double low, high;
} LIMITS[METRIC_COUNT] = {
    [METRIC_STEP_TIME_S] = { 0, 2 },
    [METRIC_CONTACT_MS] = { 0, 1000 },
    [METRIC_FLIGHT_MS] = { 0, 1000 },
    [METRIC_CADENCE_SPM] = { 60, 300 },
    [METRIC_DUTY_FACTOR] = { 0, 1 },
    [METRIC_PEAK_FORCE_BW] = { 0, 10 },
    [METRIC_LOAD_RATE_BW_S] = { 0, 500 },
    [METRIC_LOAD_RATE_MAX_BW_S] = { 0, 1000 },
    [METRIC_IMPACT_TRANSIENT] = { 0, 1 },
    [METRIC_TRANSIENT_BW] = { 0, 10 },
    [METRIC_TRANSIENT_MS] = { 0, 200 },
    [METRIC_TRANSIENT_LEAD_MS] = { 0, 200 },
    [METRIC_COM_DROP_MM] = { 0, 300 },
    [METRIC_COM_LOW_MS] = { 0, 1000 },
    [METRIC_STRIKE_INDEX_PCT] = { -20, 120 },
    [METRIC_LANDING_AHEAD_MM] = { -500, 1000 },
    [METRIC_AHEAD_AT_LOAD_MM] = { -500, 1000 },
    [METRIC_WHOLE_FOOT_AT_LOAD] = { 0, 1 },
    [METRIC_STIFFNESS_KN_M] = { 0, 500 },
    [METRIC_LEG_STIFFNESS_KN_M] = { 0, 200 },
    [METRIC_BELT_SPEED_M_S] = { 0, 12 },
    [METRIC_STEP_WIDTH_MM] = { -500, 500 },
    [METRIC_TOE_OUT_DEG] = { -90, 90 },
    [METRIC_HEEL_TO_FORE_MS] = { -500, 500 },
    [METRIC_ASYM_STEP_TIME_PCT] = { -200, 200 },
    [METRIC_ASYM_CONTACT_PCT] = { -200, 200 },
    [METRIC_ASYM_LOAD_RATE_PCT] = { -200, 200 },
    [METRIC_STEP_VAR_PCT] = { 0, 100 },
    [METRIC_BRAKING_IMPULSE_BW_S] = { 0, 0.2 },
    [METRIC_PEAK_BRAKING_BW] = { 0, 2 },
    [METRIC_BRAKING_END_PCT] = { 0, 100 },
};

bool
target_parse(const char *text, struct target *out, struct message *why)
{
    char name[64], low[32], high[32];
    const char *equals = strchr(text, '=');
    const char *colon = equals ? strchr(equals, ':') : NULL;
    if (!colon || (size_t) (equals - text) >= sizeof name || (size_t) (colon - equals) > sizeof low) {
        message_tell(why, MESSAGE_TARGET_IS_UNCLEAR, text);
        return false;
    }
    snprintf(name, sizeof name, "%.*s", (int) (equals - text), text);
    snprintf(low, sizeof low, "%.*s", (int) (colon - equals - 1), equals + 1);
    str_copy(high, sizeof high, colon + 1);
    const enum metric metric = metric_by_name(name);
    if (metric == METRIC_COUNT) {
        message_tell(why, MESSAGE_TARGET_NO_METRIC, text, name);
        return false;
    }
    struct target t = { .metric = metric, .baseline = NAN, .is_change = true };
    if (!str_to_double(low, &t.low) || !str_to_double(high, &t.high)) {
        message_tell(why, MESSAGE_TARGET_NO_NUMBERS, text, low, high);
        return false;
    }
    if (t.low >= t.high) {
        message_tell(why, MESSAGE_TARGET_IS_REVERSED, text);
        return false;
    }
    const struct limits *l = &LIMITS[metric];
    if (l->high > l->low && (t.low < l->low || t.high > l->high)) {
        const struct metric_info *info = metric_info(metric);
        message_tell(why, MESSAGE_TARGET_OUT_OF_RANGE, text, info->name, l->low, l->high, message_word(info->unit));
        return false;
    }
    *out = t;
    return true;
}

const char *
target_metric_words(enum metric m)
{
    static const char *const words[METRIC_COUNT] = {
        [METRIC_CADENCE_SPM] = N_("cadence"),
        [METRIC_STEP_TIME_S] = N_("step time"),
        [METRIC_CONTACT_MS] = N_("contact time"),
        [METRIC_FLIGHT_MS] = N_("flight time"),
        [METRIC_LANDING_AHEAD_MM] = N_("landing ahead"),
        [METRIC_AHEAD_AT_LOAD_MM] = N_("the foot's lead at the loading peak"),
        [METRIC_LOAD_RATE_BW_S] = N_("loading rate"),
        [METRIC_LOAD_RATE_MAX_BW_S] = N_("the steepest loading rate"),
        [METRIC_STRIKE_INDEX_PCT] = N_("strike index"),
        [METRIC_STRIKE_TRAVEL_MM] = N_("the load's travel along the foot"),
        [METRIC_LANDING_FIRST_MM] = N_("first load ahead"),
        [METRIC_PEAK_FORCE_BW] = N_("peak force"),
        [METRIC_COM_DROP_MM] = N_("the body's drop"),
        [METRIC_STEP_WIDTH_MM] = N_("step width"),
        [METRIC_BELT_SPEED_M_S] = N_("belt speed"),
        [METRIC_HEEL_TO_FORE_MS] = N_("heel to forefoot time"),
        [METRIC_DUTY_FACTOR] = N_("duty factor"),
        [METRIC_IMPACT_TRANSIENT] = N_("first peak"),
        [METRIC_TRANSIENT_BW] = N_("the transient's height"),
        [METRIC_TRANSIENT_MS] = N_("the transient's time"),
        [METRIC_TRANSIENT_LEAD_MS] = N_("the transient's lead"),
        [METRIC_COM_LOW_MS] = N_("time to the lowest point"),
        [METRIC_WHOLE_FOOT_AT_LOAD] = N_("whole foot at load"),
        [METRIC_STIFFNESS_KN_M] = N_("vertical stiffness"),
        [METRIC_LEG_STIFFNESS_KN_M] = N_("leg stiffness"),
        [METRIC_TOE_OUT_DEG] = N_("toe-out"),
        [METRIC_ASYM_STEP_TIME_PCT] = N_("asymmetry of step time"),
        [METRIC_ASYM_CONTACT_PCT] = N_("asymmetry of contact time"),
        [METRIC_ASYM_LOAD_RATE_PCT] = N_("asymmetry of loading rate"),
        [METRIC_STEP_VAR_PCT] = N_("variability of stride time"),
        [METRIC_BRAKING_IMPULSE_BW_S] = N_("braking"),
        [METRIC_PEAK_BRAKING_BW] = N_("peak braking"),
        [METRIC_BRAKING_END_PCT] = N_("the end of braking"),
    };
    return words[m] ? words[m] : metric_info(m)->name;
}

unsigned
target_warnings(const struct target *set, int n_targets, int which, double spread)
{
    const struct target *t = &set[which];
    unsigned bits = 0;
    int n_changed = 0;
    for (int i = 0; i < n_targets; i++)
        n_changed += set[i].is_change;
    if (t->is_change && n_changed > 1)
        bits |= TARGET_WARN_MANY;
    /* The thousandth lets the +10 % rule itself pass. */
    if (t->metric == METRIC_CADENCE_SPM && !isnan(t->baseline) && 0.5 * (t->low + t->high) > 1.101 * t->baseline)
        bits |= TARGET_WARN_CADENCE_FAR;
    if (!isnan(spread) && t->high - t->low < spread)
        bits |= TARGET_WARN_NARROW;
    return bits;
}

/* To three digits: more says nothing of a step. */
static double
rounded(double v)
{
    char text[32];
    double out = v;
    snprintf(text, sizeof text, "%.3g", v);
    str_to_double(text, &out);
    return out;
}

void
target_warning_tell(const struct target *set, int which, double spread, enum target_warning warning, struct message *out)
{
    const struct target *t = &set[which];
    const struct message_arg name = message_word(target_metric_words(t->metric));
    switch (warning) {
    case TARGET_WARN_CADENCE_FAR:
        message_tell(out, MESSAGE_TARGET_CADENCE_IS_FAR,
                     message_signed(100 * (0.5 * (t->low + t->high) / t->baseline - 1), 1, MESSAGE_UNIT_PCT),
                     message_real(t->baseline, 1, MESSAGE_UNIT_STEPS_MIN));
        return;
    case TARGET_WARN_NARROW:
        message_tell(out, MESSAGE_TARGET_IS_NARROW, name, rounded(t->high - t->low), message_word(metric_info(t->metric)->unit),
                     rounded(spread));
        return;
    case TARGET_WARN_MANY:
        message_tell(out, MESSAGE_TARGET_IS_ONE_OF_MANY, name);
        return;
    }
    message_init(out, MESSAGE_NONE);
}
