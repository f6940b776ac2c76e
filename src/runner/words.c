#include "runner/words.h"

#include "base/mark.h"
#include "base/places.h"
#include "base/str.h"

#include <ctype.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define WORDS_PATH_MAX 1024
#define WORDS_CONTEXT  "runner"

static const char *const words_cue[VERDICT_CUE_COUNT] = {
    [VERDICT_CUE_NONE] = "",
    [VERDICT_CUE_QUICKER_STEPS] = NC_("runner", "Quicker steps"),
    [VERDICT_CUE_SLOWER_STEPS] = NC_("runner", "Slower steps"),
    [VERDICT_CUE_LAND_NEARER] = NC_("runner", "Land nearer"),
    [VERDICT_CUE_REACH_MORE] = NC_("runner", "Reach further"),
    [VERDICT_CUE_LAND_SOFTER] = NC_("runner", "Land softer"),
    [VERDICT_CUE_SHORTER_CONTACT] = NC_("runner", "Shorter contact"),
    [VERDICT_CUE_LONGER_CONTACT] = NC_("runner", "Longer contact"),
    [VERDICT_CUE_FLATTER_FOOT] = NC_("runner", "Land flatter"),
    [VERDICT_CUE_HEEL_DOWN] = NC_("runner", "Lower the heel"),
    [VERDICT_CUE_BRAKE_LESS] = NC_("runner", "Brake less"),
};

/* Under a bar; a figure that is never shown there keeps its table name. */
static const char *const words_label[METRIC_COUNT] = {
    [METRIC_CADENCE_SPM] = NC_("runner", "Steps"),
    [METRIC_CONTACT_MS] = NC_("runner", "Contact"),
    [METRIC_FLIGHT_MS] = NC_("runner", "Flight"),
    [METRIC_DUTY_FACTOR] = NC_("runner", "Duty factor"),
    [METRIC_PEAK_FORCE_BW] = NC_("runner", "Peak force"),
    [METRIC_LOAD_RATE_BW_S] = NC_("runner", "Loading rate"),
    [METRIC_LOAD_RATE_MAX_BW_S] = NC_("runner", "Loading rate, max"),
    [METRIC_COM_DROP_MM] = NC_("runner", "Drop"),
    [METRIC_STRIKE_INDEX_PCT] = NC_("runner", "Strike"),
    [METRIC_STRIKE_TRAVEL_MM] = NC_("runner", "Load travel"),
    [METRIC_LANDING_FIRST_MM] = NC_("runner", "First load"),
    [METRIC_LANDING_AHEAD_MM] = NC_("runner", "Landing ahead"),
    [METRIC_AHEAD_AT_LOAD_MM] = NC_("runner", "Ahead at load"),
    [METRIC_STIFFNESS_KN_M] = NC_("runner", "Stiffness"),
    [METRIC_STEP_WIDTH_MM] = NC_("runner", "Step width"),
    [METRIC_TOE_OUT_DEG] = NC_("runner", "Toe-out"),
    [METRIC_ASYM_STEP_TIME_PCT] = NC_("runner", "Uneven steps"),
    [METRIC_ASYM_CONTACT_PCT] = NC_("runner", "Uneven contact"),
    [METRIC_ASYM_LOAD_RATE_PCT] = NC_("runner", "Uneven load"),
    [METRIC_STEP_VAR_PCT] = NC_("runner", "Variation"),
    [METRIC_STEP_TIME_S] = NC_("runner", "Step time"),
    [METRIC_IMPACT_TRANSIENT] = NC_("runner", "First peak"),
    [METRIC_TRANSIENT_BW] = NC_("runner", "First peak"),
    [METRIC_TRANSIENT_MS] = NC_("runner", "First peak at"),
    [METRIC_TRANSIENT_LEAD_MS] = NC_("runner", "Load before low"),
    [METRIC_COM_LOW_MS] = NC_("runner", "Lowest at"),
    [METRIC_WHOLE_FOOT_AT_LOAD] = NC_("runner", "Whole foot"),
    [METRIC_LEG_STIFFNESS_KN_M] = NC_("runner", "Leg stiffness"),
    [METRIC_BELT_SPEED_M_S] = NC_("runner", "Belt"),
    [METRIC_HEEL_TO_FORE_MS] = NC_("runner", "Heel to fore"),
    [METRIC_BRAKING_IMPULSE_BW_S] = NC_("runner", "Braking"),
    [METRIC_PEAK_BRAKING_BW] = NC_("runner", "Peak braking"),
    [METRIC_BRAKING_END_PCT] = NC_("runner", "Braking ends"),
};

