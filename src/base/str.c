#include "base/str.h"

#include <assert.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

bool
str_append(char *out, size_t cap, const char *text)
{
    const size_t have = strlen(out);
    assert(have < cap);
    const size_t len = strlen(text), room = cap - have - 1;
    const size_t n = len < room ? len : room;
    memmove(out + have, text, n);
    out[have + n] = '\0';
    return len <= room;
}

bool
str_copy(char *out, size_t cap, const char *text)
{
    assert(cap >= 1);
    const size_t len = strlen(text);
    const size_t n = len < cap ? len : cap - 1;
    memmove(out, text, n);
    out[n] = '\0';
    return len < cap;
}

bool
str_set_decimal(char *text, size_t cap, const char *sign)
{
    char *point = strchr(text, '.');
    const size_t len = strlen(sign);

    if (!point)
        return true;
    if (strlen(text) + len > cap)
        return false;
    memmove(point + len, point + 1, strlen(point + 1) + 1);
    memcpy(point, sign, len);
    return true;
}

bool
str_begins_with(const char *text, const char *prefix)
{
    return strncmp(text, prefix, strlen(prefix)) == 0;
}

bool
str_ends_with(const char *text, const char *suffix)
{
    const size_t len = strlen(text), n = strlen(suffix);
    return len >= n && strcmp(text + len - n, suffix) == 0;
}

static bool
is_space(char c)
{
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

/* True when the rest of a number's text is only space. */
static bool
is_blank(const char *text)
{
    while (is_space(*text))
        text++;
    return *text == '\0';
}

bool
str_to_double(const char *text, double *out)
{
    while (is_space(*text))
        text++;
    /* strtod also knows hex, nan and infinity: all of them hold a letter other than e. */
    if (*text == '\0' || text[strcspn(text, "xXnNiIpP")] != '\0')
        return false;
    char *end;
    errno = 0;
    const double x = strtod(text, &end);
    if (end == text || !is_blank(end) || !isfinite(x))
        return false;
    *out = x;
    return true;
}

bool
str_to_i64(const char *text, int64_t *out)
{
    char *end;
    errno = 0;
    const long long x = strtoll(text, &end, 10);
    if (end == text || !is_blank(end) || errno == ERANGE)
        return false;
    *out = x;
    return true;
}
