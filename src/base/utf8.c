#include "base/utf8.h"

#include "base/str.h"

#include <assert.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define MISSING "\xef\xbf\xbd" /* U+FFFD */
#define CUT     "\xe2\x80\xa6" /* … */

int
utf8_len(const char *text)
{
    const unsigned char *p = (const unsigned char *) text;
    unsigned char low = 0x80, high = 0xBF;
    int len;

    if (p[0] < 0x80)
        return 1;
    if (p[0] >= 0xC2 && p[0] <= 0xDF)
        len = 2;
    else if (p[0] >= 0xE0 && p[0] <= 0xEF)
        len = 3;
    else if (p[0] >= 0xF0 && p[0] <= 0xF4)
        len = 4;
    else
        return 0;
    if (p[0] == 0xE0)
        low = 0xA0; /* no overlong forms */
    else if (p[0] == 0xED)
        high = 0x9F; /* no surrogates */
    else if (p[0] == 0xF0)
        low = 0x90;
    else if (p[0] == 0xF4)
        high = 0x8F; /* nothing beyond U+10FFFF */
    if (p[1] < low || p[1] > high)
        return 0;
    for (int i = 2; i < len; i++)
        if (p[i] < 0x80 || p[i] > 0xBF)
            return 0;
    return len;
}

/* The whole letter of len bytes at p is one that a terminal obeys. */
static bool
is_control(const char *text, int len, bool has_lines)
{
    const unsigned char *p = (const unsigned char *) text;
    if (len == 1)
        return (p[0] < 0x20 || p[0] == 0x7F) && !(has_lines && (p[0] == '\n' || p[0] == '\t'));
    return len == 2 && p[0] == 0xC2 && p[1] < 0xA0; /* U+0080 to U+009F */
}

/* U+202A to U+202E and U+2066 to U+2069: what stands behind them is shown in another order than it is kept. */
static bool
turns_direction(const char *text, int len)
{
    const unsigned char *p = (const unsigned char *) text;
    return len == 3 && p[0] == 0xE2 &&
           ((p[1] == 0x80 && p[2] >= 0xAA && p[2] <= 0xAE) || (p[1] == 0x81 && p[2] >= 0xA6 && p[2] <= 0xA9));
}

enum utf8_fault
utf8_judge(const char *text, size_t cap, bool has_lines)
{
    bool has_control = false;
    for (const char *p = text; *p != '\0';) {
        const int len = utf8_len(p);
        if (len == 0)
            return UTF8_IS_BROKEN;
        has_control |= is_control(p, len, has_lines) || turns_direction(p, len);
        p += len;
    }
    return has_control ? UTF8_HAS_CONTROL : strlen(text) >= cap ? UTF8_IS_TOO_LONG : UTF8_IS_FINE;
}

enum err
utf8_enter(const char *text, size_t cap, bool has_lines, const char *what, struct message *m)
{
    switch (utf8_judge(text, cap, has_lines)) {
    case UTF8_IS_FINE:
        return ERR_OK;
    case UTF8_IS_TOO_LONG:
        message_init(m, MESSAGE_TEXT_TOO_LONG);
        message_add(m, message_word(what));
        message_add(m, message_integer((int64_t) strlen(text)));
        message_add(m, message_integer((int64_t) cap - 1));
        break;
    case UTF8_IS_BROKEN:
        message_init(m, MESSAGE_TEXT_NO_UTF8);
        message_add(m, message_word(what));
        break;
    case UTF8_HAS_CONTROL:
        message_init(m, MESSAGE_TEXT_HAS_CONTROL);
        message_add(m, message_word(what));
        break;
    }
    return ERR_USAGE;
}

/* Takes whole letters off the end until CUT fits. */
static void
mark_cut(char *out, size_t cap, size_t n)
{
    while (n + sizeof CUT > cap) {
        n--;
        while (n > 0 && ((unsigned char) out[n] & 0xC0u) == 0x80u)
            n--;
    }
    memcpy(out + n, CUT, sizeof CUT);
}

bool
utf8_show(char *out, size_t cap, const char *text)
{
    size_t n = 0;
    assert(cap >= sizeof CUT);
    for (const char *p = text; *p != '\0';) {
        const int len = utf8_len(p);
        const bool is_shown = len > 0 && !is_control(p, len, true) && !turns_direction(p, len);
        const char *from = is_shown ? p : MISSING;
        const size_t from_len = is_shown ? (size_t) len : strlen(MISSING);
        if (n + from_len >= cap) {
            mark_cut(out, cap, n);
            return false;
        }
        memcpy(out + n, from, from_len);
        n += from_len;
        p += len > 0 ? len : 1;
    }
    out[n] = '\0';
    return true;
}

bool
utf8_print(FILE *f, const char *format, ...)
{
    char line[2048], shown[3 * sizeof line];
    char *raw = line, *fit = shown;
    va_list words, again;
    va_start(words, format);
    va_copy(again, words);
    const int n = vsnprintf(line, sizeof line, format, words);
    va_end(words);
    /* A byte becomes three at most. */
    if (n >= (int) sizeof line && (raw = malloc((size_t) n + 1)) != NULL)
        vsnprintf(raw, (size_t) n + 1, format, again);
    if (n >= (int) sizeof line && raw != NULL && (fit = malloc(3 * (size_t) n + 1)) == NULL)
        fit = shown;
    va_end(again);
    utf8_show(fit, fit == shown ? sizeof shown : 3 * (size_t) n + 1, raw != NULL ? raw : line);
    const bool is_written = fputs(fit, f) >= 0;
    if (raw != line)
        free(raw);
    if (fit != shown)
        free(fit);
    return is_written;
}
