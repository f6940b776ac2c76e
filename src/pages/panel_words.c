#include "pages/panel_words.h"

#include "base/str.h"
#include "panel/panel.h"
#include "runner/words.h"

#include <string.h>

enum err
panel_words_load(struct panel_words *w, const char *language, const char *dir)
{
    return words_catalogue(&w->catalogue, language, dir, &w->why);
}

void
panel_words_close(struct panel_words *w)
{
    catalogue_close(&w->catalogue);
}

bool
panel_words_are_english(const struct panel_words *w)
{
    return !w || !w->catalogue.bytes;
}

const char *
panel_words_of(const struct panel_words *w, const char *english)
{
    return w ? catalogue_of(&w->catalogue, NULL, english) : english;
}

const char *
panel_words_decimal(const struct panel_words *w)
{
    return w ? catalogue_of(&w->catalogue, "runner", ".") : ".";
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
