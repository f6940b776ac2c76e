#include "report/metric_words.h"

#include "report/course.h"

#include <string.h>

static const char *const LABEL[METRIC_COUNT] = {
    [METRIC_CADENCE_SPM] = N_("Cadence"),
    [METRIC_CONTACT_MS] = N_("Contact time"),
    [METRIC_FLIGHT_MS] = N_("Flight time"),
    [METRIC_LANDING_AHEAD_MM] = N_("Landing ahead"),
    [METRIC_AHEAD_AT_LOAD_MM] = N_("Ahead at loading peak"),
    [METRIC_LOAD_RATE_BW_S] = N_("Loading rate"),
    [METRIC_IMPACT_TRANSIENT] = N_("First peak"),
    [METRIC_STRIKE_INDEX_PCT] = N_("Strike index"),
    [METRIC_PEAK_FORCE_BW] = N_("Peak force"),
    [METRIC_COM_DROP_MM] = N_("Drop of the mass centre"),
    [METRIC_STIFFNESS_KN_M] = N_("Vertical stiffness"),
    [METRIC_HEEL_TO_FORE_MS] = N_("Heel to forefoot"),
    [METRIC_STEP_WIDTH_MM] = N_("Step width"),
    [METRIC_ASYM_CONTACT_PCT] = N_("Asymmetry of contact"),
    [METRIC_STEP_VAR_PCT] = N_("Stride variability"),
    [METRIC_BRAKING_IMPULSE_BW_S] = N_("Braking"),
    [METRIC_PEAK_BRAKING_BW] = N_("Peak braking"),
    [METRIC_BRAKING_END_PCT] = N_("Braking ends at"),
};

const char *
metric_words_label(const struct catalogue *w, enum metric m)
{
    return LABEL[m] ? phrase(w, LABEL[m]) : metric_info(m)->name;
}

const char *
metric_words_unit(const struct catalogue *w, enum metric m)
{
    const char *unit = metric_info(m)->unit;
    if (course_scale(m) > 1)
        return phrase(w, N_("% of steps"));
    return strcmp(unit, "steps/min") == 0 ? phrase(w, N_("steps/min")) : strcmp(unit, "deg") == 0 ? "\xc2\xb0" : unit;
}

int
metric_words_digits(enum metric m)
{
    const int digits = metric_info(m)->digits;
    return course_scale(m) > 1 ? 0 : digits > 4 ? 4 : digits > 2 ? 2 : digits > 0 ? digits - 1 : 0;
}

const char *
metric_words_title(const struct catalogue *w, enum metric m, char out[METRIC_WORDS_TITLE_MAX])
{
    out[0] = '\0';
    phrase_list(w, out, METRIC_WORDS_TITLE_MAX, metric_words_label(w, m));
    phrase_list(w, out, METRIC_WORDS_TITLE_MAX, metric_words_unit(w, m));
    return out;
}

const char *
metric_words_value(const struct catalogue *w, char out[NUMBER_MAX], enum metric m, double value)
{
    return phrase_number(w, out, value * course_scale(m), metric_words_digits(m));
}