static const char *const words_unit[METRIC_COUNT] = {
    [METRIC_CADENCE_SPM] = NC_("runner", "/min"),
    [METRIC_CONTACT_MS] = NC_("runner", "ms"),
    [METRIC_FLIGHT_MS] = NC_("runner", "ms"),
    [METRIC_DUTY_FACTOR] = "",
    [METRIC_PEAK_FORCE_BW] = NC_("runner", "BW"),
    [METRIC_LOAD_RATE_BW_S] = NC_("runner", "BW/s"),
    [METRIC_LOAD_RATE_MAX_BW_S] = NC_("runner", "BW/s"),
    [METRIC_COM_DROP_MM] = NC_("runner", "mm"),
    [METRIC_STRIKE_INDEX_PCT] = NC_("runner", "%"),
    [METRIC_STRIKE_TRAVEL_MM] = NC_("runner", "mm"),
    [METRIC_LANDING_FIRST_MM] = NC_("runner", "mm"),
    [METRIC_LANDING_AHEAD_MM] = NC_("runner", "mm"),
    [METRIC_AHEAD_AT_LOAD_MM] = NC_("runner", "mm"),
    [METRIC_STIFFNESS_KN_M] = NC_("runner", "kN/m"),
    [METRIC_STEP_WIDTH_MM] = NC_("runner", "mm"),
    [METRIC_TOE_OUT_DEG] = NC_("runner", "°"),
    [METRIC_ASYM_STEP_TIME_PCT] = NC_("runner", "%"),
    [METRIC_ASYM_CONTACT_PCT] = NC_("runner", "%"),
    [METRIC_ASYM_LOAD_RATE_PCT] = NC_("runner", "%"),
    [METRIC_STEP_VAR_PCT] = NC_("runner", "%"),
    [METRIC_STEP_TIME_S] = NC_("runner", "s"),
    [METRIC_IMPACT_TRANSIENT] = "",
    [METRIC_TRANSIENT_BW] = NC_("runner", "BW"),
    [METRIC_TRANSIENT_MS] = NC_("runner", "ms"),
    [METRIC_TRANSIENT_LEAD_MS] = NC_("runner", "ms"),
    [METRIC_COM_LOW_MS] = NC_("runner", "ms"),
    [METRIC_WHOLE_FOOT_AT_LOAD] = "",
    [METRIC_LEG_STIFFNESS_KN_M] = NC_("runner", "kN/m"),
    [METRIC_BELT_SPEED_M_S] = NC_("runner", "m/s"),
    [METRIC_HEEL_TO_FORE_MS] = NC_("runner", "ms"),
    [METRIC_BRAKING_IMPULSE_BW_S] = NC_("runner", "BW s"),
    [METRIC_PEAK_BRAKING_BW] = NC_("runner", "BW"),
    [METRIC_BRAKING_END_PCT] = NC_("runner", "%"),
};

