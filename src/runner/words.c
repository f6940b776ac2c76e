#include "runner/words.h"

#include "base/str.h"

#include <assert.h>
#include <ctype.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <ini.h>

#define WORDS_PATH_MAX 1024

static const char *const words_cue_key[VERDICT_CUE_COUNT] = {
    [VERDICT_CUE_NONE] = "",
    [VERDICT_CUE_QUICKER_STEPS] = "quicker_steps",
    [VERDICT_CUE_SLOWER_STEPS] = "slower_steps",
    [VERDICT_CUE_LAND_NEARER] = "land_nearer",
    [VERDICT_CUE_REACH_MORE] = "reach_more",
    [VERDICT_CUE_LAND_SOFTER] = "land_softer",
    [VERDICT_CUE_SHORTER_CONTACT] = "shorter_contact",
    [VERDICT_CUE_LONGER_CONTACT] = "longer_contact",
    [VERDICT_CUE_FLATTER_FOOT] = "flatter_foot",
    [VERDICT_CUE_HEEL_DOWN] = "heel_down",
};

static const char *const words_key[WORDS_COUNT] = {
    [WORDS_OFF] = "off",
    [WORDS_STANDING] = "standing",
    [WORDS_WALKING] = "walking",
    [WORDS_COUNTING] = "counting",
    [WORDS_WARM_UP] = "warm_up",
    [WORDS_BASELINE] = "baseline",
    [WORDS_COACHED] = "coached",
    [WORDS_SILENT] = "silent",
    [WORDS_COOL_DOWN] = "cool_down",
    [WORDS_NOT_SAVED] = "not_saved",
    [WORDS_PAUSED] = "paused",
    [WORDS_ENDED] = "ended",
    [WORDS_WAITING] = "waiting",
    [WORDS_QUIET] = "quiet",
    [WORDS_GONE] = "gone",
    [WORDS_GARBLED] = "garbled",
    [WORDS_LEFT] = "left",
    [WORDS_RIGHT] = "right",
    [WORDS_BELT] = "belt",
    [WORDS_LAST_MINUTES] = "last_minutes",
    [WORDS_AGO_S] = "ago_s",
    [WORDS_STEPS] = "steps",
    [WORDS_STEP_OFF] = "step_off",
    [WORDS_PAIN] = "pain",
    [WORDS_DECIMAL] = "decimal",
};

/* ---------------------------------------------------------------- where the files are */

static bool
words_try(char *path, size_t cap, const char *dir, const char *between, const char *file)
{
    int n = snprintf(path, cap, "%s%s/%s", dir, between, file);
    return n > 0 && (size_t) n < cap && access(path, R_OK) == 0;
}

/* The folder of the program's own file. */
static bool
words_program_dir(char *dir, size_t cap)
{
    ssize_t n = readlink("/proc/self/exe", dir, cap - 1);
    if (n <= 0)
        return false;
    dir[n] = '\0';
    char *slash = strrchr(dir, '/');
    if (slash == NULL)
        return false;
    *slash = '\0';
    return true;
}

enum err
words_find(const char *file, const char *dir, char *path, size_t cap)
{
    /* From the program's folder: build/, build/<flags>/, and deeper for tests; then an installed tree. */
    static const char *const beside[] = {
        "/../assets",          "/../../assets", "/../../../assets",
        "/../../../../assets", "/assets",       "/../share/underfoot/assets"
    };
    if (dir != NULL)
        return words_try(path, cap, dir, "", file) ? ERR_OK : ERR_OS;
    const char *set = getenv("UNDERFOOT_ASSETS");
    if (set != NULL && set[0] != '\0')
        return words_try(path, cap, set, "", file) ? ERR_OK : ERR_OS;
    char own[WORDS_PATH_MAX];
    if (words_program_dir(own, sizeof own))
        for (size_t i = 0; i < sizeof beside / sizeof beside[0]; i++)
            if (words_try(path, cap, own, beside[i], file))
                return ERR_OK;
    if (words_try(path, cap, "/usr/share/underfoot/assets", "", file) ||
        words_try(path, cap, "/usr/local/share/underfoot/assets", "", file) ||
        words_try(path, cap, "assets", "", file))
        return ERR_OK;
    return ERR_OS;
}

