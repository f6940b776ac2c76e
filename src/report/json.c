#include "report/json.h"

#include "report/number.h"

#include <assert.h>
#include <inttypes.h>
#include <math.h>
#include <string.h>

void
json_init(struct json *j, FILE *f)
{
    memset(j, 0, sizeof *j);
    j->f = f;
}

/* Bytes of the valid UTF-8 sequence at p (Unicode 15, table 3-7), 0 when there is none. */
static int
utf8_len(const unsigned char *p)
{
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

static void
put_string(FILE *f, const char *text)
{
    const unsigned char *p = (const unsigned char *) text;

    fputc('"', f);
    while (*p != '\0') {
        int len = utf8_len(p);
        if (len == 0) {
            fputs("\\ufffd", f);
            len = 1;
        } else if (*p == '"' || *p == '\\') {
            fprintf(f, "\\%c", *p);
        } else if (*p == '\n') {
            fputs("\\n", f);
        } else if (*p == '\t') {
            fputs("\\t", f);
        } else if (*p < 0x20 || *p == 0x7F) {
            fprintf(f, "\\u%04x", *p);
        } else {
            fwrite(p, 1, (size_t) len, f);
        }
        p += len;
    }
    fputc('"', f);
}

/* Comma, line, indent and name before a value. */
static void
begin_value(struct json *j, const char *name)
{
    assert((name != NULL) == (j->depth > 0 && j->closing[j->depth] == '}'));
    if (j->has_member[j->depth])
        fputc(',', j->f);
    if (j->depth > 0)
        fprintf(j->f, "\n%*s", 2 * j->depth, "");
    j->has_member[j->depth] = true;
    if (name != NULL) {
        put_string(j->f, name);
        fputs(": ", j->f);
    }
}

static void
open_any(struct json *j, const char *name, char opening, char closing)
{
    begin_value(j, name);
    assert(j->depth < JSON_MAX_DEPTH);
    fputc(opening, j->f);
    j->depth++;
    j->has_member[j->depth] = false;
    j->closing[j->depth] = closing;
}

void
json_open_object(struct json *j, const char *name)
{
    open_any(j, name, '{', '}');
}

void
json_open_array(struct json *j, const char *name)
{
    open_any(j, name, '[', ']');
}

void
json_close(struct json *j)
{
    assert(j->depth > 0);
    bool had_member = j->has_member[j->depth];
    char closing = j->closing[j->depth];

    j->depth--;
    if (had_member)
        fprintf(j->f, "\n%*s", 2 * j->depth, "");
    fputc(closing, j->f);
    if (j->depth == 0)
        fputc('\n', j->f);
}

void
json_text(struct json *j, const char *name, const char *text)
{
    begin_value(j, name);
    if (text == NULL)
        fputs("null", j->f);
    else
        put_string(j->f, text);
}

void
json_number(struct json *j, const char *name, double value)
{
    char text[NUMBER_MAX];

    begin_value(j, name);
    fputs(isfinite(value) ? number_short(text, value) : "null", j->f);
}

void
json_int(struct json *j, const char *name, int64_t value)
{
    begin_value(j, name);
    fprintf(j->f, "%" PRId64, value);
}

void
json_bool(struct json *j, const char *name, bool value)
{
    begin_value(j, name);
    fputs(value ? "true" : "false", j->f);
}