static const char *const words_word[WORDS_COUNT] = {
    [WORDS_OFF] = NC_("runner", "Nobody on the belt"),
    [WORDS_STANDING] = NC_("runner", "Standing"),
    [WORDS_WALKING] = NC_("runner", "Walking"),
    [WORDS_COUNTING] = NC_("runner", "Counting steps"),
    [WORDS_WARM_UP] = NC_("runner", "Warm-up"),
    [WORDS_BASELINE] = NC_("runner", "Baseline"),
    [WORDS_COACHED] = NC_("runner", "Coached"),
    [WORDS_SILENT] = NC_("runner", "Silent"),
    [WORDS_COOL_DOWN] = NC_("runner", "Cool-down"),
    [WORDS_PAUSED] = NC_("runner", "Paused"),
    [WORDS_NOT_SAVED] = NC_("runner", "Not saved"),
    [WORDS_KEPT_ASIDE] = NC_("runner", "Kept aside"),
    [WORDS_ENDED] = NC_("runner", "Run ended"),
    [WORDS_WAITING] = NC_("runner", "Waiting for the sensor. Plug it in and switch it on."),
    [WORDS_QUIET] = NC_("runner", "No data from the sensor. Check its cable and its power."),
    [WORDS_GONE] = NC_("runner", "The sensor is unplugged. Plug it in again."),
    [WORDS_GARBLED] = NC_("runner", "The sensor's data can't be read. Check its cable and its kind."),
    [WORDS_LEFT] = NC_("runner", "Left"),
    [WORDS_RIGHT] = NC_("runner", "Right"),
    [WORDS_AHEAD] = NC_("runner", "Ahead"),
    [WORDS_BODY] = NC_("runner", "Body"),
    [WORDS_BELT] = NC_("runner", "Belt"),
    [WORDS_LAST_MINUTES] = NC_("runner", "last 2 minutes"),
    [WORDS_AGO_S] = NC_("runner", "Last values %s s ago"),
    [WORDS_STEPS] = NC_("runner", "%s steps"),
    [WORDS_STEP_OFF] = NC_("runner", "Stay on until the belt stands still."),
    [WORDS_PAIN] = NC_("runner", "Any pain? Say so."),
    [WORDS_DECIMAL] = NC_("runner", "."),
};

/* ---------------------------------------------------------------- where the files are */

static bool
words_try(char *path, size_t cap, const char *dir, const char *between, const char *file)
{
    int n = snprintf(path, cap, "%s%s/languages/%s", dir, between, file);
    return n > 0 && (size_t) n < cap && access(path, R_OK) == 0;
}

/* Finds a file, or with "" the folder, of languages. */
static bool
words_find(const char *file, const char *dir, char *path, size_t cap)
{
    /* From the program's folder: build/, build/<flags>/, and deeper for tests; then an installed tree. */
    static const char *const beside[] = {
        "/assets",          "/../assets",          "/../../assets",
        "/../../../assets", "/../../../../assets", "/../share/underfoot/assets"
    };
    if (dir != NULL)
        return words_try(path, cap, dir, "", file);
    const char *set = getenv("UNDERFOOT_ASSETS");
    if (set != NULL && set[0] != '\0')
        return words_try(path, cap, set, "", file);
    char own[WORDS_PATH_MAX];
    if (places_program_folder(own, sizeof own))
        for (size_t i = 0; i < sizeof beside / sizeof beside[0]; i++)
            if (words_try(path, cap, own, beside[i], file))
                return true;
    return words_try(path, cap, "/usr/share/underfoot/assets", "", file) ||
           words_try(path, cap, "/usr/local/share/underfoot/assets", "", file) ||
           words_try(path, cap, "assets", "", file);
}

/* A name such as de.mo; its two letters into code. */
static bool
words_code_of(const char *name, char code[3])
{
    if (strlen(name) != 5 || strcmp(name + 2, ".mo") != 0)
        return false;
    snprintf(code, 3, "%.2s", name);
    return islower((unsigned char) code[0]) && islower((unsigned char) code[1]);
}

static int
words_by_code(const void *a, const void *b)
{
    return strcmp(a, b);
}

void
words_languages(const char *dir, char out[WORDS_LANGUAGES_MAX])
{
    char path[WORDS_PATH_MAX], code[WORDS_LANGUAGES_MAX / 3][3] = { "en" };
    size_t n = 1;
    DIR *folder = words_find("", dir, path, sizeof path) ? opendir(path) : NULL;
    for (struct dirent *e; folder && n < sizeof code / sizeof code[0] && (e = readdir(folder)) != NULL;)
        n += words_code_of(e->d_name, code[n]) && strcmp(code[n], "en") != 0;
    if (folder)
        closedir(folder);
    qsort(code, n, sizeof code[0], words_by_code);
    out[0] = '\0';
    for (size_t i = 0; i < n; i++) {
        if (i > 0)
            str_append(out, WORDS_LANGUAGES_MAX, " ");
        str_append(out, WORDS_LANGUAGES_MAX, code[i]);
    }
}

