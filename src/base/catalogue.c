#include "base/catalogue.h"
#include "base/message.h"

#include "base/str.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MO_MAGIC         0x950412DEu
#define MO_MAGIC_SWAPPED 0xDE120495u
#define MO_HEAD_BYTES    28u
#define MO_ROW_BYTES     8u /* of a table: length and place of a text */
#define CONTEXT_END      '\x04'

static uint32_t
word_at(const struct catalogue *c, size_t at)
{
    uint32_t x;
    memcpy(&x, c->bytes + at, sizeof x);
    return c->is_swapped ? __builtin_bswap32(x) : x;
}

/* Text i of a table; its bytes end with a zero, as was checked at load. */
static const char *
text_at(const struct catalogue *c, uint32_t table, uint32_t i, uint32_t *len)
{
    const size_t row = table + (size_t) i * MO_ROW_BYTES;
    if (len)
        *len = word_at(c, row);
    return c->bytes + word_at(c, row + 4);
}

static bool
table_is_sound(const struct catalogue *c, uint32_t table)
{
    if ((uint64_t) table + (uint64_t) c->n * MO_ROW_BYTES > c->len)
        return false;
    for (uint32_t i = 0; i < c->n; i++) {
        const size_t row = table + (size_t) i * MO_ROW_BYTES;
        const uint64_t len = word_at(c, row), at = word_at(c, row + 4);
        if (at + len >= c->len || c->bytes[at + len] != '\0')
            return false;
    }
    return true;
}

/* Halving finds nothing in a table that is not sorted: better refused than silently English. */
static bool
is_sorted(const struct catalogue *c)
{
    for (uint32_t i = 1; i < c->n; i++)
        if (strcmp(text_at(c, c->id_at, i - 1, NULL), text_at(c, c->id_at, i, NULL)) >= 0)
            return false;
    return true;
}

/* What is wrong with the bytes, a code of the path; MESSAGE_NONE: nothing. */
static enum message_code
fault_of(struct catalogue *c)
{
    if (c->len < MO_HEAD_BYTES)
        return MESSAGE_CATALOGUE_TOO_SHORT;
    const uint32_t magic = word_at(c, 0);
    c->is_swapped = magic == MO_MAGIC_SWAPPED;
    if (magic != MO_MAGIC && magic != MO_MAGIC_SWAPPED)
        return MESSAGE_CATALOGUE_IS_NONE;
    if (word_at(c, 4) >> 16 > 1)
        return MESSAGE_CATALOGUE_UNKNOWN_KIND;
    c->n = word_at(c, 8);
    c->id_at = word_at(c, 12);
    c->words_at = word_at(c, 16);
    if (!table_is_sound(c, c->id_at) || !table_is_sound(c, c->words_at))
        return MESSAGE_CATALOGUE_TEXT_OUTSIDE;
    return is_sorted(c) ? MESSAGE_NONE : MESSAGE_CATALOGUE_NOT_IN_ORDER;
}

static enum err
read_file(struct catalogue *c, const char *path, struct message *why)
{
    FILE *f = fopen(path, "rb");
    if (!f) {
        const int os_error = errno;
        message_tell(why, MESSAGE_CATALOGUE_NOT_OPENED, message_path(path), message_errno(os_error));
        return os_error == ENOENT ? ERR_GONE : ERR_OS;
    }
    (void) getc(f); /* a folder opens, too */
    const bool is_file = !ferror(f) && fseek(f, 0, SEEK_END) == 0;
    const long size = is_file ? ftell(f) : -1;
    rewind(f);
    if (size > CATALOGUE_BYTES_MAX) {
        fclose(f);
        message_tell(why, MESSAGE_CATALOGUE_TOO_LARGE, message_path(path), CATALOGUE_BYTES_MAX);
        return ERR_FORMAT;
    }
    c->bytes = size < 0 ? NULL : malloc((size_t) size + 1);
    c->len = c->bytes ? fread(c->bytes, 1, (size_t) size, f) : 0;
    const bool is_read = c->bytes && !ferror(f);
    fclose(f);
    if (!is_read) {
        message_tell(why, MESSAGE_CATALOGUE_NOT_READ, message_path(path));
        return ERR_OS;
    }
    return ERR_OK;
}

