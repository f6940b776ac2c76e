#include "runner/show_as.h"

#include "base/str.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const KEYS[SHOW_AS_N_KEYS] = { "theme", "language", "distance", "sound", "metronome", "volume" };

static const double UNKNOWN = (double) NAN;

static bool
read_number(const char *value, double min, double max, double *out)
{
    char plain[SHOW_AS_TEXT_MAX];
    double number;
    str_copy(plain, sizeof plain, value);
    char *comma = strchr(plain, ',');
    if (comma)
        *comma = '.';
    if (!str_to_double(plain, &number) || !(number >= min) || !(number <= max))
        return false;
    *out = number;
    return true;
}

/* One of two words. */
static bool
read_either(const char *value, const char *no, const char *yes, bool *out)
{
    if (strcmp(value, no) != 0 && strcmp(value, yes) != 0)
        return false;
    *out = strcmp(value, yes) == 0;
    return true;
}

static bool
read_language(const char *value, const char *languages, char out[3])
{
    if (strlen(value) != 2 || !islower((unsigned char) value[0]) || !islower((unsigned char) value[1]))
        return false;
    if (languages && languages[0] && !strstr(languages, value)) /* blanks stand between: a pair of letters is one word */
        return false;
    str_copy(out, 3, value);
    return true;
}

static bool
read_metronome(const char *value, struct show_as *s)
{
    double spm = UNKNOWN;
    const bool is_target = strcmp(value, "target") == 0;
    if (!is_target && strcmp(value, "off") != 0 &&
        !read_number(value, SHOW_AS_BEAT_MIN_SPM, SHOW_AS_BEAT_MAX_SPM, &spm))
        return false;
    s->beat_is_target = is_target;
    s->beat_spm = spm;
    return true;
}

static bool
read_value(struct show_as *s, enum show_as_key key, const char *value, const char *languages)
{
    bool is_light = s->theme == THEME_LIGHT, is_right = false;
    double pct = 100 * s->volume;
    switch (key) {
    case SHOW_AS_THEME:
        is_right = read_either(value, "dark", "light", &is_light);
        s->theme = is_light ? THEME_LIGHT : THEME_DARK;
        break;
    case SHOW_AS_LANGUAGE:
        is_right = read_language(value, languages, s->language);
        break;
    case SHOW_AS_DISTANCE:
        is_right = read_number(value, 0.3, 10, &s->distance_m);
        break;
    case SHOW_AS_SOUND:
        is_right = read_either(value, "off", "on", &s->has_signs);
        break;
    case SHOW_AS_METRONOME:
        is_right = read_metronome(value, s);
        break;
    case SHOW_AS_VOLUME:
        is_right = read_number(value, 0, 100, &pct);
        s->volume = pct / 100;
        break;
    case SHOW_AS_N_KEYS:
        break;
    }
    return is_right;
}

static void
read_word(struct show_as *s, const char *word, const char *languages)
{
    int key = 0;
    const size_t len = strcspn(word, "=");
    while (key < SHOW_AS_N_KEYS && !(strlen(KEYS[key]) == len && strncmp(word, KEYS[key], len) == 0))
        key++;
    if (key < SHOW_AS_N_KEYS && word[len] == '=' && read_value(s, (enum show_as_key) key, word + len + 1, languages)) {
        s->has |= 1u << key;
        return;
    }
    if (s->wrong[0])
        return;
    str_copy(s->wrong, sizeof s->wrong, word);
    s->wrong_key = (enum show_as_key) key;
}

bool
show_as_parse(const char *text, const char *languages, struct show_as *out)
{
    *out = (struct show_as){ .distance_m = UNKNOWN, .beat_spm = UNKNOWN, .volume = UNKNOWN, .wrong_key = SHOW_AS_N_KEYS };
    for (const char *at = text; *at;) {
        char word[SHOW_AS_TEXT_MAX];
        const size_t len = strcspn(at, " \t\r\n");
        snprintf(word, sizeof word, "%.*s", (int) (len < sizeof word ? len : sizeof word - 1), at);
        if (len > 0)
            read_word(out, word, languages);
        at += len + (at[len] != '\0');
    }
    return out->wrong[0] == '\0';
}

const char *
show_as_allowed(enum show_as_key key, const char *languages, char out[SHOW_AS_TEXT_MAX])
{
    static const char *const allowed[SHOW_AS_N_KEYS + 1] = {
        [SHOW_AS_THEME] = "theme=dark|light",
        [SHOW_AS_LANGUAGE] = "language=",
        [SHOW_AS_DISTANCE] = "distance=0.3..10 (m)",
        [SHOW_AS_SOUND] = "sound=on|off",
        [SHOW_AS_METRONOME] = "metronome=100..260|target|off",
        [SHOW_AS_VOLUME] = "volume=0..100",
        [SHOW_AS_N_KEYS] = "theme= language= distance= sound= metronome= volume=",
    };
    str_copy(out, SHOW_AS_TEXT_MAX, allowed[key]);
    if (key == SHOW_AS_LANGUAGE)
        str_append(out, SHOW_AS_TEXT_MAX, languages && languages[0] ? languages : "en");
    for (char *c = out; key == SHOW_AS_LANGUAGE && *c; c++)
        *c = *c == ' ' ? '|' : *c;
    return out;
}

void
show_as_text(const struct show_as *s, char out[SHOW_AS_TEXT_MAX])
{
    char word[32];
    out[0] = '\0';
    for (int key = 0; key < SHOW_AS_N_KEYS; key++) {
        if (!(s->has & 1u << key))
            continue;
        snprintf(word, sizeof word, "%s%s=", out[0] ? " " : "", KEYS[key]);
        str_append(out, SHOW_AS_TEXT_MAX, word);
        word[0] = '\0';
        switch ((enum show_as_key) key) {
        case SHOW_AS_THEME:
            str_copy(word, sizeof word, s->theme == THEME_LIGHT ? "light" : "dark");
            break;
        case SHOW_AS_LANGUAGE:
            str_copy(word, sizeof word, s->language);
            break;
        case SHOW_AS_DISTANCE:
            snprintf(word, sizeof word, "%.3g", s->distance_m);
            break;
        case SHOW_AS_SOUND:
            str_copy(word, sizeof word, s->has_signs ? "on" : "off");
            break;
        case SHOW_AS_METRONOME:
            if (s->beat_is_target || isnan(s->beat_spm))
                str_copy(word, sizeof word, s->beat_is_target ? "target" : "off");
            else
                snprintf(word, sizeof word, "%.5g", s->beat_spm);
            break;
        case SHOW_AS_VOLUME:
            snprintf(word, sizeof word, "%.4g", 100 * s->volume);
            break;
        case SHOW_AS_N_KEYS:
            break;
        }
        str_append(out, SHOW_AS_TEXT_MAX, word);
    }
}