/* Whether words holds the two letters that name begins with, as de of de_DE.UTF-8. */
static bool
words_has(const char *languages, const char *name, char out[3])
{
    snprintf(out, 3, "%.2s", name);
    return strlen(out) == 2 && out[0] != ' ' && out[1] != ' ' && strchr("_.@:", name[2]) && strstr(languages, out);
}

void
words_of_environment(const char *dir, char out[3])
{
    static const char *const names[] = { "LC_ALL", "LC_MESSAGES", "LANG" };
    char languages[WORDS_LANGUAGES_MAX];
    const char *wish = NULL;
    words_languages(dir, languages);
    for (size_t i = 0; i < sizeof names / sizeof names[0] && !(wish && wish[0]); i++)
        wish = getenv(names[i]);
    const char *first = getenv("LANGUAGE");
    const bool is_plain = !wish || !wish[0] || strcmp(wish, "C") == 0 || strncmp(wish, "C.", 2) == 0 || strcmp(wish, "POSIX") == 0;
    for (const char *at = is_plain ? NULL : first; at && *at; at += strcspn(at, ":"), at += *at == ':')
        if (words_has(languages, at, out))
            return;
    if (is_plain || !words_has(languages, wish, out))
        str_copy(out, 3, "en");
}

/* ---------------------------------------------------------------- what is in them */

enum err
words_catalogue(struct catalogue *c, const char *language, const char *dir, struct message *why)
{
    char file[16], path[WORDS_PATH_MAX];
    catalogue_init(c);
    message_init(why, MESSAGE_NONE);
    const bool is_code = language != NULL && strlen(language) == 2 && islower((unsigned char) language[0]) &&
                         islower((unsigned char) language[1]);
    if (!is_code) {
        message_init(why, MESSAGE_WORDS_NO_CODE);
        return ERR_USAGE;
    }
    if (strcmp(language, "en") == 0)
        return ERR_OK;
    snprintf(file, sizeof file, "%.2s.mo", language);
    if (!words_find(file, dir, path, sizeof path)) {
        message_tell(why, MESSAGE_WORDS_NO_LANGUAGE, language, file);
        return ERR_GONE;
    }
    return catalogue_load(c, path, why);
}

static bool
words_put(char *to, size_t cap, const struct catalogue *c, const char *english)
{
    return str_copy(to, cap, catalogue_of(c, WORDS_CONTEXT, english));
}

/* Fills all words; returns the English of one that is too long, or NULL. */
static const char *
words_fill(struct words *w, const struct catalogue *c)
{
    const char *too_long = NULL;
    for (int i = 1; i < VERDICT_CUE_COUNT; i++)
        if (!words_put(w->cue[i], WORDS_MAX, c, words_cue[i]))
            too_long = words_cue[i];
    for (int i = 0; i < WORDS_COUNT; i++)
        if (!words_put(w->word[i], WORDS_SENTENCE_MAX, c, words_word[i]))
            too_long = words_word[i];
    for (int i = 0; i < METRIC_COUNT; i++) {
        const struct metric_info *m = metric_info((enum metric) i);
        if (!words_put(w->metric[i], WORDS_MAX, c, words_label[i] ? words_label[i] : m->name))
            too_long = words_label[i];
        if (!words_put(w->unit[i], WORDS_MAX, c, words_unit[i] ? words_unit[i] : m->unit))
            too_long = words_unit[i];
    }
    return too_long;
}

enum err
words_load(struct words *w, const char *language, const char *dir)
{
    struct catalogue c;
    *w = (struct words){ .language = "" };
    enum err err = words_catalogue(&c, language, dir, &w->why);
    str_copy(w->language, sizeof w->language, err == ERR_OK ? language : "en");
    const char *too_long = words_fill(w, &c);
    if (err == ERR_OK && too_long) {
        message_tell(&w->why, MESSAGE_WORDS_TOO_LONG, language, too_long);
        err = ERR_FORMAT;
    }
    catalogue_close(&c);
    return err;
}
