#include "report/json.h"

#include "base/utf8.h"
#include "paper/number.h"

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

static void
put_string(FILE *f, const char *text)
{
    const char *p = text;

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
        } else if ((unsigned char) *p < 0x20 || *p == 0x7F) {
            fprintf(f, "\\u%04x", (unsigned) *p);
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