void
catalogue_init(struct catalogue *c)
{
    *c = (struct catalogue){ 0 };
    plural_parse(&c->plural, "");
}

enum err
catalogue_load(struct catalogue *c, const char *path, struct message *why)
{
    char line[512];
    catalogue_init(c);
    message_init(why, MESSAGE_NONE);
    enum err err = read_file(c, path, why);
    const enum message_code fault = err == ERR_OK ? fault_of(c) : MESSAGE_NONE;
    if (fault != MESSAGE_NONE) {
        message_tell(why, fault, message_path(path));
        err = ERR_FORMAT;
    } else if (err == ERR_OK && catalogue_head(c, "Plural-Forms", line, sizeof line) && !plural_parse(&c->plural, line)) {
        message_tell(why, MESSAGE_CATALOGUE_NO_RULE, message_path(path), line);
        err = ERR_FORMAT;
    }
    if (err != ERR_OK)
        catalogue_close(c);
    return err;
}

void
catalogue_close(struct catalogue *c)
{
    free(c->bytes);
    catalogue_init(c);
}

/* As strcmp() of "context\4english" and id, without putting them together. */
static int
compare(const char *context, const char *english, const char *id)
{
    if (context) {
        const size_t len = strlen(context);
        const int order = strncmp(context, id, len);
        if (order != 0)
            return order;
        if (id[len] != CONTEXT_END)
            return CONTEXT_END < (unsigned char) id[len] ? -1 : 1;
        id += len + 1;
    }
    return strcmp(english, id);
}

/* The words of a text with all their forms, one zero after each; NULL: none. */
static const char *
find(const struct catalogue *c, const char *context, const char *english, uint32_t *len)
{
    if (!c || !c->bytes)
        return NULL;
    for (uint32_t low = 0, high = c->n; low < high;) {
        const uint32_t mid = low + (high - low) / 2;
        const int order = compare(context, english, text_at(c, c->id_at, mid, NULL));
        if (order == 0) {
            const char *words = text_at(c, c->words_at, mid, len);
            return words[0] == '\0' ? NULL : words;
        }
        if (order < 0)
            high = mid;
        else
            low = mid + 1;
    }
    return NULL;
}

const char *
catalogue_of(const struct catalogue *c, const char *context, const char *english)
{
    const char *words = english[0] == '\0' ? NULL : find(c, context, english, NULL); /* the head's own text is "" */
    return words ? words : english;
}

const char *
catalogue_count(const struct catalogue *c, const char *context, const char *one, const char *many, uint64_t count)
{
    uint32_t len = 0;
    const char *words = find(c, context, one, &len), *english = count == 1 ? one : many;
    if (!words)
        return english;
    const char *end = words + len;
    for (int form = plural_form(&c->plural, count); form > 0 && words < end; form--)
        words += strlen(words) + 1;
    return words < end && words[0] != '\0' ? words : english;
}

const char *
catalogue_at(const struct catalogue *c, uint32_t i)
{
    return c && c->bytes && i < c->n ? text_at(c, c->words_at, i, NULL) : NULL;
}

bool
catalogue_head(const struct catalogue *c, const char *name, char *out, size_t cap)
{
    const char *line = find(c, NULL, "", NULL);
    const size_t len = strlen(name);
    for (; line && *line; line += strcspn(line, "\n"), line += *line == '\n') {
        if (strncmp(line, name, len) != 0 || line[len] != ':')
            continue;
        const char *value = line + len + 1 + strspn(line + len + 1, " ");
        const size_t n = strcspn(value, "\n");
        snprintf(out, cap, "%.*s", (int) n, value);
        return n < cap;
    }
    return false;
}
