#include "pages/panel_words.h"

#include "base/str.h"
#include "runner/words.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <ini.h>

#define PATH_CAP 1024

void
panel_words_key(const char *english, char out[PANEL_WORDS_KEY_MAX])
{
    size_t n = 0;
    bool is_gap = false;
    for (const char *c = english; *c; c++) {
        /* {1} is x1: else a text that was filled with 1 would be taken for the one that is to be filled. */
        const unsigned char sign = *c == '{' ? 'x' : (unsigned char) *c;
        const bool is_plain = sign < 128 && isalnum(sign);
        if (is_plain && n + 1 + (is_gap && n > 0) >= PANEL_WORDS_KEY_MAX)
            break;
        if (is_plain && is_gap && n > 0)
            out[n++] = '_';
        if (is_plain) { /* "Visit" of a button is not "visit" of a line: the first letter stays as it is */
            out[n] = (char) (n == 0 ? sign : tolower(sign));
            n++;
        }
        is_gap = !is_plain;
    }
    out[n] = '\0';
}

/* 1 = taken (inih's answer for "fine"). A line that goes on comes as the same key once more. */
static int
take_line(void *user, const char *section, const char *key, const char *value)
{
    struct panel_words *w = user;
    if (strcmp(section, "panel") != 0 || strlen(key) >= PANEL_WORDS_KEY_MAX)
        return 0;
    if (w->n > 0 && strcmp(w->row[w->n - 1].key, key) == 0) {
        char *text = w->row[w->n - 1].text;
        return (!w->is_spaced || str_append(text, PANEL_WORDS_MAX, " ")) && str_append(text, PANEL_WORDS_MAX, value);
    }
    if (w->n == PANEL_WORDS_N_MAX)
        return 0;
    str_copy(w->row[w->n].key, PANEL_WORDS_KEY_MAX, key);
    return str_copy(w->row[w->n++].text, PANEL_WORDS_MAX, value) && value[0] != '\0';
}

static int
by_key(const void *a, const void *b)
{
    return strcmp(a, b); /* a row begins with its key */
}

enum err
panel_words_load(struct panel_words *w, const char *language, const char *dir)
{
    char file[32], path[PATH_CAP];
    memset(w, 0, sizeof *w);
    if (!language || strlen(language) != 2 || !islower((unsigned char) language[0]) || !islower((unsigned char) language[1])) {
        snprintf(w->why, sizeof w->why, "A language is two small letters, such as en, de, fr, es or ja");
        return ERR_USAGE;
    }
    w->is_spaced = strcmp(language, "ja") != 0;
    w->is_english = strcmp(language, "en") == 0;
    snprintf(file, sizeof file, "panel-%.2s.ini", language);
    if (words_find(file, dir, path, sizeof path) != ERR_OK) {
        snprintf(w->why, sizeof w->why, "%s is nowhere to be found: the panel is in English", file);
        return ERR_OS;
    }
    const int line = ini_parse(path, take_line, w);
    if (line != 0) {
        snprintf(w->why, sizeof w->why, "%.400s line %d: not a key with its words; the panel is in English", path, line);
        w->n = 0;
        return ERR_FORMAT;
    }
    qsort(w->row, (size_t) w->n, sizeof w->row[0], by_key);
    return ERR_OK;
}

bool
panel_words_are_english(const struct panel_words *w)
{
    return !w || w->n == 0 || w->is_english;
}

const char *
panel_words_of(const struct panel_words *w, const char *english)
{
    char key[PANEL_WORDS_KEY_MAX];
    if (!w || w->n == 0)
        return english;
    panel_words_key(english, key);
    const char *row = key[0] ? bsearch(key, w->row, (size_t) w->n, sizeof w->row[0], by_key) : NULL;
    return row ? row + offsetof(struct panel_words, row[0].text) - offsetof(struct panel_words, row[0].key) : english;
}

char *
panel_words_fill(const struct panel_words *w, char *out, size_t cap, const char *english, const char *const *part, int n)
{
    size_t len = 0;
    for (const char *c = panel_words_of(w, english); *c && len + 1 < cap; c++) {
        const int k = c[0] == '{' && c[1] >= '1' && c[1] <= '9' && c[2] == '}' ? c[1] - '1' : n;
        if (k >= n) {
            out[len++] = *c;
            continue;
        }
        const size_t room = cap - 1 - len, size = strlen(part[k]);
        memcpy(out + len, part[k], size < room ? size : room);
        len += size < room ? size : room;
        c += 2;
    }
    out[len] = '\0';
    return out;
}
