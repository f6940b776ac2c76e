/* screen_state.c - what the verdict means for the screen: live or not, judged or not, the sensor's sentence. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "runner/screen_parts.h"

/* A value this old is not live, whatever the sensor's state says: ten slow steps. */
#define SCREEN_STALE_US INT64_C(4000000)

bool
screen_has_target(const struct verdict_bar *b)
{
    return !isnan(b->low) || !isnan(b->high);
}

bool
screen_is_split(const struct verdict *v, int bar)
{
    bool is_focus = v->focus == METRIC_ASYM_STEP_TIME_PCT || v->focus == METRIC_ASYM_CONTACT_PCT ||
                    v->focus == METRIC_ASYM_LOAD_RATE_PCT;
    return is_focus && !isnan(v->bar[bar].value_left) && !isnan(v->bar[bar].value_right);
}

bool
screen_is_stale(const struct screen *s, struct host_time now)
{
    const struct verdict *v = &s->verdict;
    bool is_old = v->last_value_at.us > 0 && units_host_since_us(now, v->last_value_at) > SCREEN_STALE_US;
    return s->scene == SCREEN_LOST || is_old ||
           (v->gait != STEP_GAIT_RUNNING && v->gait != STEP_GAIT_UNKNOWN);
}

const char *
screen_sentence(const struct screen *s)
{
    const struct verdict *v = &s->verdict;
    if (s->has_verdict && v->message[0] != '\0' && strcmp(s->words.language, "en") == 0)
        return v->message;
    switch (v->sensor) {
    case VERDICT_SENSOR_QUIET:
        return s->words.word[WORDS_QUIET];
    case VERDICT_SENSOR_GONE:
        return s->words.word[WORDS_GONE];
    case VERDICT_SENSOR_GARBLED:
        return s->words.word[WORDS_GARBLED];
    case VERDICT_SENSOR_WAITING:
    case VERDICT_SENSOR_LIVE:
        break;
    }
    return s->words.word[WORDS_WAITING];
}

void
screen_fill_in(char *text, size_t cap, const char *words, const char *value)
{
    const char *at = strstr(words, "%s");
    if (at == NULL)
        snprintf(text, cap, "%s", words);
    else
        snprintf(text, cap, "%.*s%s%s", (int) (at - words), words, value, at + 2);
}