/* A name such as cues-de.ini; its two letters into code. */
static bool
words_code_of(const char *name, char code[3])
{
    if (strlen(name) != 11 || strncmp(name, "cues-", 5) != 0 || strcmp(name + 7, ".ini") != 0)
        return false;
    snprintf(code, 3, "%.2s", name + 5);
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
    char path[WORDS_PATH_MAX], code[WORDS_LANGUAGES_MAX / 3][3];
    size_t n = 0;
    out[0] = '\0';
    if (words_find("cues-en.ini", dir, path, sizeof path) != ERR_OK)
        return;
    *strrchr(path, '/') = '\0';
    DIR *folder = opendir(path);
    if (folder == NULL)
        return;
    for (struct dirent *e; n < sizeof code / sizeof code[0] && (e = readdir(folder)) != NULL;)
        n += words_code_of(e->d_name, code[n]);
    closedir(folder);
    qsort(code, n, sizeof code[0], words_by_code);
    for (size_t i = 0; i < n; i++) {
        if (i > 0)
            str_append(out, WORDS_LANGUAGES_MAX, " ");
        str_append(out, WORDS_LANGUAGES_MAX, code[i]);
    }
}

/* ---------------------------------------------------------------- what is in them */

/* 1 = taken (inih's answer for "fine"), 0 = no such key. */
static int
words_put(char *to, size_t cap, const char *value)
{
    if (strlen(value) >= cap)
        return 0;
    snprintf(to, cap, "%s", value);
    return 1;
}

static int
words_line(void *user, const char *section, const char *key, const char *value)
{
    struct words *w = user;
    if (strcmp(section, "cue") == 0) {
        for (int i = 1; i < VERDICT_CUE_COUNT; i++)
            if (strcmp(key, words_cue_key[i]) == 0)
                return words_put(w->cue[i], sizeof w->cue[i], value);
    } else if (strcmp(section, "word") == 0) {
        for (int i = 0; i < WORDS_COUNT; i++)
            if (strcmp(key, words_key[i]) == 0)
                return words_put(w->word[i], sizeof w->word[i], value);
    } else if (strcmp(section, "metric") == 0 || strcmp(section, "unit") == 0) {
        enum metric m = metric_by_name(key);
        if (m == METRIC_COUNT)
            return 0;
        return section[0] == 'm' ? words_put(w->metric[m], sizeof w->metric[m], value)
                                 : words_put(w->unit[m], sizeof w->unit[m], value);
    }
    return 0;
}

/* The key that has no words; NULL when all have. */
static const char *
words_missing(const struct words *w)
{
    for (int i = 1; i < VERDICT_CUE_COUNT; i++)
        if (w->cue[i][0] == '\0')
            return words_cue_key[i];
    for (int i = 0; i < WORDS_COUNT; i++)
        if (w->word[i][0] == '\0')
            return words_key[i];
    return NULL;
}

enum err
words_load(struct words *w, const char *language, const char *dir)
{
    char file[32], path[WORDS_PATH_MAX];
    *w = (struct words){ .language = "" };
    bool is_code = language != NULL && strlen(language) == 2 && islower((unsigned char) language[0]) &&
                   islower((unsigned char) language[1]);
    if (!is_code) {
        snprintf(w->why, sizeof w->why, "A language is two small letters, such as en, de, fr, es or ja");
        return ERR_USAGE;
    }
    snprintf(w->language, sizeof w->language, "%.2s", language);
    for (int i = 0; i < METRIC_COUNT; i++) { /* what the file leaves out is named as in tables */
        snprintf(w->metric[i], sizeof w->metric[i], "%s", metric_info((enum metric) i)->name);
        snprintf(w->unit[i], sizeof w->unit[i], "%s", metric_info((enum metric) i)->unit);
    }
    snprintf(file, sizeof file, "cues-%.2s.ini", language);
    if (words_find(file, dir, path, sizeof path) != ERR_OK) {
        snprintf(w->why, sizeof w->why, "%s is nowhere to be found: name its folder in UNDERFOOT_ASSETS",
                 file);
        return ERR_OS;
    }
    int line = ini_parse(path, words_line, w);
    if (line != 0) {
        snprintf(w->why, sizeof w->why, "%.400s line %d: not a known key with its words", path, line);
        return ERR_FORMAT;
    }
    const char *missing = words_missing(w);
    if (missing != NULL) {
        snprintf(w->why, sizeof w->why, "%.400s: the words for %s are missing", path, missing);
        return ERR_FORMAT;
    }
    return ERR_OK;
}
