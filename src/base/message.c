#include "base/message.h"

#include "base/message_words.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

static const struct {
    enum message_severity severity;
    const char *signature;
} ROW[MESSAGE_N_CODES] = {
    { MESSAGE_IS_NOTE, "" },
#define MESSAGE(id, severity, signature, english)         { MESSAGE_IS_##severity, signature },
#define MESSAGE_COUNT(id, severity, signature, one, many) { MESSAGE_IS_##severity, signature },
#include "base/messages.inc"
#undef MESSAGE
#undef MESSAGE_COUNT
};

struct message_arg
message_text(const char *text)
{
    return (struct message_arg) { .kind = MESSAGE_TEXT, .text = text };
}

struct message_arg
message_word(const char *english)
{
    return (struct message_arg) { .kind = MESSAGE_WORD, .text = english };
}

struct message_arg
message_integer(int64_t value)
{
    return (struct message_arg) { .kind = MESSAGE_INTEGER, .integer = value };
}

struct message_arg
message_unsigned(uint64_t value)
{
    return message_integer(value > INT64_MAX ? INT64_MAX : (int64_t) value);
}

struct message_arg
message_plain(double value)
{
    return message_real(value, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_NONE);
}

struct message_arg
message_real(double value, int digits, enum message_unit unit)
{
    return (struct message_arg) { .kind = MESSAGE_REAL, .real = value, .digits = digits, .unit = unit };
}

struct message_arg
message_signed(double value, int digits, enum message_unit unit)
{
    struct message_arg arg = message_real(value, digits, unit);
    arg.is_signed = true;
    return arg;
}

struct message_arg
message_path(const char *path)
{
    return (struct message_arg) { .kind = MESSAGE_PATH, .text = path };
}

struct message_arg
message_place(const char *path, int line)
{
    return (struct message_arg) { .kind = MESSAGE_PLACE, .text = path, .line = line };
}

struct message_arg
message_errno(int number)
{
    return (struct message_arg) { .kind = MESSAGE_ERRNO, .integer = number };
}

struct message_arg
message_of(const struct message *inner)
{
    return (struct message_arg) { .kind = MESSAGE_INNER, .inner = inner };
}

struct message_arg
message_same(struct message_arg arg)
{
    return arg;
}

void
message_init(struct message *m, enum message_code code)
{
    memset(m, 0, sizeof *m);
    m->code = code;
}

/* The byte continues a letter of UTF-8: no text may begin there, nor end before it. */
static bool
is_inside_letter(char c)
{
    return ((unsigned char) c & 0xC0u) == 0x80u;
}

static void
keep_text(struct message *m, struct message_part *part, const char *text, bool is_end_kept)
{
    /* Every part still to come has at least the byte of its end. */
    const size_t room = (size_t) (MESSAGE_TEXT_CAP - m->text_len - 1 - (MESSAGE_MAX_PARTS - m->n_parts));
    const size_t cap = room < MESSAGE_PART_MAX ? room : MESSAGE_PART_MAX;
    size_t len = strlen(text), from = 0;
    part->is_cut = len > cap;
    if (part->is_cut && is_end_kept) {
        for (from = len - cap; is_inside_letter(text[from]); from++)
            ;
        len -= from;
    } else if (part->is_cut)
        for (len = cap; len > 0 && is_inside_letter(text[len]); len--)
            ;
    part->text_at = m->text_len;
    memcpy(m->text + m->text_len, text + from, len);
    m->text[m->text_len + (int) len] = '\0';
    m->text_len += (int) len + 1;
}

/* A cause goes into the message's text byte by byte: its head, its parts, its own texts. */
struct inner_head {
    enum message_code code;
    int n_parts, text_len;
};

