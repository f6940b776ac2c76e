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
    if (s->has_verdict && s->sentence[0] != '\0' && strcmp(s->words.language, "en") == 0)
        return s->sentence;
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

/* enum verdict_side and enum theme_side stand in the same order (asserted in the tests). */
void
screen_advance_look(struct screen_look *look, enum verdict_side side, const struct theme *t, struct host_time now,
                    bool is_first)
{
    const struct theme_look *to = &t->look[(enum theme_side) side];
    const double goal[SCREEN_LOOK_N] = { to->rgb >> 16 & 0xFF, to->rgb >> 8 & 0xFF, to->rgb & 0xFF, to->hollow, to->hatch };
    if (!is_first && (look->side == side || units_host_since_us(now, look->since) < SCREEN_DWELL_US))
        return;
    look->side = side;
    look->since = now;
    for (int i = 0; i < SCREEN_LOOK_N; i++) {
        if (is_first)
            ease_set(&look->part[i], goal[i]);
        else
            ease_go(&look->part[i], goal[i], SCREEN_EASE_US, now);
    }
}

void
screen_look_now(const struct screen_look *look, struct host_time now, int32_t out[SCREEN_LOOK_N])
{
    for (int i = 0; i < SCREEN_LOOK_N; i++)
        out[i] = (int32_t) lround((i < 3 ? 1.0 : 64.0) * ease_value(&look->part[i], now));
}

uint32_t
screen_look_rgb(const struct screen *s, const int32_t part[SCREEN_LOOK_N], bool is_stale)
{
    uint32_t rgb = (uint32_t) part[0] << 16 | (uint32_t) part[1] << 8 | (uint32_t) part[2];
    return is_stale ? paint_mix(rgb, s->theme.ground, 0.5) : rgb;
}
