#include "report/csv.h"

#include "paper/number.h"
#include "store/names.h"

#include <math.h>
#include <string.h>

enum column_kind {
    COLUMN_NUMBER,
    COLUMN_SIDE,
    COLUMN_TOUCHDOWN,
    COLUMN_TOE_OFF,
    COLUMN_YES_NO,
    COLUMN_METRIC,
    COLUMN_ZONE,
    COLUMN_GAIT,
    COLUMN_FLAGS,
};

struct column {
    const char *name; /* NULL = the metric's own */
    enum column_kind kind;
    enum metric metric; /* valid for COLUMN_METRIC and COLUMN_YES_NO */
};

/* Names and order are a promise to those who read the table: add at the end or not at all. */
static const struct column COLUMNS[] = {
    { "step", COLUMN_NUMBER, METRIC_COUNT },           { "side", COLUMN_SIDE, METRIC_COUNT },
    { "touchdown_s", COLUMN_TOUCHDOWN, METRIC_COUNT }, { "toeoff_s", COLUMN_TOE_OFF, METRIC_COUNT },
    { NULL, COLUMN_METRIC, METRIC_STEP_TIME_S },       { NULL, COLUMN_METRIC, METRIC_CONTACT_MS },
    { NULL, COLUMN_METRIC, METRIC_FLIGHT_MS },         { NULL, COLUMN_METRIC, METRIC_CADENCE_SPM },
    { NULL, COLUMN_METRIC, METRIC_DUTY_FACTOR },       { NULL, COLUMN_METRIC, METRIC_PEAK_FORCE_BW },
    { NULL, COLUMN_METRIC, METRIC_LOAD_RATE_BW_S },    { NULL, COLUMN_METRIC, METRIC_LOAD_RATE_MAX_BW_S },
    { NULL, COLUMN_YES_NO, METRIC_IMPACT_TRANSIENT },  { NULL, COLUMN_METRIC, METRIC_TRANSIENT_BW },
    { NULL, COLUMN_METRIC, METRIC_TRANSIENT_MS },      { NULL, COLUMN_METRIC, METRIC_COM_DROP_MM },
    { NULL, COLUMN_METRIC, METRIC_COM_LOW_MS },        { NULL, COLUMN_METRIC, METRIC_STRIKE_INDEX_PCT },
    { "strike_zone", COLUMN_ZONE, METRIC_COUNT },      { NULL, COLUMN_METRIC, METRIC_LANDING_AHEAD_MM },
    { NULL, COLUMN_METRIC, METRIC_STIFFNESS_KN_M },    { "gait", COLUMN_GAIT, METRIC_COUNT },
    { "flags", COLUMN_FLAGS, METRIC_COUNT },           { NULL, COLUMN_METRIC, METRIC_STRIKE_TRAVEL_MM },
    { NULL, COLUMN_METRIC, METRIC_LANDING_FIRST_MM },  { NULL, COLUMN_METRIC, METRIC_BRAKING_IMPULSE_BW_S },
    { NULL, COLUMN_METRIC, METRIC_PEAK_BRAKING_BW },   { NULL, COLUMN_METRIC, METRIC_BRAKING_END_PCT },
};
#define N_COLUMNS ((int) (sizeof COLUMNS / sizeof COLUMNS[0]))

void
csv_names(FILE *f)
{
    for (int i = 0; i < N_COLUMNS; i++)
        fprintf(f, "%s%s", i == 0 ? "" : ",",
                COLUMNS[i].name != NULL ? COLUMNS[i].name : metric_info(COLUMNS[i].metric)->name);
}

void
csv_header(FILE *f)
{
    csv_names(f);
    fputc('\n', f);
}

static void
put_number(FILE *f, double value, int digits)
{
    char text[NUMBER_MAX];

    if (isfinite(value))
        fputs(number_fixed(text, value, digits), f);
}

static void
put_word(FILE *f, const char *word)
{
    if (word != NULL)
        fputs(word, f);
}

static double
metric_value(const struct step *s, enum metric m)
{
    return s->standing[m] == METRIC_MISSING ? (double) NAN : s->value[m];
}

static void
put_column(FILE *f, const struct column *c, const struct step *s, double time_zero_s)
{
    char words[NAMES_FLAGS_MAX];
    double value;

    switch (c->kind) {
    case COLUMN_NUMBER:
        fprintf(f, "%u", (unsigned) s->number);
        break;
    case COLUMN_SIDE:
        put_word(f, names_foot(s->foot));
        break;
    case COLUMN_TOUCHDOWN:
        put_number(f, time_zero_s + units_s_from_us(s->touchdown.us), 6);
        break;
    case COLUMN_TOE_OFF:
        /* A contact that was cut off by the end of the data has no toe-off. */
        if (s->toe_off.us > s->touchdown.us)
            put_number(f, time_zero_s + units_s_from_us(s->toe_off.us), 6);
        break;
    case COLUMN_YES_NO:
        value = metric_value(s, c->metric);
        put_word(f, isnan(value) ? NULL : value >= 0.5 ? "yes" : "no");
        break;
    case COLUMN_METRIC:
        put_number(f, metric_value(s, c->metric), metric_info(c->metric)->digits);
        break;
    case COLUMN_ZONE:
        put_word(f, names_zone(s->zone));
        break;
    case COLUMN_GAIT:
        put_word(f, names_gait(s->gait));
        break;
    case COLUMN_FLAGS:
        names_flags(s->flags, words);
        fputs(words, f);
        break;
    }
}

void
csv_no_fields(FILE *f)
{
    for (int i = 1; i < N_COLUMNS; i++)
        fputc(',', f);
}

void
csv_text(FILE *f, const char *text)
{
    if (!text || !text[0])
        return;
    fputs(strchr("=+-@\t\r", text[0]) ? "\"'" : "\"", f);
    for (const char *p = text; *p; p++) {
        if (*p == '"')
            fputc('"', f);
        fputc(*p, f);
    }
    fputc('"', f);
}

void
csv_fields(FILE *f, const struct step *s, double time_zero_s)
{
    for (int i = 0; i < N_COLUMNS; i++) {
        if (i > 0)
            fputc(',', f);
        put_column(f, &COLUMNS[i], s, time_zero_s);
    }
}

void
csv_step(FILE *f, const struct step *s, double time_zero_s)
{
    csv_fields(f, s, time_zero_s);
    fputc('\n', f);
}