static void
keep_inner(struct message *m, struct message_part *part, const struct message *inner)
{
    const struct inner_head head = { inner->code, inner->n_parts, inner->text_len };
    const size_t parts = (size_t) inner->n_parts * sizeof inner->part[0];
    const size_t room = (size_t) (MESSAGE_TEXT_CAP - m->text_len - (MESSAGE_MAX_PARTS - m->n_parts));
    part->text_at = m->text_len;
    part->is_cut = sizeof head + parts + (size_t) inner->text_len > room;
    if (part->is_cut)
        return;
    char *to = m->text + m->text_len;
    memcpy(to, &head, sizeof head);
    memcpy(to + sizeof head, inner->part, parts);
    memcpy(to + sizeof head + parts, inner->text, (size_t) inner->text_len);
    m->text_len += (int) (sizeof head + parts) + inner->text_len;
}

bool
message_inner(const struct message *m, int i, struct message *inner)
{
    const struct message_part *part = &m->part[i];
    struct inner_head head;
    message_init(inner, MESSAGE_NONE);
    if (part->kind != MESSAGE_INNER || part->is_cut)
        return false;
    const char *from = m->text + part->text_at;
    memcpy(&head, from, sizeof head);
    const size_t parts = (size_t) head.n_parts * sizeof inner->part[0];
    inner->code = head.code;
    inner->n_parts = head.n_parts;
    inner->text_len = head.text_len;
    memcpy(inner->part, from + sizeof head, parts);
    memcpy(inner->text, from + sizeof head + parts, (size_t) head.text_len);
    return true;
}

void
message_add(struct message *m, struct message_arg arg)
{
    assert(m->n_parts < MESSAGE_MAX_PARTS && ROW[m->code].signature[m->n_parts] == (char) arg.kind);
    struct message_part *part = &m->part[m->n_parts++];
    part->kind = arg.kind;
    part->line = arg.line;
    part->digits = arg.digits;
    part->is_signed = arg.is_signed;
    part->unit = arg.unit;
    part->integer = arg.integer;
    part->real = arg.real;
    switch (arg.kind) {
    case MESSAGE_TEXT:
    case MESSAGE_WORD:
        keep_text(m, part, arg.text, false);
        break;
    case MESSAGE_PATH:
    case MESSAGE_PLACE:
        keep_text(m, part, arg.text, true);
        break;
    case MESSAGE_INNER:
        keep_inner(m, part, arg.inner);
        break;
    case MESSAGE_INTEGER:
    case MESSAGE_REAL:
    case MESSAGE_ERRNO:
        break;
    }
}

void
message_put(struct message *m, enum message_code code, const struct message_arg *arg, int n)
{
    struct message made;
    message_init(&made, code);
    for (int i = 0; i < n; i++)
        message_add(&made, arg[i]);
    assert(message_is_whole(&made));
    *m = made;
}

bool
message_is_whole(const struct message *m)
{
    return (size_t) m->n_parts == strlen(ROW[m->code].signature);
}

bool
message_is_none(const struct message *m)
{
    return m->code == MESSAGE_NONE;
}

static bool
is_same_part(const struct message_part *a, const struct message_part *b)
{
    return a->kind == b->kind && a->is_signed == b->is_signed && a->is_cut == b->is_cut && a->text_at == b->text_at &&
           a->line == b->line && a->digits == b->digits && a->unit == b->unit && a->integer == b->integer &&
           memcmp(&a->real, &b->real, sizeof a->real) == 0; /* NAN is the same as NAN */
}

bool
message_is_same(const struct message *a, const struct message *b)
{
    bool is_same = a->code == b->code && a->n_parts == b->n_parts && a->text_len == b->text_len &&
                   memcmp(a->text, b->text, (size_t) a->text_len) == 0;
    for (int i = 0; is_same && i < a->n_parts; i++)
        is_same = is_same_part(&a->part[i], &b->part[i]);
    return is_same;
}

enum message_severity
message_severity(enum message_code code)
{
    return ROW[code].severity;
}

const char *
message_signature(enum message_code code)
{
    return ROW[code].signature;
}

void
message_say(struct message *m, const char *sentence)
{
    message_tell(m, MESSAGE_SAID, sentence);
}

const char *
message_english(const struct message *m)
{
    static _Thread_local char ring[4][MESSAGE_WORDS_MAX];
    static _Thread_local unsigned next;
    return message_words(m, NULL, ring[next++ % 4], MESSAGE_WORDS_MAX);
}
