#include "paper/phrase.h"

#include "base/str.h"
#include "base/utf8.h"
#include "paper/local_time.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#define MORE "…"
#define UNKNOWN "–"

const char *
phrase(const struct catalogue *w, const char *english)
{
    return catalogue_of(w, NULL, english);
}

const char *
phrase_in(const struct catalogue *w, const char *context, const char *english)
{
    return catalogue_of(w, context, english);
}

const char *
phrase_count(const struct catalogue *w, int n, const char *one, const char *many)
{
    return catalogue_count(w, NULL, one, many, n < 0 ? 0 : (uint64_t) n);
}

char *
phrase_fill(char *out, size_t cap, const char *words, ...)
{
    const char *part[9];
    int n = 0;
    bool is_whole = true;
    va_list parts;
    va_start(parts, words);
    while (n < 9 && (part[n] = va_arg(parts, const char *)) != NULL)
        n++;
    va_end(parts);
    out[0] = '\0';
    for (const char *at = words; *at && is_whole;) {
        const int k = at[0] == '{' && at[1] >= '1' && at[1] <= '9' && at[2] == '}' ? at[1] - '1' : n;
        char piece[256];
        const size_t len = k < n ? 3 : 1 + strcspn(at + 1, "{");
        snprintf(piece, sizeof piece, "%.*s", (int) (len < sizeof piece ? len : sizeof piece - 1), at);
        is_whole = str_append(out, cap - sizeof MORE, k < n ? part[k] : piece);
        at += len < sizeof piece ? len : sizeof piece - 1;
    }
    if (!is_whole) {
        size_t len = strlen(out);
        while (len > 0 && ((unsigned char) out[len - 1] & 0x80) != 0) /* no half letter */
            len--;
        out[len] = '\0';
        str_append(out, cap, MORE);
    }
    return out;
}

const char *
phrase_number(const struct catalogue *w, char out[NUMBER_MAX], double value, int digits)
{
    if (isfinite(value)) {
        number_fixed(out, value, digits);
        str_set_decimal(out, NUMBER_MAX, phrase_in(w, "runner", "."));
    } else
        str_copy(out, NUMBER_MAX, UNKNOWN);
    return out;
}

const char *
phrase_signed(const struct catalogue *w, char out[NUMBER_MAX], double value, int digits)
{
    char number[NUMBER_MAX];
    snprintf(out, NUMBER_MAX, "%s%.40s", value > 0 ? "+" : "", phrase_number(w, number, value, digits));
    return out;
}

const char *
phrase_int(char out[NUMBER_MAX], int64_t value)
{
    snprintf(out, NUMBER_MAX, "%lld", (long long) value);
    return out;
}

const char *
phrase_time(const struct catalogue *w, char out[PHRASE_TIME_MAX], int64_t utc_ms, int zone_offset_min)
{
    char text[LOCAL_TIME_MAX], *part[5] = { text };
    local_time_short(text, utc_ms, zone_offset_min);
    for (int i = 1; i < 5; i++) /* 2026-03-29 14:05 */
        if ((part[i] = strpbrk(part[i - 1], "- :")) != NULL)
            *part[i]++ = '\0';
        else
            part[i] = part[i - 1] + strlen(part[i - 1]);
    return phrase_fill(out, PHRASE_TIME_MAX, phrase_in(w, "paper", "{1}-{2}-{3} {4}:{5}"), part[0], part[1], part[2], part[3], part[4],
                       (char *) NULL);
}

void
phrase_list(const struct catalogue *w, char *out, size_t cap, const char *item)
{
    if (out[0])
        str_append(out, cap, phrase_in(w, "paper", ", "));
    str_append(out, cap, item);
}

void
phrase_sentence(char *out, size_t cap, const char *sentence)
{
    if (out[0] && sentence[0])
        str_append(out, cap, " ");
    str_append(out, cap, sentence);
}

/* Those that a terminal draws two columns wide: East Asian letters and their signs (Unicode's East Asian Width, W and F). */
static bool
is_wide(uint32_t c)
{
    return (c >= 0x1100 && c <= 0x115F) || (c >= 0x2E80 && c <= 0xA4CF) || (c >= 0xAC00 && c <= 0xD7A3) || (c >= 0xF900 && c <= 0xFAFF) ||
           (c >= 0xFE30 && c <= 0xFE6F) || (c >= 0xFF00 && c <= 0xFF60) || (c >= 0xFFE0 && c <= 0xFFE6) || (c >= 0x20000 && c <= 0x3FFFD);
}

int
phrase_columns(const char *text)
{
    int n = 0;
    for (const char *at = text; *at;) {
        const int len = utf8_len(at);
        uint32_t c = (unsigned char) *at;
        if (len > 1)
            c &= 0x7Fu >> len;
        for (int i = 1; i < len; i++)
            c = c << 6 | ((unsigned char) at[i] & 0x3Fu);
        n += is_wide(c) ? 2 : 1;
        at += len > 0 ? len : 1;
    }
    return n;
}

void
phrase_put(FILE *f, int width, const char *text)
{
    const int blanks = (width < 0 ? -width : width) - phrase_columns(text), room = blanks > 0 ? blanks : width ? 1 : 0;
    fprintf(f, "%*s%s%*s", width < 0 ? room : 0, "", text, width < 0 ? 0 : room, "");
}

void
phrase_put_number(FILE *f, const struct catalogue *w, int width, double value, int digits)
{
    char text[NUMBER_MAX];
    phrase_put(f, -width, isfinite(value) ? phrase_number(w, text, value, digits) : "-");
}

void
phrase_put_heads(FILE *f, const struct catalogue *w, const char *const *english, int *width, int n)
{
    for (int i = 0; i < n; i++) {
        const char *head = phrase(w, english[i]);
        if (width[i] <= phrase_columns(head))
            width[i] = phrase_columns(head) + 2;
        phrase_put(f, -width[i], head);
    }
    fputc('\n', f);
}
